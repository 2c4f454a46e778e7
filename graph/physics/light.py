"""Light: dose, yearly budget by category, years to a just noticeable fade, and UV.

Light damage adds up and never recovers (claim:E-038, read), so everything here is a dose. The
doses for a just noticeable fade and the budgets are recalled (claims E-003 to E-005 and E-015 to
E-022, memory: CIE 157:2004; Michalski, CCI) and marked so in every answer; the doses reproduce
the published year ranges (claim:E-025).
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from enum import Enum

from leastwise.graph.physics.bounds import Band, PhysicsInputError, joined, within

__all__ = [
    "BLUE_WOOL_DOSES_MLX_H",
    "BUDGETS",
    "Budget",
    "FadeTime",
    "LightRule",
    "LitPart",
    "Responsivity",
    "UvDose",
    "dose_lx_h",
    "fade_time",
    "hours_within_budget",
    "responsivity_of",
    "ruling_part",
    "uv_dose",
    "years_to_fade",
]


class Responsivity(Enum):
    """The four responsivity categories of CIE 157:2004 (claim:E-001, read)."""

    R0 = "irresponsive"
    R1 = "low"
    R2 = "medium"
    R3 = "high"


@dataclass(frozen=True, slots=True)
class Budget:
    """What a category may get; None means no limit is set for light damage."""

    category: Responsivity
    illuminance_lx: float | None
    dose_lx_h_per_year: float | None
    claim: str


#: Limits by category, CIE 157:2004 as recalled.
BUDGETS = {
    Responsivity.R0: Budget(Responsivity.R0, None, None, "claim:E-002 (memory)"),
    Responsivity.R1: Budget(Responsivity.R1, 200.0, 600_000.0, "claim:E-003 (memory)"),
    Responsivity.R2: Budget(Responsivity.R2, 50.0, 150_000.0, "claim:E-004 (memory)"),
    Responsivity.R3: Budget(Responsivity.R3, 50.0, 15_000.0, "claim:E-005 (memory)"),
}

#: ISO blue wool number: dose for a just noticeable fade in Mlx.h with UV, and without UV.
#: claim:E-015 to claim:E-022 (memory).
BLUE_WOOL_DOSES_MLX_H = {
    1: (0.22, 0.3),
    2: (0.6, 1.0),
    3: (1.5, 3.0),
    4: (3.5, 10.0),
    5: (8.0, 30.0),
    6: (20.0, 100.0),
    7: (50.0, 300.0),
    8: (120.0, 1100.0),
}


def dose_lx_h(illuminance_lx: float, hours: float) -> float:
    """Return illuminance times time in lx.h (reciprocity, claim:E-033, read).

    >>> dose_lx_h(50, 10) == dose_lx_h(250, 2) == 500
    True
    """
    light = within("illuminance_lx", illuminance_lx, 0, 200_000)
    return light * within("hours", hours, 0, 1e7)


def hours_within_budget(illuminance_lx: float, budget_lx_h: float) -> float:
    """Return the hours until a dose is used up.

    >>> hours_within_budget(50, 15_000), hours_within_budget(50, 15_000) / 8
    (300.0, 37.5)
    """
    light = within("illuminance_lx", illuminance_lx, 0.1, 200_000)
    return within("budget_lx_h", budget_lx_h, 0, 1e10) / light


def responsivity_of(*, silk: bool, fugitive_dye: bool) -> Responsivity:
    """Return the category of a costume: R3 with silk or a fugitive dye, else R2.

    claim:E-004, claim:E-005 (memory, consequence for the tool).

    >>> responsivity_of(silk=True, fugitive_dye=False).name
    'R3'
    """
    return Responsivity.R3 if silk or fugitive_dye else Responsivity.R2


def years_to_fade(
    blue_wool: int, illuminance_lx: float, hours_per_year: float, *, uv_removed: bool
) -> float:
    """Return dose/(E h) years to one just noticeable fade for a blue wool class.

    Raises:
        PhysicsInputError: class not 1 to 8, or light or hours out of range.

    >>> round(years_to_fade(1, 50, 3000, uv_removed=False), 2)
    1.47

    """
    if blue_wool not in BLUE_WOOL_DOSES_MLX_H:
        raise PhysicsInputError("blue_wool", blue_wool, "a whole number from 1 to 8")
    within("hours_per_year", hours_per_year, 1, 8784)
    needed = BLUE_WOOL_DOSES_MLX_H[blue_wool][int(uv_removed)] * 1e6
    return hours_within_budget(illuminance_lx, needed) / hours_per_year


@dataclass(frozen=True, slots=True)
class FadeTime:
    """Years to one just noticeable fade, with the light it was asked for."""

    blue_wool: tuple[int, int]
    illuminance_lx: float
    hours_per_year: float
    years: Band
    rests_on: tuple[str, ...]
    caveats: tuple[str, ...]


def fade_time(
    blue_wool: tuple[int, int],
    illuminance_lx: float,
    hours_per_year: float,
    *,
    uv_removed: bool | None = None,
) -> FadeTime:
    """Return the years to a just noticeable fade as a band.

    The band runs over the classes given (most sensitive first) and, unless `uv_removed` is
    known, from UV-rich to UV-free light.

    >>> fade_time((1, 3), 50, 3000).years.in_words()
    'about 1.5 to 20 years'
    """
    first, last = blue_wool
    if first > last:
        raise PhysicsInputError("blue_wool", blue_wool, "two classes, most sensitive first")
    worst, best = (False, True) if uv_removed is None else (uv_removed, uv_removed)
    low = years_to_fade(first, illuminance_lx, hours_per_year, uv_removed=worst)
    high = years_to_fade(last, illuminance_lx, hours_per_year, uv_removed=best)
    return FadeTime(
        blue_wool=blue_wool,
        illuminance_lx=float(illuminance_lx),
        hours_per_year=float(hours_per_year),
        years=Band(low, (low * high) ** 0.5, high, "years"),
        rests_on=(
            f"claim:E-{14 + first:03d} to claim:E-{14 + last:03d} (memory): dose for a fade",
            "claim:E-033 (read): dose is light times time",
        ),
        caveats=(
            "The doses are recalled from Michalski's table; check them against the page.",
            "One dose per class is an idealisation: UV, humidity and more alter the rate (E-009).",
            "Steps between classes differ between sources: 2, or 2 to 3 (E-006, E-008).",
            "A dye that has faded fades slower, not never (E-047).",
        ),
    )


@dataclass(frozen=True, slots=True)
class LitPart:
    """One part of an object and its category; say whether that was measured or assumed."""

    name: str
    category: Responsivity
    measured: bool = False


@dataclass(frozen=True, slots=True)
class LightRule:
    """The budget of a whole object, ruled by its most sensitive part."""

    ruling: LitPart
    budget: Budget
    others: tuple[str, ...]
    rests_on: tuple[str, ...]
    caveats: tuple[str, ...]


def ruling_part(parts: Sequence[LitPart]) -> LightRule:
    """Return the budget of a mixed object: that of its most sensitive part (practice).

    >>> wool, silk = LitPart("wool", Responsivity.R2), LitPart("silk", Responsivity.R3)
    >>> rule = ruling_part([wool, silk])
    >>> rule.ruling.name, rule.budget.dose_lx_h_per_year
    ('silk', 15000.0)
    """
    if not parts:
        raise PhysicsInputError("parts", (), "at least one part")
    ruling = max(parts, key=lambda part: part.category.name)
    budget = BUDGETS[ruling.category]
    guessed = [part.name for part in parts if not part.measured]
    caveats = [f"Assumed, not measured: {', '.join(guessed)} (E-049)."] if guessed else []
    return LightRule(
        ruling=ruling,
        budget=budget,
        others=tuple(part.name for part in parts if part is not ruling),
        rests_on=joined(
            (f"{budget.claim}: budget, CIE 157:2004",),
            ("claim:E-001 (read): four categories",),
            ("common practice: the most sensitive part rules",),
        ),
        caveats=(*caveats, "The budget figures are recalled; check them against CIE 157."),
    )


@dataclass(frozen=True, slots=True)
class UvDose:
    """Ultraviolet power and dose, and where the power per lumen stands against the handouts."""

    irradiance_mw_m2: float
    dose_kj_m2: float
    verdict: str
    rests_on: tuple[str, ...]
    caveats: tuple[str, ...]


def uv_dose(illuminance_lx: float, uv_microwatt_per_lumen: float, hours: float) -> UvDose:
    """Return UV power E u in mW/m2 and dose in kJ/m2 (claim:E-030, read; arithmetic ours).

    Limits: 0-10 microwatt per lumen ideal, 75 at most (claim:E-029, read).

    >>> uv = uv_dose(100, 10, 3000)
    >>> uv.irradiance_mw_m2, round(uv.dose_kj_m2, 1), uv.verdict
    (1.0, 10.8, 'within the ideal of 0-10 microwatt per lumen')
    """
    light = within("illuminance_lx", illuminance_lx, 0, 200_000)
    share = within("uv_microwatt_per_lumen", uv_microwatt_per_lumen, 0, 5000)
    power = light * share / 1000
    if share <= 10:
        verdict = "within the ideal of 0-10 microwatt per lumen"
    elif share <= 75:
        verdict = "above the ideal, within the most of 75 microwatt per lumen"
    else:
        verdict = "above the most of 75 microwatt per lumen: filter"
    return UvDose(
        irradiance_mw_m2=power,
        dose_kj_m2=power * 1e-3 * within("hours", hours, 0, 1e7) * 3600 / 1000,
        verdict=verdict,
        rests_on=("claim:E-029, claim:E-030 (read)", "claim:E-027 (read): UV weakens fibres"),
        caveats=(
            "A ratio to light: the UV itself grows with the lux level (E-030).",
            "A filter doesn't excuse a higher light dose (E-026).",
        ),
    )
