"""The advice held beside published treatments: nothing unsafe accepted, no share falls.

What is measured, and how, stands in bench/judging.py. A bound is a share of all lines that the
sources give, whether or not the knowledge holds what they used; raise it when the advice gets
better, and write the date beside it.
"""

from __future__ import annotations

from typing import Any

import pytest

from bench.judging import LATER, THIRD, Entry, counted, entries, measure, wilson
from leastwise.graph import Adviser

#: Measured 2026-12-01: 0.897 by place, 0.848 one by one, 0.90, 0.908.
AT_LEAST = {"chosen": 0.88, "singly": 0.83, "tests": 0.88, "order": 0.89}
ACCEPTED_AT_MOST = {"unsafe": 0, "unsuitable": 0, "policy": 0}
NOT_SAID_AT_MOST = 0.01
#: Those that were read later: 0.78, 0.74, 0.67, 0.89 on their first run of 2026-12-01, and after
#: their kinds were mended 0.889, 0.819, 0.722, 0.978.
LATER_AT_LEAST = {"chosen": 0.87, "singly": 0.80, "tests": 0.70, "order": 0.95}
#: The third set: 0.878, 0.786, 0.889, 0.867 on its first run of 2026-12-01, and after its kinds
#: were mended 0.924, 0.824, 0.944, 0.933.
THIRD_AT_LEAST = {"chosen": 0.90, "singly": 0.80, "tests": 0.90, "order": 0.92}
#: One wish, that losses stay in view, is stated in words that no field of a record holds.
THIRD_ACCEPTED_AT_MOST = {"unsafe": 0, "unsuitable": 0, "policy": 1}


@pytest.fixture(scope="module")
def found(adviser: Adviser) -> list[Entry]:
    return measure(entries(), adviser)


@pytest.fixture(scope="module")
def later(adviser: Adviser) -> list[Entry]:
    return measure(entries(LATER), adviser)


@pytest.fixture(scope="module")
def third(adviser: Adviser) -> list[Entry]:
    return measure(entries(THIRD), adviser)


def test_nothing_that_a_source_calls_unsafe_is_accepted(
    found: list[Entry], later: list[Entry], third: list[Entry]
) -> None:
    accepted = [
        f"{v.entry}: {v.words}: {v.why}"
        for entry in [*found, *later, *third]
        for v in entry.verdicts
        if v.measure == "refused" and v.kind == "unsafe" and not v.right
    ]
    assert accepted == []


@pytest.mark.parametrize("kind", ACCEPTED_AT_MOST)
def test_no_more_is_accepted_that_a_source_ruled_out(found: list[Entry], kind: str) -> None:
    assert counted(found)["refused_accepted"][kind] <= ACCEPTED_AT_MOST[kind]


@pytest.mark.parametrize("kind", ACCEPTED_AT_MOST)
def test_nothing_is_accepted_that_a_later_source_ruled_out(later: list[Entry], kind: str) -> None:
    assert counted(later)["refused_accepted"][kind] == 0


@pytest.mark.parametrize("measured", LATER_AT_LEAST)
def test_share_of_later_ones_has_not_fallen(later: list[Entry], measured: str) -> None:
    one: dict[str, Any] = counted(later)[measured]
    assert one["right"] / (one["of"] + one["without_counterpart"]) >= LATER_AT_LEAST[measured]


@pytest.mark.parametrize("kind", THIRD_ACCEPTED_AT_MOST)
def test_no_more_is_accepted_that_a_source_of_the_third_set_ruled_out(
    third: list[Entry], kind: str
) -> None:
    assert counted(third)["refused_accepted"][kind] <= THIRD_ACCEPTED_AT_MOST[kind]


@pytest.mark.parametrize("measured", THIRD_AT_LEAST)
def test_share_of_the_third_set_has_not_fallen(third: list[Entry], measured: str) -> None:
    one: dict[str, Any] = counted(third)[measured]
    assert one["right"] / (one["of"] + one["without_counterpart"]) >= THIRD_AT_LEAST[measured]


@pytest.mark.parametrize("measured", AT_LEAST)
def test_share_has_not_fallen(found: list[Entry], measured: str) -> None:
    one: dict[str, Any] = counted(found)[measured]
    assert one["right"] / (one["of"] + one["without_counterpart"]) >= AT_LEAST[measured]


def test_record_holds_what_the_sources_say(found: list[Entry]) -> None:
    figures = counted(found)
    assert figures["not_said"] / figures["facts"] <= NOT_SAID_AT_MOST


def test_every_entry_is_judged_or_says_why_not(found: list[Entry]) -> None:
    for written, entry in zip(entries(), found, strict=True):
        assert entry.id == written["id"]
        assert entry.judged or written["reason"]


@pytest.mark.parametrize(
    ("right", "of", "low", "high"), [(26, 62, 0.305, 0.543), (0, 10, 0, 0.278)]
)
def test_interval_of_a_share(right: int, of: int, low: float, high: float) -> None:
    # Wilson 1927; 0 of 10: upper end z^2 / (n + z^2) = 0.2775
    assert wilson(right, of) == pytest.approx((low, high), abs=0.001)
