"""Ranges of inputs, bands of answers, and the error that names a value out of range."""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass

from leastwise.graph.errors import LeastwiseError, Problem

__all__ = [
    "Band",
    "PhysicsInputError",
    "Range",
    "joined",
    "minutes_in_words",
    "rounded",
    "within",
    "within_range",
]


class PhysicsInputError(LeastwiseError):
    """A physical input that can't be used: names the field, what was given, what is accepted.

    >>> str(PhysicsInputError("relative_humidity", 55, "a number from 0 to 1"))
    'relative_humidity: got 55; expected a number from 0 to 1.'
    """

    def __init__(self, field: str, given: object, accepted: str) -> None:
        self.problem = Problem(field, repr(given), accepted)
        self.field, self.given, self.accepted = field, given, accepted
        super().__init__(str(self.problem))


def within(field: str, value: float, low: float, high: float) -> float:
    """Return the value if it is a finite number from low to high, else say what is accepted.

    Raises:
        PhysicsInputError: the value is no number, not finite, or out of range.

    >>> within("temperature_c", 20, -50, 100)
    20.0

    """
    is_number = isinstance(value, int | float) and not isinstance(value, bool)
    if not is_number or not math.isfinite(value) or not low <= value <= high:
        raise PhysicsInputError(field, value, f"a number from {low:g} to {high:g}")
    return float(value)


@dataclass(frozen=True, slots=True)
class Range:
    """An uncertain input: anywhere from low to high.

    >>> Range(20, 100).middle
    60.0
    """

    low: float
    high: float

    def __post_init__(self) -> None:
        within("low", self.low, -1e12, 1e12)
        within("high", self.high, -1e12, 1e12)
        if self.low > self.high:
            raise PhysicsInputError("high", self.high, f"a number not below low ({self.low:g})")

    @property
    def middle(self) -> float:
        """The arithmetic middle, no more likely than any other value in the range."""
        return (self.low + self.high) / 2


def within_range(field: str, given: Range, low: float, high: float) -> Range:
    """Return the range if both its ends are accepted."""
    within(f"{field}.low", given.low, low, high)
    within(f"{field}.high", given.high, low, high)
    return given


def rounded(value: float, figures: int = 2) -> float:
    """Round to significant figures, so that an answer doesn't lend false precision.

    >>> rounded(1.4666), rounded(0.0), rounded(733.3)
    (1.5, 0.0, 730.0)
    """
    if value == 0 or not math.isfinite(value):
        return value
    return round(value, figures - 1 - math.floor(math.log10(abs(value))))


@dataclass(frozen=True, slots=True)
class Band:
    """An answer as a band: low, typical, high, in one unit; `typical` is no promise."""

    low: float
    typical: float
    high: float
    unit: str

    @classmethod
    def of(cls, values: Iterable[float], unit: str) -> Band:
        """Return the band of some values: smallest, middle in order, largest.

        >>> Band.of([3, 1, 2], "N")
        Band(low=1, typical=2, high=3, unit='N')
        """
        ordered = sorted(values)
        return cls(ordered[0], ordered[len(ordered) // 2], ordered[-1], unit)

    def in_words(self) -> str:
        """Return the band in words, with two figures at most.

        >>> Band(1.4667, 1.7, 2.0, "years").in_words()
        'about 1.5 to 2 years'
        >>> Band(3.0, 3.0, 3.01, "g").in_words()
        'about 3 g'
        """
        low, high = rounded(self.low), rounded(self.high)
        if low == high:
            return f"about {low:g} {self.unit}"
        return f"about {low:g} to {high:g} {self.unit}"


def minutes_in_words(seconds: float) -> str:
    """Return a time for people, rounded.

    >>> minutes_in_words(200), minutes_in_words(5400), minutes_in_words(40)
    ('3 min', '1.5 h', '40 s')
    """
    if seconds < 90:
        return f"{rounded(seconds):g} s"
    if seconds < 5400:
        return f"{seconds / 60:.0f} min"
    return f"{rounded(seconds / 3600):g} h"


def joined(*groups: Iterable[str]) -> tuple[str, ...]:
    """Return all texts once, in the order in which they first come."""
    return tuple(dict.fromkeys(text for group in groups for text in group))
