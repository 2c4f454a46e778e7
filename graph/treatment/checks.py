"""Whether an entry of a treatment record can be right: units, what is physically possible, days.

It is asked when an entry is written. What is already kept stays readable, whatever it says.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from datetime import date, timedelta
from typing import Any

from leastwise.graph.case.record import Case
from leastwise.graph.errors import Problem

__all__ = ["UNITS", "entry_problems"]


@dataclass(frozen=True, slots=True)
class Limits:
    """The lowest and highest value that a unit can have; *above* leaves the lowest itself out."""

    low: float
    high: float
    above: bool = False

    def hold(self, value: float) -> bool:
        """Return whether a value is possible."""
        return (value > self.low if self.above else value >= self.low) and value <= self.high

    def __str__(self) -> str:
        start = f"above {self.low:g}" if self.above else f"{self.low:g}"
        return f"{start} to {self.high:g}"


_LONG = 1e9
#: Quantity -> unit -> limits. Relative humidity and absolute zero by definition; the scale of pH
#: as it is used at the bench, 0 to 14 (common practice); 500 degrees as the most that any tool of
#: the trade has (common practice).
UNITS: dict[str, dict[str, Limits]] = {
    "rh": {"%": Limits(0, 100), "% RH": Limits(0, 100)},
    "temperature": {
        "°C": Limits(-273.15, 500),
        "K": Limits(0, 773.15),
        "°F": Limits(-459.67, 932),
    },
    "duration": {unit: Limits(0, _LONG, above=True) for unit in ("s", "min", "h", "d")},
    "weight": {unit: Limits(0, _LONG, above=True) for unit in ("mg", "g", "kg")},
    "ph": {"pH": Limits(0, 14)},
    "conductivity": {unit: Limits(0, _LONG) for unit in ("µS/cm", "mS/cm")},
}


def entry_problems(
    listing: str, entry: Mapping[str, Any], case: Case, today: date
) -> Iterator[Problem]:
    """Yield what can't be right in an entry of a list, with the path to its field."""
    if listing == "readings":
        yield from _reading(entry)
    if listing == "outcomes":
        yield from _outcome(entry, case)
    if listing != "follow_ups":
        yield from _day(listing, entry, today)


def _reading(entry: Mapping[str, Any]) -> Iterator[Problem]:
    quantity, unit, value = (entry.get(key) for key in ("quantity", "unit", "value"))
    known = UNITS.get(str(quantity))
    if known is None or not unit:
        return
    limits = known.get(str(unit))
    if limits is None:
        yield Problem("readings.unit", repr(unit), f"for this quantity {' or '.join(known)}")
    elif isinstance(value, (int, float)) and not limits.hold(value):
        yield Problem("readings.value", f"{value:g} {unit}", f"{limits} {unit}")


def _outcome(entry: Mapping[str, Any], case: Case) -> Iterator[Problem]:
    damage = next((d for d in case.damages if d.id == entry.get("damage")), None)
    if damage is None or entry.get("part") in damage.parts:
        return
    names = {part.id: part.name for part in case.parts}
    parts = " or ".join(names[one] for one in damage.parts)
    given = names.get(str(entry.get("part")), str(entry.get("part")))
    yield Problem("outcomes.part", given, f"for this damage {parts}")


def _day(listing: str, entry: Mapping[str, Any], today: date) -> Iterator[Problem]:
    """Yield a day that can't be one of work: it lies behind, or is today anywhere on earth."""
    try:
        day = date.fromisoformat(str(entry.get("date")))
    except ValueError:
        return
    if not date(1900, 1, 1) <= day <= today + timedelta(days=1):
        yield Problem(f"{listing}.date", day.isoformat(), f"a day from 1900 to {today.isoformat()}")
