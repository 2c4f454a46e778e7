"""Liquid in cloth and load at a seam: limit cases, integrations in steps, published values."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.integrate import solve_ivp

from leastwise.graph.physics.bounds import PhysicsInputError, Range
from leastwise.graph.physics.seam import at_stitch, seam_strength, stretch
from leastwise.graph.physics.wicking import (
    front_mm,
    front_of,
    front_upright_mm,
    reach_beyond_mm,
    soaked_s,
)


@pytest.mark.parametrize(("spread", "rest"), [(15.0, 100.0), (1.0, 30.0), (50.0, 400.0)])
def test_an_upright_front_follows_its_equation(spread: float, rest: float) -> None:
    begin = 1e-3  # s; before that the equation has no end of its slope
    start = front_upright_mm(begin, spread, rest)
    run = solve_ivp(
        lambda _, h: spread / 2 * (1 / h - 1 / rest), (begin, 600), [start],
        t_eval=[1, 60, 600], rtol=1e-9, atol=1e-12, method="LSODA",
    )  # fmt: skip

    assert run.y[0] == pytest.approx([front_upright_mm(t, spread, rest) for t in (1, 60, 600)],
                                     rel=1e-5)  # fmt: skip


def test_a_short_time_knows_no_weight_and_a_long_one_comes_to_rest() -> None:
    assert front_upright_mm(1.0, 15, 5000) == pytest.approx(front_mm(1.0, 15), rel=1e-3)
    assert front_upright_mm(1e7, 15, 120) == pytest.approx(120)


def test_the_square_of_the_height_grows_with_time() -> None:
    # Zhu and others 2015 (abstract): wicking height squared against time, cotton cloth.
    times = np.array([10.0, 40.0, 90.0, 160.0])
    squares = np.array([front_mm(t, 12.0) ** 2 for t in times])

    assert np.corrcoef(times, squares)[0, 1] == pytest.approx(1.0)
    assert soaked_s(front_mm(25.0, 12.0), 12.0) == pytest.approx(25.0)


@given(st.floats(1, 500), st.floats(0, 30))
def test_water_reaches_as_far_as_there_is_of_it(half: float, times: float) -> None:
    beyond = reach_beyond_mm(half, times)
    if times > 1:
        assert np.pi * (half + beyond) ** 2 == pytest.approx(times * np.pi * half**2)
    else:
        assert beyond == 0


def test_thin_cloth_is_wetted_farther_than_thick_by_the_same_blotter() -> None:
    water = Range(140, 280)
    thin = front_of(60, Range(0.05, 0.1), Range(27, 33), water)
    thick = front_of(60, Range(0.5, 1.2), Range(270, 330), water)

    assert thin.wets_times_its_area.low > thick.wets_times_its_area.low
    assert thin.soaks_through_s.high < thick.soaks_through_s.high


@pytest.mark.parametrize(("spi", "pounds"), [(6, 23.4), (8, 31.2), (10, 39.0), (12, 46.8)])
def test_a_seam_holds_what_the_published_table_says(spi: int, pounds: float) -> None:
    # Learn Apparel 2013 (read): thread of 2.6 lb, lockstitch.
    assert seam_strength(spi, 2.6) == pytest.approx(pounds)


@given(st.floats(0.01, 5), st.floats(1, 20), st.floats(0.2, 3))
def test_the_stitches_of_a_cm_carry_the_load_of_a_cm(load: float, gap: float, grip: float) -> None:
    found = at_stitch(Range(load, load), Range(gap, gap), Range(grip, grip))

    assert found.each_n.high * 10 / gap == pytest.approx(load)
    assert found.beside_n_cm.high >= load  # never less than the even load
    if grip <= gap:
        assert found.beside_n_cm.high * grip / 10 == pytest.approx(found.each_n.high)


def test_stretch_is_that_of_recalled_trials_of_dress_cloth() -> None:
    # Recalled (memory): 2 to 10 % under 5 N/cm.
    found = stretch(Range(5, 5), Range(50, 250))

    assert (found.low, found.high) == pytest.approx((0.02, 0.1))


def test_what_can_not_be_is_refused() -> None:
    for wrong in (
        lambda: front_mm(-1, 10),
        lambda: at_stitch(Range(1, 1), Range(0, 0), Range(1, 1)),
        lambda: stretch(Range(1, 1), Range(0, 0)),
    ):
        with pytest.raises(PhysicsInputError):
            wrong()
