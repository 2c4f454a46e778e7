"""Vapour resistances: membranes, films, fabrics, a pierced membrane, and unit conversions.

Resistance in s/m relates a flux in g/(m2 s) to a difference of concentration in g/m3
(claim:W-117, memory). For the felt laminate of the trade no figure was found: its range is an
estimate (claim:W-124, memory), to be measured by the upright cup.
"""

from __future__ import annotations

from dataclasses import dataclass

from leastwise.graph.physics.air import (
    VAPOUR_GAS_CONSTANT,
    ZERO_C_IN_K,
    magnus_saturation_pressure_pa,
    still_air_resistance_s_m,
)
from leastwise.graph.physics.bounds import PhysicsInputError, Range, within

__all__ = [
    "FILMS",
    "MEMBRANES",
    "WEAVES",
    "MembraneKind",
    "fabric_resistance_s_m",
    "film_resistance_s_m",
    "membrane_kind",
    "perms_to_resistance_s_m",
    "pierced_resistance_s_m",
    "ret_to_resistance_s_m",
]


@dataclass(frozen=True, slots=True)
class MembraneKind:
    """A kind of membrane and the range in which its resistance is believed to lie."""

    name: str
    resistance_s_m: Range
    rests_on: str
    caveat: str


MEMBRANES = {
    kind.name: kind
    for kind in (
        MembraneKind(
            "felt laminate",
            Range(20, 100),
            "claim:W-124 (memory): 20-100 s/m, an estimate",
            "No source found for the resistance of the conservation felt laminate: measure it by "
            "the upright cup (W-145), less the still air in the cup (W-147).",
        ),
        MembraneKind(
            "garment laminate",
            Range(100, 1800),
            "claim:W-121 (read, labels of a chart only): up to the chart's 1800 s/m",
            "No figure found for garment laminates; their hydrophilic layer is slower, more so "
            "when dry or cold (W-119, W-120).",
        ),
        MembraneKind(
            "spunbonded polyolefin",
            Range(700, 25_600),
            "claim:W-131 (memory): 1000-1700 g/m2 a day; claim:W-130 (read): 5 perms",
            "Figures depend on style and on the test, whose climate is not stated; no source "
            "found that settles it.",
        ),
    )
}
#: Permeability in g mil/(100 in2 day) at 38 C, 90 % RH; claims W-132 to W-135 (read).
FILMS = {
    "LDPE": Range(1, 2),
    "HDPE": Range(0.3, 0.6),
    "polyester": Range(1, 2),
    "polypropylene": Range(0.2, 0.7),
}
#: Resistance as multiples of as much still air; claim:W-149 (read).
WEAVES = {"ordinary": Range(2, 4), "tight": Range(4, 8)}


def membrane_kind(name: str) -> MembraneKind:
    """Return a kind of membrane by its name.

    >>> membrane_kind("felt laminate").resistance_s_m
    Range(low=20, high=100)
    """
    if name not in MEMBRANES:
        raise PhysicsInputError("membrane", name, "one of " + ", ".join(MEMBRANES))
    return MEMBRANES[name]


def film_resistance_s_m(film: str, thickness_um: float) -> Range:
    """Return the resistance range of a film: concentration difference over flux, in s/m.

    R = dc/F with dc at 38 C and 90 % RH, F = P/thickness; one g mil/(100 in2 day) through
    25.4 um is 15.5 g/m2 a day.

    >>> resistance = film_resistance_s_m("LDPE", 25.4)
    >>> round(resistance.low, -4), round(resistance.high, -4)
    (120000.0, 230000.0)
    """
    if film not in FILMS:
        raise PhysicsInputError("film", film, "one of " + ", ".join(FILMS))
    thickness = within("thickness_um", thickness_um, 1, 5000)
    pressure = 0.9 * magnus_saturation_pressure_pa(38)
    difference_g_m3 = 1000 * pressure / (VAPOUR_GAS_CONSTANT * (38 + ZERO_C_IN_K))
    unit_flux = 1 / (100 * 0.0254**2) / 86_400 * (25.4 / thickness)
    permeability = FILMS[film]
    low, high = (difference_g_m3 / (unit_flux * p) for p in (permeability.high, permeability.low))
    return Range(low, high)


def fabric_resistance_s_m(
    thickness_mm: float, weave: str = "ordinary", temperature_c: float = 20.0
) -> Range:
    """Return 2-4 (ordinary) or 4-8 (tight) times the resistance of as much still air.

    claim:W-149 (read), claim:D-06.

    >>> resistance = fabric_resistance_s_m(0.3)
    >>> round(resistance.low), round(resistance.high)
    (25, 50)
    """
    if weave not in WEAVES:
        raise PhysicsInputError("weave", weave, "one of " + ", ".join(WEAVES))
    air = still_air_resistance_s_m(thickness_mm, temperature_c)
    return Range(WEAVES[weave].low * air, WEAVES[weave].high * air)


def ret_to_resistance_s_m(ret_m2_pa_w: float) -> float:
    """Return Ret x latent heat/(R T) at 35 C, in s/m (claim:D-05; ISO 11092, W-140).

    >>> round(ret_to_resistance_s_m(1)), round(ret_to_resistance_s_m(20))
    (17, 340)
    """
    ret = within("ret_m2_pa_w", ret_m2_pa_w, 0, 700)
    latent_j_kg = 0.672 * 3600 * 1000
    return ret * latent_j_kg / (VAPOUR_GAS_CONSTANT * (35 + ZERO_C_IN_K))


def perms_to_resistance_s_m(perms: float, temperature_c: float = 23.0) -> float:
    """Return 1/(perms x 5.72e-11 kg/(m2 s Pa) x R T), in s/m (claim:D-10).

    >>> round(perms_to_resistance_s_m(5), -2)
    25600.0
    """
    permeance = within("perms", perms, 1e-6, 1e6) * 5.72e-11
    kelvin = within("temperature_c", temperature_c, -20, 60) + ZERO_C_IN_K
    return 1 / (permeance * VAPOUR_GAS_CONSTANT * kelvin)


def pierced_resistance_s_m(
    resistance_s_m: float, hole_fraction: float, depth_mm: float = 0.5, temperature_c: float = 20.0
) -> float:
    """Return the resistance of a membrane with holes, sound part and holes side by side.

    A hole resists as still air of its depth. This is an upper bound of what a hole does to the
    mean: the crowding of vapour at its mouth is left out (the rings of radial.py resolve it).
    Liquid water can pass a hole as well; that isn't counted.

    >>> round(pierced_resistance_s_m(100, 0), 1), round(pierced_resistance_s_m(500, 0.05))
    (100.0, 233)
    """
    sound = within("resistance_s_m", resistance_s_m, 0.1, 1e8)
    share = within("hole_fraction", hole_fraction, 0, 1)
    # A hole is never tighter than the membrane it replaces.
    hole = max(0.1, min(sound, still_air_resistance_s_m(depth_mm, temperature_c)))
    return 1 / ((1 - share) / sound + share / hole)
