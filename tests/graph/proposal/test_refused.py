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

HERE = Path(__file__).resolve().parent
PROPOSALS: list[dict[str, Any]] = yaml.safe_load((HERE / "refused-proposals.yaml").read_text())
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


def test_there_are_thirty_invented_proposals() -> None:
    assert len(PROPOSALS) == 30


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
        assert finding.would_settle == [adviser.knowledge.label(one) for one in gentler]


def test_a_practice_may_stand_as_a_step_and_is_told(adviser: Adviser) -> None:
    steps = [{"damage": "loose-sequins", "technique": "superglue"}]
    finding = refused(checked(adviser, steps, {}))["refused:superglue"]
    assert finding.about == "step 1"


def test_nothing_that_a_published_treatment_chose_is_told(words: RefusedWords) -> None:
    chosen = [
        (entry["id"], one["words"])
        for path in sorted(TREATMENTS.glob("*.yaml"))
        for entry in yaml.safe_load(path.read_text())
        for one in entry["expect"]["chosen"]
    ]
    told = [(entry, said) for entry, said in chosen if words.found_in(said)]
    assert len(chosen) > 300
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
    ],
)
def test_what_is_undone_or_only_sounds_alike_is_not_told(words: RefusedWords, said: str) -> None:
    assert words.found_in(said) == []


def test_a_practice_is_no_technique_and_never_an_option(adviser: Adviser) -> None:
    practices = set(adviser.knowledge.instances("lw:RefusedPractice"))
    assert len(practices) >= 60
    assert not practices & set(adviser.catalogue.techniques)
