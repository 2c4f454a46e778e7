"""What a group bears of a force is what all its kinds bear, and no more is read into it."""

from __future__ import annotations

from leastwise.graph import Adviser
from leastwise.graph.knowledge.kinds import MODERATE, of_all_kinds

NOTHING: frozenset[str] = frozenset()


def test_glass_beads_bear_a_needle_as_the_worse_of_their_two_kinds_does(adviser: Adviser) -> None:
    catalogue = adviser.catalogue
    found = of_all_kinds(catalogue, "material:glass-beads", "agent:needle", NOTHING)
    kinds = [
        catalogue.sensitivity(kind, "agent:needle").harm
        for kind in ("material:glass-beads-stable", "material:glass-beads-weeping")
    ]

    assert found.harm == max(kinds) <= MODERATE
    assert found.claims
    assert found.inherited_from.startswith("material:glass-beads-")


def test_chemistry_is_not_read_from_the_kinds(adviser: Adviser) -> None:
    found = of_all_kinds(adviser.catalogue, "material:glass-beads", "agent:liquid-water", NOTHING)

    assert not found.known


def test_nothing_is_read_where_one_kind_takes_grave_harm_or_has_no_grade(adviser: Adviser) -> None:
    catalogue, knowledge = adviser.catalogue, adviser.knowledge
    forces = [a for a in knowledge.instances("lw:Agent") if knowledge.is_true(a, "lw:byForce")]
    read = 0
    for group in catalogue.uncertain_materials:
        kinds = [
            one
            for one in knowledge.instances("skos:Concept")
            if group in knowledge.objects(one, "skos:broader")
        ]
        for force in forces:
            each = [catalogue.sensitivity(kind, force) for kind in kinds]
            plain = bool(each) and all(0 <= one.harm <= MODERATE for one in each)
            assert of_all_kinds(catalogue, group, force, NOTHING).known is plain
            read += plain

    assert len(forces) == 5
    assert read  # some groups are read, so that the rest is no empty promise


def test_who_is_not_sure_of_the_group_has_no_kinds_to_look_at(
    adviser: Adviser, make_case: object
) -> None:
    def needs(identified: str) -> set[str]:
        beads = {
            "id": "beads",
            "name": "beads",
            "components": [{"is": "glass-beads", "identified": identified}],
            "fibre": "none",
        }
        case = make_case(  # type: ignore[operator]
            parts=[beads],
            contacts=[],
            damages=[{"id": "loose", "damage": "loose-attachment", "parts": ["beads"]}],
        )
        steps = adviser.steps(case)
        return {
            f.agent
            for found in steps.findings.values()
            for f in found
            if f.rule.id == "rule:unidentified-material" and f.agent == "agent:needle"
        }

    assert needs("unknown") == {"agent:needle"}
    assert needs("certain") == set()
