"""Working time by size: the set-up of a technique, and its rate times the extent of the work.

Rates and general hours are data (``lw:rate``, ``lw:hours``; common practice). The extent is that
of the damage as it is recorded, or the size of the parts where a technique goes over all of them.
Where neither is recorded the general hours stand, and it is said for how small an extent they hold.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from leastwise.graph.case.parts import Part
from leastwise.graph.case.record import DamageFound, Extent
from leastwise.graph.knowledge.concepts import Technique
from leastwise.graph.knowledge.rates import CM2_IN_M2, IN_WORDS, Rate

__all__ = ["WorkingTime", "share_of_area", "size_of", "working_time"]

#: Spans of hours, at the least and at the most.
Span = tuple[float, float]


@dataclass(frozen=True, slots=True)
class WorkingTime:
    """Hours of one technique on one problem, at the least and at the most.

    *set_up* is the share of them that doesn't grow with the work. *extent* in *unit* is what the
    rate was multiplied with, 0 where no size is recorded or no rate is known; *in_words* says
    what the hours rest on. *over_parts* means that a part is gone over once, whatever is wrong
    with it.
    """

    hours: Span
    set_up: Span
    extent: float
    unit: str
    over_parts: bool
    in_words: str

    @property
    def by_size(self) -> bool:
        """Whether the hours follow from a recorded size."""
        return self.extent > 0


def working_time(technique: Technique, problem: DamageFound, parts: Sequence[Part]) -> WorkingTime:
    """Return the hours of a technique on a problem; *parts* are those that it concerns."""
    for rate in technique.rates:
        extent, basis = _extent(rate, problem, parts)
        if extent:
            return _by_size(technique, rate, extent, basis)
    once = technique.hours_per == "object"
    times = 1 if once else len(parts)
    low, high = (end * times for end in technique.hours)
    set_up = (technique.set_up_hours[0], technique.set_up_hours[1])
    words = ""
    if technique.rates:
        asked = " or ".join(rate.in_words for rate in technique.rates)
        words = f"{_missing(problem)}; {asked}. The hours are those of {_small(technique)}"
        words += " on each part" if times > 1 else ""
    over = not technique.rates or any(rate.over for rate in technique.rates)
    return WorkingTime((low, high), set_up, 0.0, "", over, words)


def _missing(problem: DamageFound) -> str:
    extent = problem.extent
    if isinstance(extent, str) or extent.unit == "percent":
        return "size not recorded"
    return f"extent recorded as {extent.value:g} {IN_WORDS[extent.unit]}, its area is not"


def _small(technique: Technique) -> str:
    """Return in words the extent for which the general hours of a technique hold.

    They are its set-up and its rate times an extent; this one is between those that the least and
    the most hours lead back to.
    """
    rate = technique.rates[0]
    ends = zip(technique.hours, technique.set_up_hours, (rate.low, rate.high), strict=True)
    found = [(hours - set_up) / each for hours, set_up, each in ends if each > 0]
    if not found or min(found) <= 0:
        return "a small piece"
    middle = math.sqrt(min(found) * max(found))
    if rate.per == "cm2" and middle >= CM2_IN_M2 / 10:
        return f"about {middle / CM2_IN_M2:.1g} m\N{SUPERSCRIPT TWO}"
    number = f"{float(f'{middle:.1g}'):g}"
    many = IN_WORDS[rate.per] + "s" * (rate.per == "count" and number != "1")
    return f"about {number} {many}"


def _by_size(technique: Technique, rate: Rate, extent: float, basis: str) -> WorkingTime:
    low, high = technique.set_up_hours
    hours = (low + rate.low * extent, high + rate.high * extent)
    many = IN_WORDS[rate.per] + "s" * (rate.per == "count" and extent != 1)
    words = f"set-up {low:.2g} to {high:.2g} h, then {rate.in_words} on {extent:g} {many} ({basis})"
    return WorkingTime(hours, (low, high), extent, rate.per, bool(rate.over), words)


def _extent(rate: Rate, problem: DamageFound, parts: Sequence[Part]) -> tuple[float, str]:
    """Return how much there is to do in the unit of a rate, and where that comes from; or 0."""
    if rate.over:
        return _added(rate, parts), f"{rate.over} as recorded"
    extent = problem.extent
    if isinstance(extent, str):
        return 0.0, ""
    if extent.unit == rate.per:
        return extent.value, "as recorded"
    if extent.unit == "percent" and rate.per == "cm2":
        return share_of_area(extent, parts), f"{extent.value:g} % of the part"
    return 0.0, ""


def share_of_area(extent: Extent, parts: Sequence[Part]) -> float:
    """Return the area (cm2) of a share of some parts; 0 if one of them has no recorded size."""
    areas = [part.size.area for part in parts]
    return extent.value / 100 * sum(areas) if all(areas) else 0.0


def _added(rate: Rate, parts: Sequence[Part]) -> float:
    """Return the sizes of the parts together; 0 if one of them is not recorded."""
    sizes = [size_of(part, rate.per, rate.over) for part in parts]
    return sum(sizes) if all(sizes) else 0.0


def size_of(part: Part, unit: str, over: str = "part") -> float:
    """Return the area (cm2), length or edge (cm) or number (count) of a part; 0 if unrecorded."""
    if unit == "cm2":
        return part.size.area
    known = {
        name: 0.0 if isinstance(value := getattr(part.size, name), str) else float(value)
        for name in ("length_cm", "width_cm", "count")
    }
    length, width = known["length_cm"], known["width_cm"]
    if unit == "count":
        return known["count"]
    if over == "perimeter":
        return 2 * (length + width) if length and width else 0.0
    return width if over == "width" else length
