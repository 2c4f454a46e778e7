"""Practices not to use: named in invented proposals, never in what published treatments chose."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest
import yaml

from leastwise.graph import Adviser
from leastwise.graph.proposal.check import Review, ReviewFinding, review
from leastwise.graph.proposal.received import parse_proposal
from leastwise.graph.proposal.refused import RefusedWords, refused_words
from tests.yaml_files import read_yaml

HERE = Path(__file__).resolve().parent
PROPOSALS: list[dict[str, Any]] = read_yaml(HERE / "refused-proposals.yaml")
SAID: dict[str, list[str]] = read_yaml(HERE / "refused-said.yaml")
TREATMENTS = HERE.parents[1] / "published" / "treatments"


@pytest.fixture(scope="module")
def words(adviser: Adviser) -> RefusedWords:
    return refused_words(adviser.knowledge)


def checked(adviser: Adviser, steps: list[dict[str, str]], said: dict[str, Any]) -> Review:
    proposal = {
        "leastwise_proposal": 1, "id": "invented", "title": "Invented", "demo": True,
        "case": "demo:festival-dancer", "steps": steps, "record": said,
    }  # fmt: skip
    return review(*parse_proposal(yaml.safe_dump(proposal), adviser.knowledge), adviser)


def refused(found: Review) -> dict[str, ReviewFinding]:
    return {f.rule: f for f in found.findings if f.kind == "refused"}


def test_thirty_invented_proposals_name_thirty_different_practices() -> None:
    assert len(PROPOSALS) == 30
    assert len({name for one in PROPOSALS for name in one["expect"]}) >= 30


def test_no_invented_proposal_uses_the_label_itself(adviser: Adviser) -> None:
    for proposal in PROPOSALS:
        said = str(proposal["said"]).casefold()
        for name in proposal["expect"]:
            assert adviser.knowledge.label(f"refused:{name}").casefold() not in said


@pytest.mark.slow
@pytest.mark.parametrize("proposal", PROPOSALS, ids=lambda p: p["title"])
def test_each_practice_is_told_with_its_reason_and_the_gentler_way(
    adviser: Adviser, proposal: dict[str, Any]
) -> None:
    found = refused(checked(adviser, [], proposal["said"]))
    for name in proposal["expect"]:
        finding = found[f"refused:{name}"]
        assert finding.level == "must"
        assert finding.because == adviser.knowledge.text(finding.rule, "skos:definition")
        gentler = adviser.knowledge.objects(finding.rule, "lw:insteadUse")
        assert finding.would_settle == tuple(adviser.knowledge.label(one) for one in gentler)


@pytest.mark.parametrize("practice", SAID)
def test_each_practice_is_heard_in_the_words_of_people(words: RefusedWords, practice: str) -> None:
    for said in SAID[practice]:
        assert f"refused:{practice}" in {hit.practice.id for hit in words.found_in(said)}, said


def test_every_practice_has_sayings(words: RefusedWords) -> None:
    assert {f"refused:{name}" for name in SAID} == set(words.practices)


def test_a_practice_may_stand_as_a_step_and_is_told(adviser: Adviser) -> None:
    steps = [{"damage": "loose-sequins", "technique": "superglue"}]
    finding = refused(checked(adviser, steps, {}))["refused:superglue"]
    assert finding.about == "step 1"


def test_nothing_that_a_published_treatment_chose_is_told(words: RefusedWords) -> None:
    entries = [entry for path in sorted(TREATMENTS.glob("*.yaml")) for entry in read_yaml(path)]
    chosen = [
        (entry["id"], said)
        for entry in entries
        for said in (
            *(one["words"] for one in entry["expect"]["chosen"]),
            *(step for one in entry["expect"].get("order", []) for step in one.values()),
        )
    ]
    told = [(entry, said) for entry, said in chosen if words.found_in(str(said))]
    assert len(chosen) > 600
    assert told == []


@pytest.mark.parametrize(
    "said",
    [
        "remove the masking tape with a spatula",
        "unpick the old staples and drawing pins",
        "rusted iron tacks",
        "no household detergent is used",
        "take out what was stuffed with newspaper",
        "deionised water and a neutral detergent",
        "full lining with spun-bonded nylon",
        "wash in a shallow bath with conservation detergent",
        "dyed and painted silk patch laid under the loss",
        "iron salts had leached through the cloth",
        "we advised against ironing it",
        "the sponge is wrung nearly dry",
        "brush off the dust, not the mould",
    ],
)
def test_what_is_undone_or_only_sounds_alike_is_not_told(words: RefusedWords, said: str) -> None:
    assert words.found_in(said) == []


@pytest.mark.parametrize(
    ("said", "practice"),
    [
        ("remove the stain with bleach from the shop", "household-bleach"),
        ("take off the dust with compressed air", "compressed-air"),
        ("protect it against moth with mothballs", "mothballs"),
    ],
)
def test_the_means_of_taking_something_away_is_told(
    words: RefusedWords, said: str, practice: str
) -> None:
    assert [hit.practice.id for hit in words.found_in(said)] == [f"refused:{practice}"]


def test_a_practice_is_no_technique_and_never_an_option(adviser: Adviser) -> None:
    practices = set(adviser.knowledge.instances("lw:RefusedPractice"))
    assert len(practices) >= 60
    assert not practices & set(adviser.catalogue.techniques)


@pytest.mark.parametrize(
    ("harmless", "harmful"),
    [
        ("Bubble wrap only outside the box.", "Bubble wrap round the dress inside the box."),
        ("Oven-dried silica gel lies in the drawer.", "The wet gloves are dried in the oven."),
        ("Dry the silica gel in the oven overnight.", "Dry the shoes in a low oven overnight."),
        ("A sheet of bubble wrap between the box and the crate.", "Bubble wrap over the hat."),
    ],
)
def test_words_by_which_it_is_none_are_no_practice_and_others_stay_one(
    words: RefusedWords, harmless: str, harmful: str
) -> None:
    assert words.found_in(harmless) == []
    assert words.found_in(harmful)
