"""How large a bench sheet may be set so that it stays on one page of A4 or Letter.

The height is worked out from the number of letters, on the wide side; both formats leave at least
188 mm of width and 263 mm of height. The tests print the sheets and count the pages.
"""

from __future__ import annotations

import math
import re
from collections.abc import Callable, Iterable
from dataclasses import dataclass, replace

from leastwise.graph.planning.bench_sheet import BenchSheet

__all__ = ["Fit", "fitted", "height_of"]

#: Sizes in points, as the classes ``pt-110`` and so on of ``pages-work.css`` set them.
SIZES = (11.5, 11.0, 10.5, 10.0, 9.5, 9.0)
LEAST = 9.0  # points: nothing on a sheet is set smaller, notes and foot neither
ROOM, COLUMN, WHOLE = 242.0, 91.0, 188.0  # mm
MM = 25.4 / 72  # of a point
LETTER = 0.53  # width of a letter as a share of its size
LOST = 2  # letters' room that a line leaves empty
EVEN, UNEVEN = 0.97, 0.42  # how far two columns miss being even, by the drawing's share
LINE = 1.2
ROWS, ROW, MOST_ROWS, GAPS = 4, 7.0, 5, 9.0
#: So many warnings for people stand at the head, the others below.
ABOVE = 3
#: Below this size cautions are left to the page of options before the letters get smaller.
READABLE = 9.5


@dataclass(frozen=True, slots=True)
class Fit:
    """How a sheet is set: what is kept of it, the class of its size, rows for readings.

    *apart* tells that layers, times and amounts stand on a page of their own behind it.
    """

    sheet: BenchSheet
    size: str
    rows: int
    apart: bool = False


def fitted(sheet: BenchSheet, drawing: str) -> Fit:
    """Return how a sheet is set.

    Cautions are counted and left off before letters get too small; where that isn't enough,
    layers, times and amounts go to a page of their own.
    """
    shape = re.search(r'viewBox="0 0 ([\d.]+) ([\d.]+)"', drawing)
    high = float(shape[2]) / float(shape[1]) if shape else 0.0
    tries = [(len(sheet.care), READABLE), (3, READABLE), (2, LEAST), (1, LEAST)]
    for apart in (False, True):
        for care, least in tries:
            kept = _with_less(sheet, care)
            set_down = _without_figures(kept) if apart else kept
            for size in (one for one in SIZES if one >= least):
                taken = height_of(set_down, size, high)
                if taken <= ROOM:
                    more = max(0, min(MOST_ROWS, int((ROOM - 9 - taken) / ROW)))
                    return Fit(kept, _name(size), ROWS + more, apart)
    return Fit(_with_less(sheet, 0), _name(SIZES[-1]), ROWS, apart=True)


def _without_figures(sheet: BenchSheet) -> BenchSheet:
    """Return the sheet without what can stand on a page of its own."""
    return replace(sheet, layers=None, times=(), amounts=(), equipment="")


def _name(size: float) -> str:
    return f"pt-{round(10 * size)}"


def _with_less(sheet: BenchSheet, care: int) -> BenchSheet:
    """Return the sheet with fewer cautions; what is left off is counted, and stands elsewhere."""
    cut = max(0, len(sheet.care) - care)
    return replace(sheet, care=sheet.care[:care], more_care=sheet.more_care + cut)


def height_of(sheet: BenchSheet, size: float, drawing: float) -> float:
    """Return the height of a sheet in mm at a size in points; *drawing* is height over width."""
    line = LINE * size * MM

    def lines(texts: Iterable[str], width: float, scale: float = 1.0) -> float:
        scale = max(scale, LEAST / size)
        most = max(1, int((width - 5) / (LETTER * size * scale * MM)) - LOST)
        return sum(math.ceil(len(text) / most) * scale + 0.08 for text in texts)

    head = 1.4 * math.ceil(len(sheet.label) / 40) + lines([" " * 130], 140) + 0.8
    people = lines(sheet.people[:ABOVE], WHOLE - 8) + 1.9 if sheet.people else 0.0
    further = sheet.people[ABOVE:]
    people += bool(further)
    checks = [f"{one.what}, or {', '.join(one.or_else[:2])}" for one in sheet.checks]
    texts = lines([*checks, *sheet.steps, *sheet.looks, *sheet.care], COLUMN)
    texts += lines(sheet.stops, COLUMN - 7, 1.06) + _figures(sheet, lines)
    texts += lines(further, COLUMN)
    heads = (
        4.0
        + bool(further)
        + 2 * bool(sheet.checks)
        + bool(sheet.care)
        + 2 * bool(sheet.more_checks)
    )
    body = texts + 1.75 * heads
    drawn = 0.0
    if sheet.layers is not None:
        body += 1.75 + lines([sheet.layers.basis], COLUMN, 0.84)
        drawn = drawing * COLUMN / line
        body += drawn
    foot = 1.9 + lines([" " * 330], WHOLE, 0.78) + 1.3
    return (
        (head + people + body / 2 * (EVEN + UNEVEN * drawn / body) + foot) * line
        + ROWS * ROW
        + GAPS
    )


def _figures(sheet: BenchSheet, lines: Callable[..., float]) -> float:
    """Return the height of times, amounts and equipment in lines."""
    value = 0.6 * COLUMN
    rows = sum(
        max(
            lines([f"{row.value} {row.basis}"], value + 4, 0.9),
            lines([row.what], COLUMN - value + 4),
        )
        + 0.22
        for row in (*sheet.times, *sheet.amounts)
    )
    note = " " * (150 if sheet.computed else 45)
    return rows + lines([sheet.equipment], value + 4) + lines([note], COLUMN, 0.84)
