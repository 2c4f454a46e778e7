"""What work took here beside what was reckoned; a grid referees the posterior."""

from __future__ import annotations

from collections.abc import Callable
from math import log, sqrt
from typing import Any

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.integrate import cumulative_trapezoid
from scipy.stats import norm

from leastwise.graph import Adviser, Case
from leastwise.graph.treatment.pace import BETWEEN_JOBS, NINE_OF_TEN, Job, Pace, jobs_of, paces
from leastwise.graph.treatment.record import treatment_from_data

HOURS = st.floats(0.05, 500)
COUCHING = "crushed/laid-couching"


def pace(*logged: float, reckoned: tuple[float, float] = (2.0, 8.0)) -> Pace:
    return paces(Job("technique:t", hours, reckoned) for hours in logged)["technique:t", False]


@given(st.lists(HOURS, min_size=1, max_size=6))
def test_the_posterior_is_that_of_a_grid(logged: list[float]) -> None:
    found = pace(*logged)

    grid = np.linspace(-8, 8, 16_001)  # of ln f
    density = norm.logpdf(grid, 0, log(8 / 2) / (2 * NINE_OF_TEN))
    for hours in logged:
        density += norm.logpdf(log(hours / sqrt(2 * 8)), grid, BETWEEN_JOBS)
    whole = cumulative_trapezoid(np.exp(density - density.max()), grid, initial=0)
    low, middle, high = np.exp(np.interp([0.05, 0.5, 0.95], whole / whole[-1], grid))

    assert found.factor == pytest.approx(middle, rel=2e-3)
    assert found.low == pytest.approx(low, rel=2e-3)
    assert found.high == pytest.approx(high, rel=2e-3)


@given(st.lists(HOURS, min_size=1, max_size=6))
def test_the_next_job_varies_more_than_the_pace(logged: list[float]) -> None:
    found = pace(*logged)

    assert found.next_low < found.low < found.factor < found.high < found.next_high


def test_work_as_reckoned_keeps_the_factor_at_one_and_narrows_it() -> None:
    few, many = pace(4.0), pace(*[4.0] * 12)

    assert few.factor == pytest.approx(1)
    assert many.factor == pytest.approx(1)
    assert many.high - many.low < few.high - few.low
    assert many.hours((2.0, 8.0))[1] < 8.0


@given(st.lists(HOURS, min_size=1, max_size=5), st.floats(1.1, 5))
def test_slower_work_is_never_told_as_faster(logged: list[float], times: float) -> None:
    slower = [hours * times for hours in logged]

    assert pace(*slower).factor > pace(*logged).factor


def test_many_jobs_outweigh_what_was_reckoned() -> None:
    assert pace(*[12.0] * 40).factor == pytest.approx(3.0, rel=0.05)
    assert 1.0 < pace(12.0).factor < 3.0


def test_a_span_of_one_figure_is_not_moved() -> None:
    assert pace(9.0, reckoned=(3.0, 3.0)).factor == 1.0


def test_invented_jobs_are_counted_apart() -> None:
    jobs = [Job("technique:t", 4.0, (2.0, 8.0)), Job("technique:t", 40.0, (2.0, 8.0), demo=True)]

    assert {key: p.jobs for key, p in paces(jobs).items()} == {
        ("technique:t", False): 1,
        ("technique:t", True): 1,
    }


def step(name: str, planned: str = COUCHING, **fields: Any) -> dict[str, Any]:
    return {"id": name, "planned": planned, "what": "x", "state": "done", "date": "2026-03-01",
            "by": "A. Conservator", **fields}  # fmt: skip


def torn(make_case: Callable[..., Case], extent: Any) -> Case:
    return make_case(
        damages=[{"id": "crushed", "damage": "split", "parts": ["collar"], "extent": extent}]
    )


@pytest.mark.parametrize(
    ("steps", "extent", "logged"),
    [
        ([step("a", hours=3), step("b", hours=2.5)], {"value": 20, "unit": "cm2"}, [5.5]),
        ([step("a", hours=3)], "unknown", []),  # of no recorded size
        ([step("a", hours=3), step("b")], {"value": 20, "unit": "cm2"}, []),  # hours missing
        ([step("a", hours=3, state="stopped")], {"value": 20, "unit": "cm2"}, []),
        ([step("a", planned="", hours=3)], {"value": 20, "unit": "cm2"}, []),
        ([step("a", hours=0)], {"value": 20, "unit": "cm2"}, []),
    ],
)
def test_finished_work_of_a_recorded_size_counts_and_no_other(
    adviser: Adviser,
    make_case: Callable[..., Case],
    steps: list[dict[str, Any]],
    extent: Any,
    logged: list[float],
) -> None:
    case = torn(make_case, extent)
    record = treatment_from_data({"steps": steps}, case)

    found = jobs_of(record, case, adviser.catalogue)

    assert [job.logged for job in found] == logged
    assert all(job.technique == "technique:laid-couching" and job.demo for job in found)
