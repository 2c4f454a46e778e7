"""Chemical lifetime and mould: how long warmth and damp matter.

Lifetime multiplier and Preservation Index are recalled formulas (claims E-097, E-098, memory);
the mould window rests on two recalled curves that differ (claims E-091, W-196) and two read
limits (claims M-068, W-188). All answers here are orders of magnitude.
"""

from __future__ import annotations

import itertools
import math
from dataclasses import dataclass

from leastwise.graph.physics.bounds import Band, within

__all__ = [
    "Lifetime",
    "MouldWindow",
    "lifetime_multiplier",
    "lifetime_multiplier_band",
    "mould_window",
    "preservation_index_years",
]

#: J/(mol K); claim:E-094 (read).
GAS_CONSTANT = 8.314
ZERO_C_IN_K = 273.15


def lifetime_multiplier(
    temperature_c: float, relative_humidity: float, activation_energy_kj_mol: float = 100.0
) -> float:
    """Return LM = (0.50/RH)^1.3 exp[(Ea/R)(1/T - 1/293.15)], relative to 20 C, 50 % RH.

    claim:E-097 (memory: Michalski 2002; Martens 2012). Ea 100 kJ/mol for cellulose and in
    general, 70 for yellowing of varnish. Not meant below 10 % RH.

    >>> round(lifetime_multiplier(15, 0.50), 3), round(lifetime_multiplier(20, 0.65), 3)
    (2.038, 0.711)
    """
    kelvin = within("temperature_c", temperature_c, -30, 60) + ZERO_C_IN_K
    share = within("relative_humidity", relative_humidity, 0.10, 1)
    energy = within("activation_energy_kj_mol", activation_energy_kj_mol, 40, 150) * 1000
    warmth = math.exp(energy / GAS_CONSTANT * (1 / kelvin - 1 / 293.15))
    return math.pow(0.50 / share, 1.3) * warmth


@dataclass(frozen=True, slots=True)
class Lifetime:
    """Lifetime relative to 20 C and 50 % RH, as a band over the activation energy."""

    multiplier: Band
    rests_on: tuple[str, ...]
    caveats: tuple[str, ...]


def lifetime_multiplier_band(temperature_c: float, relative_humidity: float) -> Lifetime:
    """Return the multiplier for activation energies of 70 to 100 kJ/mol.

    >>> lifetime_multiplier_band(15, 0.50).multiplier.in_words()
    'about 1.6 to 2 times'
    """
    ends = [lifetime_multiplier(temperature_c, relative_humidity, e) for e in (70.0, 100.0)]
    return Lifetime(
        multiplier=Band(min(ends), sum(ends) / 2, max(ends), "times"),
        rests_on=(
            "claim:E-094 (read): Arrhenius ratio",
            "claim:E-095 (read): life doubles for each 5 C drop",
            "claim:E-097 (memory): exponent 1.3 and activation energies 70-100 kJ/mol",
        ),
        caveats=(
            "A recalled formula for chemical decay; it says nothing of light, pests or handling.",
            "No activation energy for aged or weighted silk was found in the sources.",
        ),
    )


def preservation_index_years(temperature_c: float, relative_humidity: float) -> float:
    """Return PI = exp[(95220 - 134.9 RH)/(8.314 T) + 0.0284 RH - 28.023]/365 years (RH in %).

    claim:E-098 (memory; made for acetate film): 38.9 and 341 years where the published index
    says 39 and 333 (claim:E-099, read), so 2.5 % off in the cold.

    >>> round(preservation_index_years(20, 0.50), 1)
    44.6
    """
    kelvin = within("temperature_c", temperature_c, -20, 60) + ZERO_C_IN_K
    percent = 100 * within("relative_humidity", relative_humidity, 0.05, 0.95)
    exponent = (95_220 - 134.9 * percent) / (GAS_CONSTANT * kelvin) + 0.0284 * percent - 28.023
    return math.exp(exponent) / 365


#: (RH, days to visible mould near 25 C); claim:E-091 (memory, factor of 2 either way); the
#: point at 65 % is 'of the order of years', set at two.
FAST_CURVE = ((0.65, 730.0), (0.70, 100.0), (0.80, 10.0), (0.90, 2.0), (1.0, 1.0))
#: The same at 20 C; claim:W-196 (memory): 'about 2 days at saturation, a week at 90 %, a few
#: weeks at 80 %, months at 70 %'.
SLOW_CURVE = ((0.65, 1460.0), (0.70, 120.0), (0.80, 21.0), (0.90, 7.0), (1.0, 2.0))
UNLIKELY_BELOW = 0.60


def _days(curve: tuple[tuple[float, float], ...], share: float) -> float:
    """Interpolate the logarithm of the days, straight between the curve's points."""
    points = list(itertools.pairwise(curve))
    (x0, y0), (x1, y1) = next((pair for pair in points if share <= pair[1][0]), points[-1])
    part = (share - x0) / (x1 - x0)
    return math.exp(math.log(y0) + part * (math.log(y1) - math.log(y0)))


@dataclass(frozen=True, slots=True)
class MouldWindow:
    """How long a surface may stay at this RH before mould matters; None where unlikely."""

    relative_humidity: float
    days: Band | None
    bench_limit_h: float | None
    rests_on: tuple[str, ...]
    caveats: tuple[str, ...]


def mould_window(relative_humidity: float) -> MouldWindow:
    """Return days to visible mould on a sensitive surface at 20-25 C, and the bench's own limit.

    Low end: claim:E-091 halved; high end: claim:W-196 doubled (both memory). Below 60 % with
    moving air mould is unlikely (claim:M-068, W-188, read). From 75 % the bench rule caps the
    whole damp time at 24 h (claim:W-195, practice).

    >>> mould_window(0.55).days is None
    True
    >>> window = mould_window(0.90)
    >>> window.days.in_words(), window.bench_limit_h
    ('about 1 to 14 days', 24.0)
    """
    share = within("relative_humidity", relative_humidity, 0, 1)
    days = None
    if share >= UNLIKELY_BELOW:
        fast, slow = _days(FAST_CURVE, share), _days(SLOW_CURVE, share)
        days = Band(fast / 2, math.sqrt(fast * slow), slow * 2, "days")
    return MouldWindow(
        relative_humidity=share,
        days=days,
        bench_limit_h=24.0 if share >= 0.75 else None,
        rests_on=(
            "claim:M-068, claim:W-188 (read): 65-100 % favours mould, unlikely below 60 %",
            "claim:E-091, claim:W-196 (memory): two recalled curves, they differ by up to 3.5",
            "claim:W-195 (practice): under 24 h in total above 75 %",
        ),
        caveats=(
            "It is the RH at the surface that counts, not that of the room (claim:E-085).",
            "No source for other temperatures was found; growth is possible below 10 C (W-193).",
            "Below 65 % and at 100 % the curves are extended without a source.",
        ),
    )
