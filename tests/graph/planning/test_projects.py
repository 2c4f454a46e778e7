"""Published projects beside what is reckoned: a textbook interval, and the plan tells it."""

from __future__ import annotations

from dataclasses import replace
from math import exp, sqrt

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.stats import t as student

from leastwise.graph import Adviser, read_demo
from leastwise.graph.planning.make import make_plan
from leastwise.graph.planning.projects import (
    HALF,
    NINE_OF_TEN,
    ProjectSpread,
    beside_projects,
    mostly_by_size,
    spread_of,
)
from leastwise.graph.weighing.working_time import WorkingTime

MEANS = st.floats(-3, 3)
DEVIATIONS = st.floats(0.01, 3)


def time(most: float, *, by_size: bool, rated: bool = True) -> WorkingTime:
    words = "size not recorded" if rated else ""
    return WorkingTime((most / 4, most), (0.0, 0.0), float(by_size), "cm2", False, words)


@given(st.integers(2, 40), MEANS, DEVIATIONS, st.sampled_from([NINE_OF_TEN, HALF]))
def test_the_interval_is_that_of_the_t_distribution(
    number: int, mean: float, deviation: float, each_end: float
) -> None:
    low, high = ProjectSpread(number, mean, deviation).factors(each_end)
    expected = student(number - 1, mean, deviation * sqrt(1 + 1 / number)).ppf(
        [each_end, 1 - each_end]
    )
    assert [low, high] == pytest.approx(np.exp(expected), rel=1e-9)


def test_nine_of_ten_of_the_next_lie_within() -> None:
    drawn = np.random.default_rng(5).normal(1.0, 1.4, (20_000, 7))
    past, coming = drawn[:, :6], drawn[:, 6]
    mean, deviation = past.mean(axis=1), past.std(axis=1, ddof=1)
    for each_end, share in ((NINE_OF_TEN, 0.9), (HALF, 0.5)):
        away = np.log(ProjectSpread(6, 0.0, 1.0).factors(each_end)[1])
        within = np.abs(coming - mean) <= away * deviation
        assert within.mean() == pytest.approx(share, abs=0.01)


@given(st.integers(2, 40), MEANS, DEVIATIONS)
def test_half_lies_within_nine_of_ten_and_more_projects_narrow_both(
    number: int, mean: float, deviation: float
) -> None:
    few = ProjectSpread(number, mean, deviation)
    low, high = few.factors()
    inner = few.factors(HALF)
    assert low < inner[0] < few.middle < inner[1] < high
    more = replace(few, projects=number + 5).factors()
    assert low < more[0]
    assert more[1] < high


def test_half_of_the_hours_make_work_sized_and_what_asks_for_no_size_does_not_count() -> None:
    sized, unsized = time(8, by_size=True), time(8, by_size=False)
    assert mostly_by_size([sized, unsized])
    assert not mostly_by_size([sized, unsized, unsized])
    assert mostly_by_size([sized, time(90, by_size=False, rated=False)])
    assert not mostly_by_size([])


def test_work_of_unknown_size_is_told_wider_and_later(adviser: Adviser) -> None:
    known, unknown = (spread_of(adviser.knowledge, sized=sized) for sized in (True, False))
    assert known is not None
    assert unknown is not None
    assert known.deviation < unknown.deviation
    assert known.mean < unknown.mean


def test_hours_lie_round_what_is_reckoned(adviser: Adviser) -> None:
    found = beside_projects(adviser.knowledge, (2.0, 18.0), [time(18, by_size=True)])
    spread = spread_of(adviser.knowledge, sized=True)
    assert found is not None
    assert spread is not None
    assert found.sized
    assert found.hours == pytest.approx([6 * end for end in spread.factors()], rel=0.05)
    assert found.half == pytest.approx([6 * end for end in spread.factors(HALF)], rel=0.05)
    assert found.factors[1] == exp(spread.mean)
    assert f"{spread.projects} published projects whose size is known" in found.in_words
    assert beside_projects(adviser.knowledge, (0.0, 0.0), []) is None


def test_a_plan_tells_how_far_projects_lie_from_it(adviser: Adviser) -> None:
    plan = make_plan(read_demo("festival-dancer", adviser.knowledge), adviser)
    beside = plan.hours_of_projects
    assert beside is not None
    assert beside.hours[0] < beside.half[0] < beside.half[1] < beside.hours[1]
    reckoned = sqrt(plan.hours[0] * plan.hours[1])
    assert beside.hours[1] == pytest.approx(reckoned * beside.factors[2], rel=0.05)
