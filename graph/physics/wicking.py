"""Liquid water in cloth: how far a front runs, how high it climbs, and how far its water reaches.

A front that is fed runs as the square root of time: l^2 = W t, with W = gamma r cos(theta)/(2 eta)
(Lucas and Washburn; recalled, memory). That the square of the height grows with time on cotton
cloth is read (claim:DP-013). Upright, its weight holds it back and it comes to rest at the height
2 gamma cos(theta)/(rho g R). Nobody can tell W of an old, finished or soiled cloth beforehand: it
is a wide range here, and a drop on a hidden spot tells more.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Final

from leastwise.graph.physics.bounds import Range, within, within_range

__all__ = [
    "SPREAD",
    "Front",
    "front_mm",
    "front_of",
    "front_upright_mm",
    "reach_beyond_mm",
    "soaked_s",
]

#: W in mm2/s: from cloth that hardly takes water to bleached cotton (recalled and practice; in line
#: with some 6 to 60 mm in a minute).
SPREAD: Final = Range(0.5, 50.0)
#: Water that wet cloth holds, g on each g of fibre (practice).
HOLDS: Final = Range(0.8, 2.0)


@dataclass(frozen=True, slots=True)
class Front:
    """How far liquid runs, as a range; lengths in mm, times in s."""

    after_s: float
    run_mm: Range
    soaks_through_s: Range
    wets_times_its_area: Range


def front_mm(time_s: float, spread_mm2_s: float) -> float:
    """Return how far a front has run that is fed all the time, sqrt(W t), in mm.

    >>> front_mm(60, 15)
    30.0
    """
    within("time_s", time_s, 0, 1e7)
    return math.sqrt(within("spread_mm2_s", spread_mm2_s, 1e-6, 1e4) * time_s)


def front_upright_mm(time_s: float, spread_mm2_s: float, rest_mm: float) -> float:
    """Return how high a front has climbed that would come to rest at *rest_mm*, in mm.

    Solves dl/dt = W/2 (1/l - 1/h) exactly: l = h (1 + w(-exp(-1 - W t/(2 h^2)))), w the principal
    branch of Lambert's function. For short times it is sqrt(W t).

    >>> round(front_upright_mm(1e6, 15, 100), 1), round(front_upright_mm(0.01, 15, 1000), 2)
    (100.0, 0.39)
    """
    from scipy.special import lambertw  # noqa: PLC0415 - slow to load

    within("time_s", time_s, 0, 1e7)
    height = within("rest_mm", rest_mm, 0.1, 1e5)
    speed = within("spread_mm2_s", spread_mm2_s, 1e-6, 1e4)
    exponent = -1 - speed * time_s / (2 * height**2)
    return height * (1 + float(lambertw(-math.exp(exponent)).real))


def soaked_s(thickness_mm: float, spread_mm2_s: float) -> float:
    """Return how long a front takes through a thickness, d^2/W, in s.

    >>> soaked_s(0.5, 5)
    0.05
    """
    return within("thickness_mm", thickness_mm, 0, 100) ** 2 / spread_mm2_s


def reach_beyond_mm(half_width_mm: float, times_its_area: float) -> float:
    """Return how far past a round pad its water can reach once it has all gone over, in mm.

    Water for *times_its_area* times the pad's own area wets a disc of radius a sqrt(times).

    >>> reach_beyond_mm(50, 4), reach_beyond_mm(50, 0.5)
    (50.0, 0.0)
    """
    radius = within("half_width_mm", half_width_mm, 0, 1e4)
    return max(0.0, radius * (math.sqrt(within("times_its_area", times_its_area, 0, 1e4)) - 1))


def front_of(
    after_s: float, thickness_mm: Range, areal_density_g_m2: Range, water_g_m2: Range
) -> Front:
    """Return how far liquid runs in a cloth from a pad that holds so much water, with its range.

    Raises:
        PhysicsInputError: a thickness, weight or water that can't be.

    """
    within_range("thickness_mm", thickness_mm, 0, 100)
    within_range("areal_density_g_m2", areal_density_g_m2, 0.1, 20_000)
    within_range("water_g_m2", water_g_m2, 0, 20_000)
    least = water_g_m2.low / (areal_density_g_m2.high * HOLDS.high)
    most = water_g_m2.high / (areal_density_g_m2.low * HOLDS.low)
    return Front(
        after_s=after_s,
        run_mm=Range(front_mm(after_s, SPREAD.low), front_mm(after_s, SPREAD.high)),
        soaks_through_s=Range(
            soaked_s(thickness_mm.low, SPREAD.high), soaked_s(thickness_mm.high, SPREAD.low)
        ),
        wets_times_its_area=Range(least, most),
    )
