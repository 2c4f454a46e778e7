"""Moist air: saturation, dew point, humidity ratio, and RH when the temperature changes.

Saturation pressure is the Hyland-Wexler form of ASHRAE Fundamentals 2017, ch. 1, eq. 5 and 6.
Its coefficients are recalled (memory); it reproduces the six ASHRAE table values of claim:E-107
(read) within 300 ppm. Vapour is taken as an ideal gas; the humidity ratio is then 0.5-1 % below
the ASHRAE table (claim:E-108).
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import lru_cache

from leastwise.graph.physics.bounds import PhysicsInputError, within

__all__ = [
    "STANDARD_PRESSURE_PA",
    "SurfaceAir",
    "absolute_humidity_g_m3",
    "dew_point_c",
    "diffusion_coefficient_m2_s",
    "humidity_ratio",
    "magnus_dew_point_c",
    "magnus_saturation_pressure_pa",
    "relative_humidity_at",
    "saturation_concentration_g_m3",
    "saturation_pressure_pa",
    "still_air_resistance_s_m",
    "surface_air",
    "vapour_pressure_pa",
]

STANDARD_PRESSURE_PA = 101_325.0
ZERO_C_IN_K = 273.15
#: Specific gas constant of water vapour, J/(kg K); claim:W-117 (memory, ideal gas).
VAPOUR_GAS_CONSTANT = 461.5
#: Ratio of the molar masses of water and dry air; ASHRAE 2017, in section 8 at W-22.
MOLAR_MASS_RATIO = 0.621945
#: Hyland-Wexler over ice: c/T + c0 + c1 T + c2 T2 + c3 T3 + c4 T4 + ln T coefficient.
OVER_ICE = (-5.6745359e3, 6.3925247, -9.677843e-3, 6.2215701e-7, 2.0747825e-9, -9.484024e-13)
OVER_ICE_LN = 4.1635019
OVER_WATER = (-5.8002206e3, 1.3914993, -4.8640239e-2, 4.1764768e-5, -1.4452093e-8, 0.0)
OVER_WATER_LN = 6.5459673


def saturation_pressure_pa(temperature_c: float) -> float:
    """Return the saturation vapour pressure over water, or over ice below 0 C, in Pa.

    ln p = a/T + b + c T + d T^2 + e T^3 + f T^4 + g ln T, T in K (Hyland-Wexler; ASHRAE 2017).
    Accepts -50 to 150 C; within 300 ppm of claim:E-107 (read).

    Raises:
        PhysicsInputError: temperature out of range.

    >>> round(saturation_pressure_pa(25), 2), round(saturation_pressure_pa(-20), 2)
    (3169.22, 103.26)

    """
    kelvin = within("temperature_c", temperature_c, -50, 150) + ZERO_C_IN_K
    over, ln_factor = (OVER_WATER, OVER_WATER_LN) if temperature_c > 0 else (OVER_ICE, OVER_ICE_LN)
    series = sum(factor * kelvin**power for power, factor in enumerate(over[1:]))
    return math.exp(over[0] / kelvin + series + ln_factor * math.log(kelvin))


def magnus_saturation_pressure_pa(temperature_c: float) -> float:
    """Return 611.2 exp(17.62 t/(243.12 + t)) in Pa (claim:W-112, read; claim:E-112, memory).

    Kept as the short form with which claims D-01 to D-06 were worked out; -40 to 50 C, under
    0.4 % (claim:W-113).

    >>> round(magnus_saturation_pressure_pa(20))
    2333
    """
    t = within("temperature_c", temperature_c, -40, 50)
    return 611.2 * math.exp(17.62 * t / (243.12 + t))


def vapour_pressure_pa(temperature_c: float, relative_humidity: float) -> float:
    """Return RH (fraction) times the saturation pressure, in Pa.

    >>> round(vapour_pressure_pa(25, 0.80), 1)
    2535.4
    """
    share = within("relative_humidity", relative_humidity, 0, 1)
    return share * saturation_pressure_pa(temperature_c)


def dew_point_c(temperature_c: float, relative_humidity: float) -> float:
    """Return the dew point (frost point below 0 C) in C, by root-finding on the saturation curve.

    Accepts -40 to 100 C and a vapour pressure not below saturation at -50 C.

    Raises:
        PhysicsInputError: input out of range, or air too dry for a dew point above -50 C.

    >>> round(dew_point_c(20, 0.50), 2), round(dew_point_c(20, 0.65), 2)
    (9.27, 13.23)

    """
    from scipy.optimize import brentq  # noqa: PLC0415 - slow to load, and few ask for a dew point

    within("temperature_c", temperature_c, -40, 100)
    pressure = vapour_pressure_pa(temperature_c, relative_humidity)
    low, high = -50.0, float(temperature_c)
    if pressure < saturation_pressure_pa(low):
        raise PhysicsInputError(
            "relative_humidity", relative_humidity, "air with a dew point above -50 C"
        )
    if saturation_pressure_pa(high) <= pressure:
        return high
    found: float = brentq(lambda t: saturation_pressure_pa(t) - pressure, low, high, xtol=1e-11)
    return found


def magnus_dew_point_c(temperature_c: float, relative_humidity: float) -> float:
    """Return 243.12 g/(17.62 - g), g = ln RH + 17.62 t/(243.12 + t), in C (claim:W-116, read).

    >>> round(magnus_dew_point_c(20, 0.50), 2)
    9.26
    """
    t = within("temperature_c", temperature_c, -40, 50)
    gamma = math.log(within("relative_humidity", relative_humidity, 1e-3, 1))
    gamma += 17.62 * t / (243.12 + t)
    return 243.12 * gamma / (17.62 - gamma)


def humidity_ratio(
    temperature_c: float, relative_humidity: float, pressure_pa: float = STANDARD_PRESSURE_PA
) -> float:
    """Return kg of vapour per kg of dry air, 0.621945 p/(P - p).

    Raises:
        PhysicsInputError: input out of range, or vapour pressure not below air pressure.

    >>> round(1000 * humidity_ratio(20, 0.50), 2)
    7.26

    """
    within("pressure_pa", pressure_pa, 50_000, 120_000)
    vapour = vapour_pressure_pa(temperature_c, relative_humidity)
    if vapour >= pressure_pa:
        raise PhysicsInputError("pressure_pa", pressure_pa, "a pressure above the vapour's own")
    return MOLAR_MASS_RATIO * vapour / (pressure_pa - vapour)


def absolute_humidity_g_m3(temperature_c: float, relative_humidity: float) -> float:
    """Return grams of vapour in one cubic metre, 1000 p/(461.5 T) (claim:W-117).

    >>> round(absolute_humidity_g_m3(20, 0.50), 2)
    8.64
    """
    vapour = vapour_pressure_pa(temperature_c, relative_humidity)
    return 1000 * vapour / (VAPOUR_GAS_CONSTANT * (temperature_c + ZERO_C_IN_K))


@lru_cache(maxsize=4096)
def saturation_concentration_g_m3(temperature_c: float) -> float:
    """Return the vapour concentration at 100 % RH in g/m3.

    >>> round(saturation_concentration_g_m3(20), 1)
    17.3
    """
    return absolute_humidity_g_m3(temperature_c, 1.0)


def relative_humidity_at(
    temperature_c: float, relative_humidity: float, other_temperature_c: float
) -> float:
    """Return the RH of the same air at another temperature, vapour pressure kept.

    May exceed 1: then water condenses at that temperature.

    >>> round(relative_humidity_at(0, 0.80, 20), 3)
    0.209
    """
    vapour = vapour_pressure_pa(temperature_c, relative_humidity)
    return vapour / saturation_pressure_pa(other_temperature_c)


@dataclass(frozen=True, slots=True)
class SurfaceAir:
    """Air against a surface of another temperature."""

    surface_temperature_c: float
    relative_humidity: float
    dew_point_c: float
    condenses: bool
    mould_watch: bool
    margin_k: float
    rests_on: tuple[str, ...]
    caveats: tuple[str, ...]


def surface_air(
    temperature_c: float, relative_humidity: float, surface_temperature_c: float
) -> SurfaceAir:
    """Return RH at a surface, its distance from the dew point, and whether to watch for mould.

    Mould watch from 70 % RH at the surface (claim:W-194, read; claim:E-085, read).

    >>> air = surface_air(20, 0.50, 15)
    >>> round(air.relative_humidity, 3), air.condenses, air.mould_watch
    (0.686, False, False)
    """
    dew = dew_point_c(temperature_c, relative_humidity)
    at_surface = relative_humidity_at(temperature_c, relative_humidity, surface_temperature_c)
    return SurfaceAir(
        surface_temperature_c=float(surface_temperature_c),
        relative_humidity=at_surface,
        dew_point_c=dew,
        condenses=at_surface >= 1,
        mould_watch=at_surface >= 0.70,
        margin_k=surface_temperature_c - dew,
        rests_on=(
            "claim:E-107 (read): saturation pressure, ASHRAE 2017",
            "claim:W-194 (read): surface RH of 70 % or more is linked with mould",
        ),
        caveats=("The surface temperature is taken as given; measure it at the coldest place.",),
    )


@lru_cache(maxsize=4096)
def diffusion_coefficient_m2_s(
    temperature_c: float, pressure_pa: float = STANDARD_PRESSURE_PA
) -> float:
    """Return 2.12e-5 (T/273.15)^1.75 (101324.6/P) m2/s for vapour in air (claim:W-108, read).

    Other forms of the sheet (claim:W-110, W-111) are up to 15 % higher at 25 C.

    >>> round(1e5 * diffusion_coefficient_m2_s(25), 3)
    2.471
    """
    kelvin = within("temperature_c", temperature_c, -20, 60) + ZERO_C_IN_K
    within("pressure_pa", pressure_pa, 50_000, 120_000)
    return 2.12e-5 * math.pow(kelvin / ZERO_C_IN_K, 1.75) * (101_324.6 / pressure_pa)


def still_air_resistance_s_m(thickness_mm: float, temperature_c: float = 20.0) -> float:
    """Return the vapour resistance of still air, thickness over diffusion coefficient, in s/m.

    >>> round(still_air_resistance_s_m(1, 20), 1), round(still_air_resistance_s_m(19, 20), -1)
    (41.7, 790.0)
    """
    thickness = within("thickness_mm", thickness_mm, 0, 1000)
    return thickness * 1e-3 / diffusion_coefficient_m2_s(temperature_c)
