"""Moisture against published and computed check values: Crank, tables D, regains at 65 % RH."""

from __future__ import annotations

import itertools
import math
from dataclasses import replace

import numpy as np
import pytest

from leastwise.graph.physics.air import (
    diffusion_coefficient_m2_s,
    magnus_saturation_pressure_pa,
    saturation_concentration_g_m3,
    still_air_resistance_s_m,
)
from leastwise.graph.physics.bounds import Range
from leastwise.graph.physics.columns import Cell, Column, network_of
from leastwise.graph.physics.membranes import (
    fabric_resistance_s_m,
    film_resistance_s_m,
    perms_to_resistance_s_m,
    ret_to_resistance_s_m,
)
from leastwise.graph.physics.moisture import Question, equilibrium_water_g_m2, humidify
from leastwise.graph.physics.network import Accuracy, run_network
from leastwise.graph.physics.sorption import FIBRES, Isotherm, isotherm_of, moisture_content
from leastwise.graph.physics.stack import (
    Role,
    Stack,
    air_gap,
    bench_stack,
    blotter,
    membrane,
    textile,
)

SHEET_M, STORE_G_M2, ROOM = 0.01, 50.0, 0.8


def sheet(cells: int) -> tuple[Stack, Column, float]:
    """A plane sheet with a straight isotherm, closed below, its upper face at the room's RH."""
    stack = Stack((air_gap(),), 20.0, ROOM, 0.5)
    diffusion = diffusion_coefficient_m2_s(20)
    part = SHEET_M / cells
    column = Column()
    for _ in range(cells):
        half = part / diffusion / 2
        cell = Cell(
            "sheet", part, saturation_concentration_g_m3(20), STORE_G_M2 / cells,
            Isotherm(1.0, 0.0, 0.0), 0.01, 0.5, 0.5, half, 0.0, False,
        )  # fmt: skip
        column.add(cell, 0.0)
    column.top_s_m = part / diffusion / 2
    capacity = 1 + STORE_G_M2 / (saturation_concentration_g_m3(20) * SHEET_M)
    return stack, column, diffusion / capacity


def crank_uptake(diffusion: float, time: float) -> float:
    """Uptake of a sheet wetted from one face: Crank, Mathematics of Diffusion, eq. 4.18."""
    terms = (
        8 / ((2 * n + 1) * math.pi) ** 2
        * math.exp(-diffusion * ((2 * n + 1) * math.pi / (2 * SHEET_M)) ** 2 * time)
        for n in range(400)
    )  # fmt: skip
    return 1 - sum(terms)


def uptake_error(cells: int, tolerance: float) -> float:
    """The largest error of the uptake as a share of the final uptake, from 2 % uptake on."""
    stack, column, diffusion = sheet(cells)
    unit = SHEET_M**2 / diffusion
    times = np.concatenate([[0.0], unit * np.array([0.02, 0.05, 0.1, 0.2, 0.5, 1.0, 2.0])])
    run = run_network(network_of([column], [stack], [1.0]), times, Accuracy(tolerance))
    found = (run.content.mean(axis=0) - 0.5) / (ROOM - 0.5)
    exact = np.array([crank_uptake(diffusion, time) for time in times])
    return float(np.max(np.abs(found - exact)[1:] / exact[1:]))


def test_plane_sheet_follows_crank_within_one_percent() -> None:
    """Crank 1975, The Mathematics of Diffusion, eq. 4.18 (series from memory), linear limit."""
    assert uptake_error(40, 1e-6) < 0.01


def test_profile_in_the_sheet_follows_crank() -> None:
    """Crank 1975, eq. 4.17 (from memory): the concentration itself, 1 % of the step."""
    stack, column, diffusion = sheet(50)
    time = 0.2 * SHEET_M**2 / diffusion
    run = run_network(network_of([column], [stack], [1.0]), np.array([0.0, time]), Accuracy(1e-6))
    depth = (np.arange(50) + 0.5) / 50
    series = sum(
        4 / math.pi * (-1) ** n / (2 * n + 1)
        * math.exp(-((2 * n + 1) * math.pi / 2) ** 2 * 0.2)
        * np.cos((2 * n + 1) * math.pi / 2 * depth)
        for n in range(100)
    )  # fmt: skip
    found = (run.humidity[:, -1] - 0.5) / (ROOM - 0.5)
    assert np.max(np.abs(found - (1 - series))) < 0.01


def test_error_falls_with_finer_grid_and_tighter_tolerance() -> None:
    """Second order in the grid: half the cell, about a quarter of the error."""
    errors = [uptake_error(cells, 1e-8) for cells in (5, 10, 20, 40)]
    assert errors == sorted(errors, reverse=True)
    assert errors[1] / errors[2] > 2.5
    assert uptake_error(80, 1e-3) > uptake_error(80, 1e-6)


@pytest.mark.parametrize(("resistance", "flux"), [(50, 620), (100, 310), (200, 155), (400, 78)])
def test_steady_flux(resistance: float, flux: float) -> None:
    """D-13 (computed): g/(m2 h) from saturation to 50 % RH at 20 C; here with an open top, 1 %."""
    base = Stack((blotter(water_load_g_m2=5000), membrane()), 20, 0.5, 0.5, 1.0)
    layer = base.layer("membrane")
    stack = base.with_layer(replace(layer, resistance_s_m=resistance - 1.0))
    answer = humidify(stack, Question("blotter", duration_s=3600))
    assert answer.water_to_room_g_m2[-1] == pytest.approx(flux, rel=0.015)


