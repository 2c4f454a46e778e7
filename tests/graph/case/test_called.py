"""What an object is by its name, and what stands before it."""

from __future__ import annotations

import pytest

from leastwise.graph import Adviser
from leastwise.graph.case.called import as_called, word_in
from leastwise.graph.case.record import ObjectRecord
from leastwise.graph.weighing.tested import as_tested


@pytest.mark.parametrize(
    ("name", "word"),
    [
        ("man's coat of plum silk", "coat"),
        ("pair of gloves", "glove"),
        ("evening dress, about 1925", "dress"),
        ("satin and velvet dress", "dress"),
        ("worn silk coat", "coat"),
        ("fragment of a tapestry", "tapestry"),
        ("fragments of a linen tunic with woollen bands", "fragment"),
        ("part of a coat", "coat"),
        ("hat box", ""),  # a box and no hat
        ("coat hanger", ""),
        ("something under a coat", ""),
        ("", ""),
    ],
)
def test_the_last_word_of_what_a_name_begins_with_says_what_a_thing_is(
    adviser: Adviser, name: str, word: str
) -> None:
    assert word_in(name, adviser.knowledge) == word


def test_what_the_record_says_stands_before_the_name(adviser: Adviser) -> None:
    k = adviser.knowledge
    silent = as_called(ObjectRecord(name="man's coat"), k)
    said = ObjectRecord(name="man's coat", kind="flat-textile")
    half = as_called(ObjectRecord(name="man's coat", kind="costume"), k)

    assert (silent.kind, silent.form) == ("costume", "garment")
    assert as_called(said, k) is said
    assert (half.kind, half.form) == ("costume", "garment")


def test_what_was_taken_from_the_name_is_told_and_the_record_stays_as_it_was(
    adviser: Adviser, make_case: object
) -> None:
    case = make_case(object={"name": "beaded evening dress", "past_treatment": "none"})  # type: ignore[operator]
    told = as_tested(case, adviser.knowledge)

    assert told.case.object.kind == "costume"
    assert case.object.kind == "unknown"
    assert [one.path for one in told.settled] == ["object.kind"]
    assert "“dress”" in told.settled[0].says
