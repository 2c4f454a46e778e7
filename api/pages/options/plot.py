"""The plot of one damage: burden across, what still hinders upwards, a mark for each option."""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass
from typing import Final

from leastwise.api.documents.words import BURDEN
from leastwise.graph.answer import DamageAnswer, OptionAnswer
from leastwise.graph.meanings import Verdict
from leastwise.graph.weighing.ranking import WORST

__all__ = ["RULER", "Mark", "Plot", "plot_of"]

#: The one ruler: what a grade of 0 to 4 is called, of burdens and of what still hinders.
RULER: Final = BURDEN
LEFT, RIGHT, TOP, STEP = 88, 236, 13, 28  # where burden 0 and the most lie; grade 0; a grade
#: Marks nearer than this are moved apart, up and down in turn.
NEAR, APART = 10, 8


@dataclass(frozen=True, slots=True)
class Mark:
    """An option on the plot: where, with its rank beside it where it is worth weighing."""

    option: str
    verdict: Verdict
    x: float
    y: float
    rank: str
    left: bool  # whether the rank stands to the left


@dataclass(frozen=True, slots=True)
class Plot:
    """The plot of a damage; *most* is the burden at its right edge, *band* where the aim ends."""

    marks: tuple[Mark, ...]
    most: float
    band: float
    said: str
    left: int = LEFT
    right: int = RIGHT
    rows: tuple[tuple[float, str], ...] = tuple(
        (TOP + STEP * grade, f"{grade} {word}") for grade, word in enumerate(RULER)
    )
    ticks: tuple[tuple[float, str], ...] = ()


def plot_of(damage: DamageAnswer, allowed: int) -> Plot:
    """Return the plot of a damage of which grades up to *allowed* may stay for the aim."""
    most = min(1.0, max(0.25, math.ceil(4 * max(o.burden for o in damage.options)) / 4))
    ticks = ((LEFT, "0"), ((LEFT + RIGHT) / 2, f"{most / 2:.2g}"), (RIGHT, f"{most:.2g}"))
    marks = tuple(_apart(damage.options, {p.leads for p in damage.places}, most))
    band = TOP + STEP * (allowed + 0.5)
    return Plot(marks, most, band, _said(damage.options), ticks=ticks)


def _apart(options: Iterable[OptionAnswer], named: set[str], most: float) -> Iterable[Mark]:
    """Yield the marks, those that would cover one another moved apart."""
    taken: list[tuple[float, int, int]] = []
    for o in sorted(options, key=lambda o: (o.id not in named, o.rank)):
        x = LEFT + (RIGHT - LEFT) * min(1.0, o.burden / most)
        places = [n for at, grade, n in taken if grade == o.residual and abs(at - x) < NEAR]
        n = next(i for i in range(len(places) + 1) if i not in places)
        taken.append((x, o.residual, n))
        off = min(APART * ((n + 1) // 2), STEP / 2 - 3) * (-1 if n % 2 else 1)
        y = TOP + STEP * o.residual + (off if o.residual < WORST else -APART * min(n, 2))
        rank = str(o.rank) if o.id in named else ""
        yield Mark(o.id, o.verdict, round(x, 1), round(max(6, y), 1), rank, x > RIGHT - 14)


def _said(options: Iterable[OptionAnswer]) -> str:
    """Return in words what the plot shows; the table beside it has every figure."""
    standing = [o for o in options if o.verdict != Verdict.DEFEATED]
    if not standing:
        return "Burden against what still hinders. Nothing stands."
    meeting = [o for o in standing if o.meets_aim]
    least = min(meeting or standing, key=lambda o: (o.residual if not meeting else 0, o.burden))
    what = "Least burden that meets the aim" if meeting else "None meets the aim; nearest to it"
    return f"Burden against what still hinders. {what}: {least.label}, burden {least.burden:.2f}."
