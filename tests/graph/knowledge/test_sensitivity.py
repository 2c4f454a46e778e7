"""Sensitivity: own grades first, and of several parents the gravest, whichever stands first."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest

from leastwise.graph import Adviser, load_knowledge
from leastwise.graph.knowledge.concepts import Catalogue

WATER, VAPOUR = "agent:liquid-water", "agent:water-vapour"
HOUSE = """
@prefix lw: <https://w3id.org/leastwise/ns#> .
@prefix skos: <http://www.w3.org/2004/02/skos/core#> .
@prefix agent: <https://w3id.org/leastwise/agent/> .
@prefix claim: <https://w3id.org/leastwise/claim/> .
@prefix material: <https://w3id.org/leastwise/material/> .
material:house-cloth a skos:Concept , lw:Component ;
    skos:inScheme lw:materials ;
    skos:prefLabel "house cloth"@en ;
    skos:definition "A cloth of the house, for a test."@en ;
    skos:broader %s .
"""
OWN = """
claim:house-1 a lw:Claim , lw:SensitivityClaim ;
    lw:about material:house-cloth ; lw:agent agent:liquid-water ; lw:severity 1 ;
    lw:statement "The house has washed it often."@en ;
    lw:basis lw:practice ; lw:confidence lw:moderate .
"""


@pytest.fixture
def catalogue(tmp_path: Path, cache: Path) -> Callable[[str], Catalogue]:
    def load(turtle: str) -> Catalogue:
        (tmp_path / "house.ttl").write_text(turtle, encoding="utf-8")
        return Catalogue(load_knowledge([tmp_path], cache=cache))

    return load


@pytest.mark.parametrize(
    "parents",
    [
        "material:cotton , material:gelatin-sequins",
        "material:gelatin-sequins , material:cotton",
    ],
)
def test_of_several_parents_the_gravest_counts_whichever_comes_first(
    catalogue: Callable[[str], Catalogue], parents: str
) -> None:
    found = catalogue(HOUSE % parents).sensitivity("material:house-cloth", WATER)

    assert found.harm == 4
    assert found.inherited_from == "material:gelatin-sequins"
    assert not found.contested, "two parents are two materials, and no sources that disagree"


def test_a_grade_of_its_own_counts_before_those_of_its_parents(
    catalogue: Callable[[str], Catalogue],
) -> None:
    house = catalogue(HOUSE % "material:gelatin-sequins" + OWN)

    assert house.sensitivity("material:house-cloth", WATER).harm == 1
    assert house.sensitivity("material:house-cloth", WATER).inherited_from == ""
    assert house.sensitivity("material:house-cloth", VAPOUR).harm == 4


def test_what_nothing_grades_is_unknown(adviser: Adviser) -> None:
    found = adviser.catalogue.sensitivity("material:unidentified", WATER)

    assert (found.harm, found.known, found.claims) == (-1, False, ())


def test_a_claim_that_holds_in_a_state_counts_only_where_the_part_is_in_it(
    adviser: Adviser,
) -> None:
    k = adviser.knowledge
    found = [
        (about, agent, only_if, int(severity))
        for claim in k.instances("lw:SensitivityClaim")
        if (only_if := k.object(claim, "lw:onlyIf") or "").startswith("damage:")
        if (severity := k.number(claim, "lw:severity")) is not None
        for about in k.objects(claim, "lw:about")
        if about.startswith("material:")
        for agent in k.objects(claim, "lw:agent")
    ]
    assert found
    for material, agent, damage, severity in found:
        inside = adviser.catalogue.sensitivity(material, agent, frozenset({damage}))
        assert inside.harm >= severity
