"""Limits of drying, of sheets with holes and of softening, against closed forms and a referee."""

from __future__ import annotations

import math

import numpy as np
import pytest
from scipy.integrate import solve_ivp

from leastwise.graph import physics as p
from leastwise.graph.physics.creases import softening, softens_from
from leastwise.graph.physics.dry_down import share_left


def test_evaporation_agrees_with_an_integration_in_steps() -> None:
    c = p.saturation_concentration_g_m3(20.0)
    took = p.evaporation_limited_s(20.0, 250.0, p.Fall(0.8, 0.6, 0.5))
    run = solve_ivp(lambda _, h: -c * (h - 0.5) / (20.0 * 250.0), (0, took), [0.8], rtol=1e-9)

    assert run.y[0][-1] == pytest.approx(0.6, abs=1e-5)


@pytest.mark.parametrize("fourier", [0.05, 0.3, 1.0])
def test_the_slab_agrees_with_a_solution_in_steps(fourier: float) -> None:
    n = 200
    x = 1.0 / n

    def slope(_: float, h: np.ndarray) -> np.ndarray:
        inner = np.concatenate(([h[0]], h, [-h[-1]]))  # closed middle, open face at zero
        return (inner[2:] - 2 * inner[1:-1] + inner[:-2]) / x**2

    run = solve_ivp(slope, (0, fourier), np.ones(n), method="BDF", rtol=1e-8, atol=1e-10)

    assert share_left(fourier) == pytest.approx(float(run.y[:, -1].mean()), rel=2e-3)


def test_one_open_face_takes_four_times_as_long_as_two() -> None:
    fall = p.Fall(0.8, 0.6, 0.5)
    both = p.diffusion_limited_s(0.002, 1e-9, fall)

    assert p.diffusion_limited_s(0.002, 1e-9, fall, faces=1) == pytest.approx(4 * both)


def test_holes_lie_between_the_sheet_and_open_air() -> None:
    found = [p.pierced_sheet_s_m(4e5, share) for share in (0.0, 1e-4, 1e-2, 1.0)]

    assert found == sorted(found, reverse=True)
    assert found[0] == 4e5
    assert found[-1] == pytest.approx(p.crowded_hole_s_m(1.0, 0.05))


def test_a_thin_hole_is_stefans_disc_and_a_deep_one_a_tube() -> None:
    d_m2_s = p.diffusion_coefficient_m2_s(20.0)

    assert p.crowded_hole_s_m(2.0, 0.0) == pytest.approx(math.pi * 0.002 / 4 / d_m2_s)
    assert p.crowded_hole_s_m(0.01, 50.0) == pytest.approx(0.05 / d_m2_s, rel=1e-3)


def test_four_open_sides_leak_as_the_whole_edge_does() -> None:
    edge = p.PackEdge(20, 15, 2.0)

    assert sum(p.slit_of_open_side_mm(edge, s) for s in (20, 20, 15, 15)) == pytest.approx(2.0)


#: claim:D-19: regain in percent, wool, hair.
FOX = ((0, 174, 144), (10, 97, 78), (15, 71, 55), (20, 51, 37), (25, 34, 22), (30, 19, 9))


@pytest.mark.parametrize(("regain", "wool", "hair"), FOX)
def test_the_glass_transition_of_keratin_is_that_of_the_fact_sheet(
    regain: float, wool: float, hair: float
) -> None:
    share = regain / (100 + regain)

    assert p.gordon_taylor_c(174, share) == pytest.approx(wool, abs=1.0)
    assert p.gordon_taylor_c(144, share) == pytest.approx(hair, abs=1.0)


def test_silk_falls_by_forty_degrees_at_two_percent_water() -> None:  # claim:W-174
    assert 175 - p.gordon_taylor_c(175, 0.02, 2.15) == pytest.approx(40, abs=1)


def test_what_has_no_figure_is_unknown_and_said() -> None:
    found = p.softening("nylon", 0.8)

    assert found.state == "unknown"
    assert found.transition_c is None
    assert found.not_known


@pytest.mark.parametrize("fibre", ["wool", "silk", "cotton", "linen", "viscose"])
def test_softening_begins_where_the_state_changes_and_sooner_in_the_warm(fibre: str) -> None:
    cool, warm = softens_from(fibre, 18.0), softens_from(fibre, 30.0)

    assert warm is not None
    if cool is not None:
        assert warm.low <= cool.low
    assert softening(fibre, warm.low - 1e-3, 30.0).state == "stiff"
    assert softening(fibre, min(0.999, warm.low + 1e-3), 30.0).state in ("near", "soft")


def test_nothing_is_said_of_a_fibre_without_figures() -> None:
    assert softens_from("nylon") is None
