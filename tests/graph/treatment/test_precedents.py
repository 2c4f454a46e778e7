"""Outcomes as counts with intervals."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.stats import beta

from leastwise.graph import Adviser
from leastwise.graph.treatment.precedents import Grouping, Outcome, count_precedents, rate

PACK, CREASE = "technique:membrane-pack-suspended", "damage:crease"


def _outcome(result: str, *materials: str, demo: bool = False) -> Outcome:
    return Outcome(PACK, CREASE, materials or ("material:silk",), result, demo)  # type: ignore[arg-type]


@pytest.mark.parametrize(
    ("count", "number", "mean", "low", "high"),
    [
        # computed with a Jeffreys prior; the first row teaches that 0 of 7 still allows much
        (0, 7, 0.0625, 0.0001, 0.2924),
        (2, 9, 0.2500, 0.0493, 0.5438),
    ],
)
def test_intervals_are_those_of_the_beta_posterior(
    count: int, number: int, mean: float, low: float, high: float
) -> None:
    found = rate(count, number)
    assert (found.mean, found.low, found.high) == pytest.approx((mean, low, high), abs=5e-5)


@given(st.integers(0, 40), st.integers(0, 40))
def test_the_interval_holds_95_per_cent_and_more_cases_narrow_it(good: int, bad: int) -> None:
    found, more = rate(good, good + bad), rate(2 * good, 2 * (good + bad))
    a, b = 0.5 + good, 0.5 + bad  # scipy as referee
    assert beta.cdf(found.high, a, b) - beta.cdf(found.low, a, b) == pytest.approx(0.95)
    assert 0 <= found.low <= found.mean <= found.high <= 1
    assert 0 <= found.next_low <= found.next_high <= 10
    if good and bad:
        assert more.high - more.low < found.high - found.low


def test_an_outcome_counts_once_for_each_group_of_material(adviser: Adviser) -> None:
    told = [
        _outcome("met", "material:silk", "material:gelatin-sequins"),
        _outcome("harm", "material:gelatin-sequins"),
    ]
    found = {p.group: p for p in count_precedents(told, adviser.knowledge)}
    assert set(found) == {"material:silk", "material:sequins"}
    sequins = found["material:sequins"]
    assert (sequins.met.count, sequins.harm.count, sequins.met.number) == (1, 1, 2)


def test_few_outcomes_say_that_they_are_few(adviser: Adviser) -> None:
    (few,) = count_precedents([_outcome("met")] * 2, adviser.knowledge)
    (many,) = count_precedents([_outcome("met")] * 30, adviser.knowledge)
    assert "too few" in few.in_words
    assert "too few" not in many.in_words
    assert "0 of 30" in many.in_words  # harm, never a bare zero
    assert "up to" in many.in_words


def test_invented_outcomes_are_counted_apart(adviser: Adviser) -> None:
    found = count_precedents([_outcome("met"), _outcome("harm", demo=True)], adviser.knowledge)
    assert sorted((p.demo, p.met.number) for p in found) == [(False, 1), (True, 1)]


def test_a_count_above_its_number_is_refused() -> None:
    with pytest.raises(ValueError, match="3 of 2"):
        rate(3, 2)


def test_a_group_stays_itself_and_a_narrow_material_goes_to_its_group(adviser: Adviser) -> None:
    grouping = Grouping(adviser.knowledge)
    assert grouping.groups(["material:sequins", "material:gelatin-sequins"]) == (
        "material:sequins",
    )
