"""Sharing outcomes between institutions: counted the same, and nobody can be told from it."""

from __future__ import annotations

import json

import pytest

from leastwise.graph import Adviser
from leastwise.graph.treatment.outcome_file import OutcomeFileError, parse_outcomes, share_outcomes
from leastwise.graph.treatment.precedents import Outcome, count_precedents

PACK = "technique:membrane-pack-suspended"
TOLD = [
    Outcome(PACK, "damage:crease", ("material:silk",), "met"),
    Outcome(PACK, "damage:crease", ("material:gelatin-sequins",), "harm"),
    Outcome("technique:surface-cleaning-dry", "damage:dust", ("material:wool",), "partly"),
]


def test_what_comes_back_is_counted_the_same(adviser: Adviser) -> None:
    told = TOLD[:2]
    read = parse_outcomes(share_outcomes(told, adviser.knowledge), adviser.knowledge)
    assert count_precedents(read.as_outcomes(), adviser.knowledge) == count_precedents(
        told, adviser.knowledge
    )


def test_the_order_of_the_cases_can_not_be_told_from_the_file(adviser: Adviser) -> None:
    one = share_outcomes(TOLD[:2], adviser.knowledge)
    assert one == share_outcomes(TOLD[1::-1], adviser.knowledge)


def test_the_file_holds_the_named_fields_and_no_others(adviser: Adviser) -> None:
    whole = json.loads(share_outcomes(TOLD[:1], adviser.knowledge))
    assert set(whole) == {"leastwise_outcomes", "collection", "giver", "knowledge", "outcomes"}
    assert set(whole["outcomes"][0]) == {"technique", "damage", "groups", "result", "demo"}


@pytest.mark.parametrize(
    ("change", "path"),
    [
        ({"technique": "technique:magic"}, "outcomes[0].technique"),
        ({"technique": "damage:crease"}, "outcomes[0].technique"),
        ({"groups": ["material:moonlight"]}, "outcomes[0].groups"),
        ({"result": "splendid"}, "outcomes[0].result"),
        ({"title": "the blue dress"}, "outcomes[0].title"),
    ],
)
def test_a_wrong_entry_is_told_with_its_path(
    adviser: Adviser, change: dict[str, object], path: str
) -> None:
    whole = json.loads(share_outcomes(TOLD[:1], adviser.knowledge))
    whole["outcomes"][0] |= change
    with pytest.raises(OutcomeFileError) as caught:
        parse_outcomes(json.dumps(whole), adviser.knowledge)
    assert [p.path for p in caught.value.problems] == [path]
