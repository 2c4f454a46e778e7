"""Check values W-01 to W-42 of environment-and-hazards.md section 8 that are physics."""

from __future__ import annotations

import math

import psychrolib  # type: ignore[import-untyped]
import pytest

from leastwise.graph.physics.ageing import lifetime_multiplier, preservation_index_years
from leastwise.graph.physics.air import (
    absolute_humidity_g_m3,
    dew_point_c,
    humidity_ratio,
    magnus_dew_point_c,
    relative_humidity_at,
    saturation_pressure_pa,
    vapour_pressure_pa,
)
from leastwise.graph.physics.light import (
    BLUE_WOOL_DOSES_MLX_H,
    BUDGETS,
    Responsivity,
    dose_lx_h,
    hours_within_budget,
    uv_dose,
    years_to_fade,
)
from leastwise.graph.physics.load import peak_force_n
from leastwise.graph.physics.rotation import DisplayPeriod, Lighting, check_plan


@pytest.mark.parametrize(
    ("blue_wool", "with_uv", "without_uv"),
    [
        (1, 1.47, 2.00),
        (2, 4.00, 6.67),
        (3, 10.0, 20.0),
        (4, 23.3, 66.7),
        (5, 53.3, 200),
        (6, 133, 667),
        (7, 333, 2000),
        (8, 800, 7333),
    ],
)
def test_years_to_fade_at_50_lux(blue_wool: int, with_uv: float, without_uv: float) -> None:
    """W-01 to W-08 (doses from memory, E-015 to E-022), 0.5 %."""
    years = [years_to_fade(blue_wool, 50, 3000, uv_removed=removed) for removed in (False, True)]
    assert years == [pytest.approx(with_uv, rel=5e-3), pytest.approx(without_uv, rel=5e-3)]


def test_years_to_fade_at_150_lux() -> None:
    """W-09 (from memory), 0.5 % and the two figures given."""
    assert years_to_fade(1, 150, 3000, uv_removed=False) == pytest.approx(0.49, abs=0.005)
    assert years_to_fade(1, 150, 3000, uv_removed=True) == pytest.approx(0.67, abs=0.005)
    assert years_to_fade(3, 150, 3000, uv_removed=False) == pytest.approx(3.33, abs=0.005)
    assert years_to_fade(3, 150, 3000, uv_removed=True) == pytest.approx(6.67, abs=0.005)


@pytest.mark.parametrize(
    ("light", "low", "high", "classes"),
    [
        (50, 1.5, 20, (1, 3)),
        (50, 20, 700, (4, 6)),
        (50, 300, 7000, (7, 8)),
        (150, 0.5, 7, (1, 3)),
        (150, 7, 200, (4, 6)),
        (150, 100, 2000, (7, 8)),
        (500, 1 / 7, 2, (1, 3)),
        (500, 2, 70, (4, 6)),
        (500, 30, 700, (7, 8)),
    ],
)
def test_published_year_ranges(
    light: float, low: float, high: float, classes: tuple[int, int]
) -> None:
    """claim:E-025 (memory): CCI year ranges by sensitivity, which are rounded to one figure."""
    assert years_to_fade(classes[0], light, 3000, uv_removed=False) == pytest.approx(low, rel=0.25)
    assert years_to_fade(classes[1], light, 3000, uv_removed=True) == pytest.approx(high, rel=0.25)


def test_yearly_doses_and_budgets() -> None:
    """W-10 to W-13 (exact; budgets from memory)."""
    check = check_plan(Lighting(50, 8), [DisplayPeriod(0, 300)], 150_000, 1)
    assert check.dose_lx_h_by_year == (120_000,)
    assert check.holds
    assert not check_plan(Lighting(50, 8), [DisplayPeriod(0, 300)], 15_000, 1).holds
    assert hours_within_budget(50, 15_000) == 300
    assert hours_within_budget(50, 150_000) == 3000
    assert check_plan(Lighting(50, 8), [DisplayPeriod(0, 365)], 150_000, 1).holds
    limits = BUDGETS[Responsivity.R1]
    assert limits.dose_lx_h_per_year is not None
    assert limits.illuminance_lx is not None
    assert hours_within_budget(limits.illuminance_lx, limits.dose_lx_h_per_year) == 3000


def test_reciprocity_and_ten_years() -> None:
    """W-14 (exact), W-15 (comparison; doses from memory), claim:E-034 (read)."""
    assert dose_lx_h(50, 10) == dose_lx_h(250, 2) == 500
    ten_years = 10 * dose_lx_h(50, 8 * 300) / 1e6
    assert ten_years == pytest.approx(1.2)
    assert ten_years > BLUE_WOOL_DOSES_MLX_H[2][1]
    assert ten_years < BLUE_WOOL_DOSES_MLX_H[3][1]


def test_badly_faded_natural_dyes() -> None:
    """materials.md 7a (M-142): 50 Mlx.h at 2920 h a year: 85.6 years at 200 lx, 342.5 at 50."""
    assert hours_within_budget(200, 50e6) / 2920 == pytest.approx(85.6, abs=0.05)
    assert hours_within_budget(50, 50e6) / 2920 == pytest.approx(342.5, abs=0.05)


