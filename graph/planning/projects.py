"""How long published projects took beside what was reckoned for them, and so how long the next may.

For each published project that states its hours, h is what set-up and rates give for the work that
its source names, sqrt(least x most), and f = stated / h. The logarithms of n such factors are taken
for a sample of a normal population with unknown mean and deviation. With their mean m and their
standard deviation s, the next project lies in nine of ten cases within

    exp(m +- t s sqrt(1 + 1/n)) x h,    t the 0.95 quantile of Student's t with n - 1 degrees

and half of the next with the 0.75 quantile.

Source of the formula: the documentation of ``predIntNorm`` in EnvStats (S. P. Millard),
https://search.r-project.org/CRAN/refmans/EnvStats/html/predIntNorm.html, and Hahn and Meeker,
Statistical Intervals, 1991 (from memory). n, m and s are data (``lw:ProjectSpread``), made from
tests/published by bench/hours.py; a test holds them to each other. Projects whose size is known are
counted apart from those that tell none. Hours get published where they are remarkable, so m is
rather too large than too small.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from math import exp, sqrt

from scipy.special import stdtrit

from leastwise.graph.knowledge.knowledge import Knowledge
from leastwise.graph.planning.values import ProjectHours
from leastwise.graph.weighing.working_time import WorkingTime

__all__ = ["ProjectSpread", "beside_projects", "mostly_by_size", "spread_of"]

#: Shares of the next projects that an interval leaves out at each end: nine of ten, and half.
NINE_OF_TEN, HALF = 0.05, 0.25


@dataclass(frozen=True, slots=True)
class ProjectSpread:
    """The factors of some projects: how many, and mean and deviation of their logarithms."""

    projects: int
    mean: float
    deviation: float

    @property
    def middle(self) -> float:
        """How many times as long as reckoned they took in the middle."""
        return exp(self.mean)

    def factors(self, each_end: float = NINE_OF_TEN) -> tuple[float, float]:
        """Return the factors between which the next project lies, but for *each_end* of them.

        >>> [round(end, 3) for end in ProjectSpread(10, 0.0, 1.0).factors()]
        [0.146, 6.839]
        """
        t = float(stdtrit(self.projects - 1, 1 - each_end))
        away = t * self.deviation * sqrt(1 + 1 / self.projects)
        return exp(self.mean - away), exp(self.mean + away)


def mostly_by_size(times: Iterable[WorkingTime]) -> bool:
    """Return whether at least half of some hours, as they may come to, follow from a size.

    What has no rate asks for no size and doesn't count.
    """
    all_of = [time for time in times if time.in_words]
    sized = sum(time.hours[1] for time in all_of if time.by_size)
    return sized > 0 and 2 * sized >= sum(time.hours[1] for time in all_of)


def spread_of(k: Knowledge, *, sized: bool) -> ProjectSpread | None:
    """Return the spread of projects whose size is known, or of the others, if there is one."""
    for one in k.instances("lw:ProjectSpread"):
        if (k.text(one, "lw:ofSize") == "known") is sized:
            number, mean, deviation = (
                k.number(one, name) for name in ("lw:projects", "lw:meanLog", "lw:deviationLog")
            )
            if number is not None and mean is not None and deviation is not None:
                return ProjectSpread(int(number), mean, deviation)
    return None


def beside_projects(
    k: Knowledge, hours: tuple[float, float], times: Iterable[WorkingTime]
) -> ProjectHours | None:
    """Return how long the work may take by what published projects took; None without hours.

    *hours* are those of the whole, at the least and at the most; *times* those of its pieces.
    """
    sized = mostly_by_size(times)
    spread = spread_of(k, sized=sized)
    if spread is None or not 0 < hours[0] <= hours[1]:
        return None
    reckoned = sqrt(hours[0] * hours[1])
    low, high = spread.factors()
    inner = spread.factors(HALF)
    return ProjectHours(
        projects=spread.projects,
        sized=sized,
        factors=(low, spread.middle, high),
        half=(_rough(reckoned * inner[0]), _rough(reckoned * inner[1])),
        hours=(_rough(reckoned * low), _rough(reckoned * high)),
    )


def _rough(hours: float) -> float:
    """Return hours to two figures: more is never known.

    >>> _rough(2831.4), _rough(0.0712)
    (2800.0, 0.071)
    """
    return float(f"{hours:.2g}")
