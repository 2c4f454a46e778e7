"""Each practice not to use is told where a treatment record says that it was done."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest

from leastwise.graph import Adviser
from leastwise.graph.proposal.refused import RefusedWords, refused_words
from leastwise.graph.treatment.not_to_use import not_to_use_in
from leastwise.graph.treatment.record import treatment_from_data
from tests.yaml_files import parse_yaml

SAID: dict[str, list[str]] = parse_yaml(
    (Path(__file__).parents[1] / "proposal" / "refused-said.yaml").read_text("utf-8")
)
DAY = "2026-11-25"


@pytest.fixture(scope="module")
def words(adviser: Adviser) -> RefusedWords:
    return refused_words(adviser.knowledge)


def step(**said: str) -> dict[str, Any]:
    return {"id": "s1", "what": "work", "state": "done", "date": DAY, "by": "A", **said}


def told(words: RefusedWords, **record: Any) -> list[tuple[str, str, str]]:
    found = not_to_use_in(treatment_from_data(record), words)
    return [(one.listing, one.entry, one.hit.practice.id) for one in found]


@pytest.mark.parametrize("practice", SAID)
@pytest.mark.parametrize("field", ["what", "deviation"])
def test_each_practice_is_told_in_a_step_and_in_a_deviation(
    words: RefusedWords, practice: str, field: str
) -> None:
    for said in SAID[practice]:
        assert ("steps", "s1", f"refused:{practice}") in told(words, steps=[step(**{field: said})])


def test_a_practice_said_twice_in_an_entry_is_told_once(words: RefusedWords) -> None:
    both = step(what="ironing", deviation="ironed twice, since once was not enough")
    assert told(words, steps=[both]) == [("steps", "s1", "refused:ironing")]


def test_what_is_seen_is_not_what_was_done(words: RefusedWords) -> None:
    assert told(words, steps=[step(note="traces of masking tape under the lining")]) == []


def test_advice_for_future_care_is_looked_through(words: RefusedWords) -> None:
    advice = {"future_care": "Put mothballs in the drawer."}
    assert told(words, final=advice) == [("final", "", "refused:mothballs")]
