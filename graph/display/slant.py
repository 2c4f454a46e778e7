"""A textile on a board at an angle a from the vertical: does friction hold it, or what does.

It holds by friction mu if mu >= S / tan a (claim:S-147, arithmetic; S a factor for vibration).
The angle that surely holds is atan(S / mu). What friction leaves, W (cos a - mu sin a), hangs on
the top edge. Coefficients are wide bands from practice (claim:DP-011); a tilt trial replaces them.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from leastwise.graph.case.record import Case, TestDone
from leastwise.graph.display.book import Book, Figure
from leastwise.graph.display.cloth import Cloths, load_on
from leastwise.graph.display.values import HOLDS, SlantPlan
from leastwise.graph.physics.bounds import Range
from leastwise.graph.physics.load import GRAVITY_M_S2, friction_needed, slope

__all__ = ["holding_angle_deg", "slants", "surface_of"]

COVERS = ("smooth", "napped")
TILT = "test:tilt-trial"
LEAST_DEG = 0.5
TRIAL_SPREAD = 0.1  # of a coefficient from one tilt trial (practice)


def holding_angle_deg(friction: float, safety: float = 1.0) -> float:
    """Return the least angle from the vertical at which friction holds, atan(S / mu).

    >>> round(holding_angle_deg(1.0)), round(holding_angle_deg(0.577))
    (45, 60)
    """
    return math.degrees(math.atan2(safety, friction))


def surface_of(case: Case, book: Book) -> str:
    """Return how its back grips: smooth, ordinary or hairy; "" where no fibre is named.

    Smooth counts before hairy, since the smoothest part slides.
    """
    if not any(list(part.under("fibre")) for part in case.parts):
        return ""
    named = (m.material for part in case.parts for m in part.named)
    return book.surface(frozenset(u for one in named for u in book.knowledge.broader(one)))


def slants(case: Case, book: Book, weight_n: float | None) -> tuple[SlantPlan, ...]:
    """Return the slope worked out on each cover, the smooth one first."""
    aim = case.aim.degrees_from_vertical
    angle = None if isinstance(aim, str) else float(aim)
    surface = surface_of(case, book)
    tried = _tried(case)
    board = _Board(case, book, surface, angle, weight_n)
    if tried is not None:
        return (board.on("as tried", tried),)
    return tuple(board.on(cover, book.friction(surface, cover)) for cover in COVERS)


def _tried(case: Case) -> Figure | None:
    """Return the friction that a tilt trial has shown, where its reading says from which axis."""
    for test in case.tests:
        mu = _coefficient(test) if test.test == TILT else None
        if mu is not None:
            band = Range(mu * (1 - TRIAL_SPREAD), mu * (1 + TRIAL_SPREAD))
            return Figure(band, "tilt trial of the record", ("claim:DP-006", "claim:S-144"))
    return None


def _coefficient(test: TestDone) -> float | None:
    if test.reading is None:
        return None
    angle, unit = test.reading.value, test.reading.unit.casefold()
    if not LEAST_DEG <= angle <= 90 - LEAST_DEG:
        return None
    if "vertical" in unit:
        return 1 / math.tan(math.radians(angle))
    level = "horizontal" in unit or "level" in unit
    return math.tan(math.radians(angle)) if level else None


@dataclass(frozen=True)
class _Board:
    """A textile on a board, whatever its cover."""

    case: Case
    book: Book
    surface: str
    angle: float | None
    weight_n: float | None

    def on(self, cover: str, friction: Figure | None) -> SlantPlan:
        safety = self.book.figure("slip-safety").range.high
        band = (friction.range.low, friction.range.high) if friction else None
        from_deg = holding_angle_deg(friction.range.low, safety) if friction else None
        angle = self.angle
        needed = None if angle is None else friction_needed(max(LEAST_DEG, angle)) * safety
        state = _state(band, needed)
        force = _left(self.weight_n, angle, friction)
        edge = self._edge(force) if state != HOLDS else None
        return SlantPlan(
            angle_deg=angle,
            cover=cover,
            surface=self.surface,
            friction=band,
            needed=needed,
            holds_from_deg=from_deg,
            state=state,
            force_n=force,
            edge_per_cm=edge,
            says=_says(cover, angle, band, needed, state),
            mend=self._mend(state, from_deg, force),
        )

    def _edge(self, force: tuple[float, float] | None) -> tuple[float, float] | None:
        width = self.case.object.size.width_cm
        if force is None or isinstance(width, str):
            return None
        return force[0] / float(width), force[1] / float(width)

    def _mend(self, state: str, from_deg: float | None, force: tuple[float, float] | None) -> str:
        if state == HOLDS:
            return "No fastening is needed for the load; a few stitches keep it from creeping."
        flatter = ""
        if from_deg is not None:
            flatter = f"Flatter, from {from_deg:.0f}° from the vertical on, it surely holds. "
        width = self.case.object.size.width_cm
        if force is None or isinstance(width, str):
            return f"{flatter}What its edge would carry is unknown without weight and width."
        cloth = Cloths(self.case, self.book).at("heading")
        held = load_on("Top edge", Range(*force), float(width), cloth)
        if held.state == HOLDS:
            return f"{flatter}Or its top edge is sewn to the cover: {held.says}"
        return f"{flatter}Sewing its top edge to the cover is not shown to be safe: {held.says}"


def _state(band: tuple[float, float] | None, needed: float | None) -> str:
    if band is None or needed is None:
        return "unknown"
    if band[0] >= needed:
        return HOLDS
    return "too much" if band[1] < needed else "in doubt"


def _left(
    weight_n: float | None, angle: float | None, friction: Figure | None
) -> tuple[float, float] | None:
    """Return what friction leaves to the edge, in N, with the most and the least grip."""
    if weight_n is None or angle is None:
        return None
    grip = friction.range if friction else Range(0, 0)
    found = slope(weight_n / GRAVITY_M_S2, max(LEAST_DEG, angle), grip)
    return found.net_pull_n.low, found.net_pull_n.high


def _says(
    cover: str,
    angle: float | None,
    band: tuple[float, float] | None,
    needed: float | None,
    state: str,
) -> str:
    if angle is None or needed is None:
        return "The slope is not recorded; it decides load and sliding."
    if band is None:
        return "Unknown: no fibre is named, so nothing is known of its grip. A tilt trial tells."
    words = {
        HOLDS: "it holds by friction",
        "too much": "it slides",
        "in doubt": "it may slide: a tilt trial decides",
        "unknown": "unknown",
    }[state]
    on = "as tried" if cover == "as tried" else f"on a {cover} cover"
    return (
        f"{angle:g}° from the vertical {on}: friction {band[0]:.2g} to {band[1]:.2g}, needed "
        f"{needed:.2g}; {words}."
    )
