"""What a technique requires: yes, no or unknown, and silence is never yes."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import pytest

from leastwise.graph import Adviser, Case
from leastwise.graph.case.record import Tri
from leastwise.graph.weighing.conditions import ConditionReader

PARTED, NEEDLE = "condition:parts-can-be-parted", "condition:bears-needle"


@pytest.fixture
def state(adviser: Adviser, make_case: Callable[..., Case]) -> Callable[..., Tri]:
    """Return what the record says of a condition at the collar."""

    def read(condition: str, *at: str, **changes: Any) -> Tri:
        reader = ConditionReader(make_case(**changes), adviser.catalogue)
        return reader.state_for(condition, at or ("collar",))

    return read


def two(**collar: str) -> list[dict[str, Any]]:
    made = [{"material": "silk", "identified": "certain"}]
    return [
        {"id": "collar", "name": "collar", "materials": made} | collar,
        {"id": "band", "name": "band", "materials": made},
    ]


@pytest.mark.parametrize(
    ("partings", "expected"),
    [
        (["possible"], Tri.YES),
        (["done"], Tri.YES),
        (["impossible"], Tri.NO),
        (["unknown"], Tri.UNKNOWN),
        (["possible", "unknown"], Tri.UNKNOWN),
        (["unknown", "impossible"], Tri.NO),
        (["possible", "impossible"], Tri.NO),
    ],
)
def test_a_parting_that_the_record_denies_is_no_and_one_that_it_leaves_open_is_unknown(
    state: Callable[..., Tri], partings: list[str], expected: Tri
) -> None:
    contacts = [
        {"between": ["collar", "band"], "kind": "stitched", "parting": one} for one in partings
    ]

    assert state(PARTED, parts=two(), contacts=contacts) is expected


def test_a_field_of_the_part_is_read_and_silence_is_unknown(state: Callable[..., Tri]) -> None:
    assert state(NEEDLE, parts=two(bears_needle="yes")) is Tri.YES
    assert state(NEEDLE, parts=two(bears_needle="no")) is Tri.NO
    assert state(NEEDLE, parts=two()) is Tri.UNKNOWN


@pytest.mark.parametrize(
    ("results", "expected"),
    [(["good"], Tri.YES), (["bad"], Tri.NO), (["inconclusive"], Tri.UNKNOWN)],
)
def test_a_test_that_checks_a_condition_answers_it(
    state: Callable[..., Tri], results: list[str], expected: Tri
) -> None:
    tests = [{"test": "needle-prick", "part": "collar", "result": one} for one in results]

    assert state(NEEDLE, parts=two(), tests=tests) is expected


def test_of_several_parts_one_that_denies_it_denies_all(state: Callable[..., Tri]) -> None:
    record = two(bears_needle="yes")
    both = ("collar", "band")

    assert state(NEEDLE, *both, parts=record) is Tri.UNKNOWN
    record[1]["bears_needle"] = "no"
    assert state(NEEDLE, *both, parts=record) is Tri.NO
    record[1]["bears_needle"] = "yes"
    assert state(NEEDLE, *both, parts=record) is Tri.YES


def test_equipment_that_is_listed_is_at_hand_and_an_unknown_list_says_nothing(
    adviser: Adviser, make_case: Callable[..., Case]
) -> None:
    def has(equipment: Any) -> Tri:
        case = make_case(means={"equipment": equipment})
        return ConditionReader(case, adviser.catalogue).has_equipment("membrane")

    assert has(["membrane"]) is Tri.YES
    assert has([]) is Tri.NO
    assert has("unknown") is Tri.UNKNOWN


def test_a_missing_test_is_told_with_its_state(
    adviser: Adviser, make_case: Callable[..., Case]
) -> None:
    def missing(*results: str) -> dict[str, str]:
        case = make_case(
            damages=[{"id": "d", "damage": "dust", "parts": ["collar"], "evidence": "no"}],
            tests=[{"test": "sponge-trial", "part": "collar", "result": one} for one in results],
        )
        steps = adviser.steps(case, "d/cosmetic-sponge")
        return dict(steps.setting.reader.missing_tests(steps.candidates[0]))

    assert missing() == {"test:sponge-trial": "untested"}
    assert missing("inconclusive") == {"test:sponge-trial": "inconclusive"}
    assert missing("bad") == {"test:sponge-trial": "bad"}
    assert missing("good") == {}