def test_uv() -> None:
    """W-16, W-17 (product)."""
    assert uv_dose(50, 75, 1).irradiance_mw_m2 == pytest.approx(3.75)
    uv = uv_dose(100, 10, 3000)
    assert uv.irradiance_mw_m2 == pytest.approx(1)
    assert uv.dose_kj_m2 == pytest.approx(10.8)


@pytest.mark.parametrize(
    ("temperature", "humidity", "dew"),
    [
        (20, 0.50, 9.27),
        (20, 0.60, 12.01),
        (20, 0.65, 13.23),
        (25, 0.50, 13.86),
        (25, 0.80, 21.31),
        (18, 0.55, 8.83),
        (16, 0.45, 4.08),
    ],
)
def test_dew_point(temperature: float, humidity: float, dew: float) -> None:
    """W-18 to W-21, 0.05 C; psychrolib as a second witness; Magnus within 0.1 C (E-112)."""
    psychrolib.SetUnitSystem(psychrolib.SI)
    found = dew_point_c(temperature, humidity)
    assert found == pytest.approx(dew, abs=0.05)
    other = psychrolib.GetTDewPointFromRelHum(temperature, humidity)
    assert found == pytest.approx(other, abs=0.01)
    assert magnus_dew_point_c(temperature, humidity) == pytest.approx(dew, abs=0.1)


def test_humidity_ratio() -> None:
    """W-22, 0.5 %; psychrolib as a second witness."""
    psychrolib.SetUnitSystem(psychrolib.SI)
    ratio = humidity_ratio(20, 0.50)
    assert 1000 * ratio == pytest.approx(7.26, rel=5e-3)
    assert absolute_humidity_g_m3(20, 0.50) == pytest.approx(8.64, rel=5e-3)
    assert ratio == pytest.approx(psychrolib.GetHumRatioFromRelHum(20, 0.5, 101_325), rel=1e-3)


def test_humidity_ratio_at_altitude() -> None:
    """claim:E-110 (read): 0.0213604 kg/kg at e = 3169.7 Pa and P = 95 461 Pa."""
    assert humidity_ratio(25, 1.0, 95_461) == pytest.approx(0.0213604, rel=1e-3)


@pytest.mark.parametrize(
    ("temperature", "humidity", "other", "expected"),
    [
        (0, 0.80, 20, 0.209),
        (5, 0.80, 20, 0.298),
        (20, 0.50, 15, 0.686),
        (20, 0.50, 10, 0.952),
        (22, 0.45, 15, 0.698),
        (20, 0.50, 25, 0.369),
    ],
)
def test_same_air_at_another_temperature(
    temperature: float, humidity: float, other: float, expected: float
) -> None:
    """W-23 to W-28, 0.3 points of RH."""
    assert relative_humidity_at(temperature, humidity, other) == pytest.approx(expected, abs=0.003)


@pytest.mark.parametrize(
    ("temperature", "pascal"),
    [(-20, 103.24), (-5, 401.74), (5, 872.6), (25, 3169.7), (50, 12351.3), (100, 101418.0)],
)
def test_saturation_pressure(temperature: float, pascal: float) -> None:
    """claim:E-107 (read): ASHRAE 2017 table 3, 300 ppm; psychrolib as a second witness."""
    psychrolib.SetUnitSystem(psychrolib.SI)
    found = saturation_pressure_pa(temperature)
    assert found == pytest.approx(pascal, rel=3e-4)
    assert found == pytest.approx(psychrolib.GetSatVapPres(temperature), rel=1e-6)


def test_vapour_pressure() -> None:
    """claim:E-111 (read): 2535.8 Pa at 25 C and 80 %."""
    assert vapour_pressure_pa(25, 0.8) == pytest.approx(2535.8, rel=3e-4)


@pytest.mark.parametrize(
    ("temperature", "humidity", "energy", "expected"),
    [
        (20, 0.50, 100, 1.000),
        (15, 0.50, 100, 2.038),
        (10, 0.50, 100, 4.259),
        (25, 0.50, 100, 0.503),
        (30, 0.50, 100, 0.258),
        (15, 0.50, 70, 1.646),
        (20, 0.25, 70, 2.462),
        (20, 0.65, 100, 0.711),
        (16, 0.45, 100, 2.023),
    ],
)
def test_lifetime_multiplier(
    temperature: float, humidity: float, energy: float, expected: float
) -> None:
    """W-29 to W-34, 0.5 % (formula from memory, E-097)."""
    assert lifetime_multiplier(temperature, humidity, energy) == pytest.approx(expected, rel=5e-3)


def test_preservation_index() -> None:
    """W-35, W-36, 1 % (formula from memory, E-098); list values 39 and 333 (E-099, read)."""
    assert preservation_index_years(20, 0.50) == pytest.approx(44.6, rel=0.01)
    assert preservation_index_years(20, 0.45) == pytest.approx(51.1, rel=0.01)
    assert preservation_index_years(21.11, 0.50) == pytest.approx(38.9, rel=0.01)
    assert preservation_index_years(4.44, 0.50) == pytest.approx(341, rel=0.01)
    assert preservation_index_years(4.44, 0.50) == pytest.approx(333, rel=0.03)


def test_costume_box_in_a_shock() -> None:
    """W-42: 2 kg in a 40 g shock, 785 N."""
    assert peak_force_n(2, 40) == pytest.approx(785, abs=0.5)
    assert math.isclose(peak_force_n(2, 1), 19.6, abs_tol=0.05)
