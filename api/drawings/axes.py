"""Axes for the charts: from values to places, ticks and grid lines."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from leastwise.api.drawings.svg import LETTER, QUIET, Sheet

__all__ = ["Axes", "Scale", "round_ticks", "time_ticks"]

TIMES = (
    (1, "1 s"), (10, "10 s"), (30, "30 s"), (60, "1 min"), (300, "5 min"), (900, "15 min"),
    (3600, "1 h"), (4 * 3600, "4 h"), (24 * 3600, "1 day"), (48 * 3600, "2 days"),
)  # fmt: skip


@dataclass(frozen=True, slots=True)
class Scale:
    """Values from low to high on places from start to end, evenly or by their logarithm."""

    low: float
    high: float
    start: float
    end: float
    logarithmic: bool = False

    def __call__(self, value: float) -> float:
        """Return the place of a value, held inside the axis.

        >>> Scale(0, 10, 100, 200)(5), Scale(1, 100, 0, 10, True)(10), Scale(0, 1, 0, 10)(7)
        (150.0, 5.0, 10.0)
        """
        held = min(max(value, self.low), self.high)
        if self.logarithmic:
            share = math.log(held / self.low) / math.log(self.high / self.low)
        else:
            share = (held - self.low) / (self.high - self.low)
        return self.start + (self.end - self.start) * share


def round_ticks(low: float, high: float, most: int = 6) -> list[float]:
    """Return round values from low to high, `most` steps at most.

    >>> round_ticks(0, 90)
    [0, 20, 40, 60, 80]
    """
    span = (high - low) / most
    power = 10 ** math.floor(math.log10(span)) if span > 0 else 1
    step = next(power * k for k in (1, 2, 2.5, 5, 10) if power * k >= span * 0.999)
    first = math.ceil(low / step - 1e-9)
    ticks = [step * k for k in range(first, math.floor(high / step + 1e-9) + 1)]
    return [int(tick) if tick == int(tick) else round(tick, 10) for tick in ticks]


def time_ticks(low_s: float, high_s: float) -> list[tuple[float, str]]:
    """Return times to write on a logarithmic axis."""
    return [(s, words) for s, words in TIMES if low_s <= s <= high_s * 1.001]


@dataclass(frozen=True, slots=True)
class Axes:
    """A frame with two scales on a sheet; y grows upwards."""

    sheet: Sheet
    x: Scale
    y: Scale

    def points(self, xs: Sequence[float], ys: Sequence[float]) -> list[tuple[float, float]]:
        """Return the places of a series that lie on the x axis."""
        pairs = zip(xs, ys, strict=True)
        return [(self.x(a), self.y(b)) for a, b in pairs if self.x.low <= a <= self.x.high]

    def frame(self) -> None:
        """Draw the two axes."""
        left, right, top, base = self.x.start, self.x.end, self.y.end, self.y.start
        self.sheet.line([(left, top), (left, base), (right, base)], stroke_width=1.2)

    def x_tick(self, value: float, words: str, *, grid: bool = True) -> None:
        """Draw a tick with its words under the axis."""
        place, base = self.x(value), self.y.start
        if grid:
            self.sheet.line([(place, self.y.end), (place, base)], stroke="#dddad4", stroke_width=1)
        self.sheet.line([(place, base), (place, base + 5)])
        self.sheet.text(place, base + 18, words, 12, text_anchor="middle")

    def y_tick(self, value: float, words: str) -> None:
        """Draw a tick with its words left of the axis, and a thin line across."""
        place, left = self.y(value), self.x.start
        self.sheet.line([(left, place), (self.x.end, place)], stroke="#dddad4", stroke_width=1)
        self.sheet.line([(left - 5, place), (left, place)])
        self.sheet.text(left - 9, place + 4, words, 12, text_anchor="end")

    def y_name(self, words: str) -> None:
        """Write what the y axis shows, over its top."""
        self.sheet.text(20, self.y.end - 14, words, 12, fill=QUIET)

    def mark(self, value: float, words: str, *, rightward: bool) -> None:
        """Draw an upright line at a value, with words over the frame at the side asked for.

        Where there is no room on that side the words stand at the other, a row higher.
        """
        place, wide = self.x(value), len(words) * 12 * LETTER
        room = self.x.end - place if rightward else place - self.x.start + 40
        fits = room > wide
        top = self.y.end - (14 if fits else 29)
        right = rightward if fits else not rightward
        self.sheet.line([(place, top - 8), (place, self.y.start)], stroke_dasharray="2 3")
        anchor, gap = ("start", 5) if right else ("end", -5)
        self.sheet.text(place + gap, top, words, 12, text_anchor=anchor, halo=True)