@pytest.mark.parametrize(
    ("celsius", "pascal", "grams"),
    [
        (10, 1226, 9.38),
        (15, 1702, 12.80),
        (20, 2333, 17.24),
        (23, 2803, 20.51),
        (25, 3160, 22.97),
        (30, 4234, 30.26),
        (35, 5613, 39.47),
    ],
)
def test_saturation_table(celsius: float, pascal: float, grams: float) -> None:
    """D-01, D-02 (Magnus, W-112 read); Hyland-Wexler agrees within Magnus' 0.4 % (W-113)."""
    assert magnus_saturation_pressure_pa(celsius) == pytest.approx(pascal, abs=0.6)
    assert saturation_concentration_g_m3(celsius) == pytest.approx(grams, rel=4e-3)


@pytest.mark.parametrize(
    ("celsius", "diffusion"), [(10, 2.26e-5), (20, 2.40e-5), (25, 2.471e-5), (35, 2.62e-5)]
)
def test_diffusion_in_air(celsius: float, diffusion: float) -> None:
    """D-03; W-109 (read): 2.471e-5 at 25 C."""
    assert diffusion_coefficient_m2_s(celsius) == pytest.approx(diffusion, rel=3e-3)


def test_resistances() -> None:
    """D-04 to D-07, D-10 (computed from W-108, W-149, W-132)."""
    for celsius, expected in ((20, 41.7), (25, 40.5), (35, 38.2)):
        assert still_air_resistance_s_m(1, celsius) == pytest.approx(expected, abs=0.05)
    for ret, expected in ((3, 51), (6, 102), (13, 221), (20, 340)):
        assert ret_to_resistance_s_m(ret) == pytest.approx(expected, abs=1)
    habotai, flannel = fabric_resistance_s_m(0.1), fabric_resistance_s_m(1.5)
    assert habotai.low == pytest.approx(8, abs=0.5)
    assert habotai.high == pytest.approx(17, abs=0.5)
    assert flannel.low == pytest.approx(125, abs=1)
    assert flannel.high == pytest.approx(250, abs=1)
    polyethylene = film_resistance_s_m("LDPE", 25)
    assert polyethylene.low == pytest.approx(1.15e5, rel=0.03)
    assert polyethylene.high == pytest.approx(2.3e5, rel=0.03)
    assert perms_to_resistance_s_m(5) == pytest.approx(25_600, rel=5e-3)


@pytest.mark.parametrize(
    ("regain", "content"),
    [(0.085, 7.83), (0.11, 9.91), (0.16, 13.79), (0.124, 11.03), (0.004, 0.398)],
)
def test_moisture_content(regain: float, content: float) -> None:
    """materials.md 7a, from M-024 (read)."""
    assert 100 * moisture_content(regain) == pytest.approx(content, abs=0.005)


def test_regains_at_65_percent_are_in_the_published_ranges() -> None:
    """M-001 to M-017 (read); a range stated as one figure is met to half its last digit."""
    for fibre in FIBRES.values():
        if fibre.published is None:
            continue
        regain = isotherm_of(fibre.name).regain(0.65)
        assert fibre.published.low - 5e-4 <= regain <= fibre.published.high + 5e-4
        assert fibre.believed.low <= regain <= fibre.believed.high


def test_order_of_regains() -> None:
    """materials.md 7a: wool > viscose > silk > cotton >= flax > acetate > nylon > polyester."""
    order = ["wool", "viscose", "silk", "cotton", "linen", "acetate", "nylon", "polyester"]
    regains = [isotherm_of(fibre).regain(0.65) for fibre in order]
    assert all(one >= two for one, two in itertools.pairwise(regains))


@pytest.mark.parametrize(
    ("fibre", "density", "grams"),
    [("silk", 60, 3.3), ("cotton", 120, 5.4), ("linen", 200, 10.0), ("wool", 250, 17.5)],
)
def test_water_needed_from_50_to_80_percent(fibre: str, density: float, grams: float) -> None:
    """D-14, which rests on W-181 (memory): the tables differ, so only within 45 %."""
    stack = bench_stack(textile("cloth", fibre, density, 0.3))
    assert equilibrium_water_g_m2(stack, "cloth", Range(0.5, 0.8)) == pytest.approx(grams, rel=0.45)


@pytest.mark.parametrize(("fibre", "density", "seconds"), [("silk", 60, 40), ("wool", 250, 180)])
def test_uptake_is_never_faster_than_the_ideal_supply(
    fibre: str, density: float, seconds: float
) -> None:
    """D-15 (computed): the ideal lower bounds at R = 100 s/m; lag and layers only lengthen."""
    stack = bench_stack(textile("cloth", fibre, density, 0.3))
    stack = stack.with_layer(replace(stack.layer("membrane"), resistance_s_m=100.0))
    answer = humidify(stack, Question("cloth", Range(0.80, 0.90)))
    assert answer.time_to_target_s is not None
    assert answer.time_to_target_s > seconds
    assert stack.layer("membrane").role is Role.MEMBRANE
