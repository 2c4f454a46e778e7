"""Display rotation: how many days a light budget allows, and whether a plan holds it."""

from __future__ import annotations

import itertools
import math
from collections.abc import Sequence
from dataclasses import dataclass

from leastwise.graph.physics.bounds import PhysicsInputError, within
from leastwise.graph.physics.light import dose_lx_h

__all__ = [
    "DisplayPeriod",
    "Lighting",
    "RotationCheck",
    "RotationPlan",
    "check_plan",
    "plan_rotation",
]

DAYS_PER_YEAR = 365.0


@dataclass(frozen=True, slots=True)
class Lighting:
    """The light of a place of display, and the light that still falls at rest."""

    illuminance_lx: float
    hours_per_day: float
    rest_illuminance_lx: float = 0.0
    rest_hours_per_day: float = 0.0

    def __post_init__(self) -> None:
        within("illuminance_lx", self.illuminance_lx, 0, 200_000)
        within("hours_per_day", self.hours_per_day, 0, 24)
        within("rest_illuminance_lx", self.rest_illuminance_lx, 0, 200_000)
        within("rest_hours_per_day", self.rest_hours_per_day, 0, 24)

    @property
    def dose_lx_h_per_day(self) -> float:
        """The dose of a day on show."""
        return dose_lx_h(self.illuminance_lx, self.hours_per_day)

    @property
    def rest_dose_lx_h_per_day(self) -> float:
        """The dose of a day at rest."""
        return dose_lx_h(self.rest_illuminance_lx, self.rest_hours_per_day)


@dataclass(frozen=True, slots=True)
class DisplayPeriod:
    """A stretch of days on show, from the start of the plan."""

    start_day: int
    days: int

    def __post_init__(self) -> None:
        within("start_day", self.start_day, 0, 1e6)
        within("days", self.days, 1, 1e6)


@dataclass(frozen=True, slots=True)
class RotationCheck:
    """What a plan gives, year by year, against its budget; with the series for a drawing."""

    holds: bool
    budget_lx_h_per_year: float
    dose_lx_h_by_year: tuple[float, ...]
    days_shown_by_year: tuple[int, ...]
    days: tuple[int, ...]
    cumulative_dose_lx_h: tuple[float, ...]
    rests_on: tuple[str, ...]
    caveats: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class RotationPlan:
    """A plan that holds a budget over a cycle of years: show, then rest, then again."""

    show_days: int
    rest_days: int
    cycle_years: int
    dose_lx_h_per_cycle: float
    budget_lx_h_per_cycle: float
    periods: tuple[DisplayPeriod, ...]
    rests_on: tuple[str, ...]
    caveats: tuple[str, ...]


RESTS_ON = (
    "claim:E-033 (read): dose is light times time",
    "claim:E-038 (read): a rest only puts off the next withdrawal; nothing recovers",
    "claim:E-056 (practice): usual forms of policy",
)
CAVEATS = (
    "Days of mounting, photography and cleaning light count too; add them.",
    "A budget that holds still spends: fading goes on at the rate the budget allows.",
)


def plan_rotation(
    lighting: Lighting, budget_lx_h_per_year: float, cycle_years: int = 1, cycles: int = 1
) -> RotationPlan:
    """Return the longest display per cycle that holds the budget averaged over the cycle.

    days = (budget - rest dose of the whole cycle)/(show dose - rest dose of a day), rounded
    down. A cycle of several years saves the budget up and spends it in one showing.

    Raises:
        PhysicsInputError: input out of range, or the light at rest alone breaks the budget.

    >>> plan_rotation(Lighting(50, 8), 15_000).show_days
    37
    >>> plan_rotation(Lighting(50, 8), 15_000, cycle_years=4).show_days
    150

    """
    within("cycle_years", cycle_years, 1, 100)
    within("cycles", cycles, 1, 1000)
    budget = within("budget_lx_h_per_year", budget_lx_h_per_year, 0, 1e9) * cycle_years
    length = int(DAYS_PER_YEAR) * int(cycle_years)
    resting = lighting.rest_dose_lx_h_per_day
    if resting * length > budget:
        raise PhysicsInputError(
            "rest_illuminance_lx",
            lighting.rest_illuminance_lx,
            "less light at rest than the budget",
        )
    extra = lighting.dose_lx_h_per_day - resting
    days = length if extra <= 0 else min(length, math.floor((budget - resting * length) / extra))
    starts = range(0, length * int(cycles), length)
    return RotationPlan(
        show_days=days,
        rest_days=length - days,
        cycle_years=int(cycle_years),
        dose_lx_h_per_cycle=days * extra + resting * length,
        budget_lx_h_per_cycle=budget,
        periods=tuple(DisplayPeriod(start, days) for start in starts) if days else (),
        rests_on=RESTS_ON,
        caveats=CAVEATS,
    )


def _refuse_overlap(ordered: Sequence[DisplayPeriod]) -> None:
    for one, two in itertools.pairwise(ordered):
        if two.start_day < one.start_day + one.days:
            raise PhysicsInputError("periods", two, "periods that don't overlap")


def check_plan(
    lighting: Lighting,
    periods: Sequence[DisplayPeriod],
    budget_lx_h_per_year: float,
    years: int,
) -> RotationCheck:
    """Return the dose of each year of a plan and whether every year holds the budget.

    Raises:
        PhysicsInputError: input out of range, or two periods overlap.

    >>> check_plan(Lighting(50, 8), [DisplayPeriod(0, 300)], 150_000, 1).dose_lx_h_by_year
    (120000.0,)

    """
    within("years", years, 1, 200)
    budget = within("budget_lx_h_per_year", budget_lx_h_per_year, 0, 1e9)
    ordered = sorted(periods, key=lambda period: period.start_day)
    _refuse_overlap(ordered)
    year = int(DAYS_PER_YEAR)
    shown = [_days_shown(ordered, year * n, year * (n + 1)) for n in range(years)]
    doses = [_dose(lighting, days, year) for days in shown]
    edges = sorted({0, year * years, *_edges(ordered, year * years)})
    return RotationCheck(
        holds=all(dose <= budget * (1 + 1e-12) for dose in doses),
        budget_lx_h_per_year=budget,
        dose_lx_h_by_year=tuple(doses),
        days_shown_by_year=tuple(shown),
        days=tuple(edges),
        cumulative_dose_lx_h=tuple(
            _dose(lighting, _days_shown(ordered, 0, edge), edge) for edge in edges
        ),
        rests_on=RESTS_ON,
        caveats=CAVEATS,
    )


def _dose(lighting: Lighting, shown: int, length: int) -> float:
    """Return the dose of a stretch of days of which some were on show."""
    return shown * lighting.dose_lx_h_per_day + (length - shown) * lighting.rest_dose_lx_h_per_day


def _days_shown(periods: Sequence[DisplayPeriod], start: int, end: int) -> int:
    """Count the days on show from start to before end."""
    return sum(
        max(0, min(end, period.start_day + period.days) - max(start, period.start_day))
        for period in periods
    )


def _edges(periods: Sequence[DisplayPeriod], end: int) -> list[int]:
    """Return the days on which something changes, for a drawing of broken lines."""
    edges = [period.start_day for period in periods]
    edges += [period.start_day + period.days for period in periods]
    return [edge for edge in edges if edge <= end]
