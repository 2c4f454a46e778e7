"""The lines of the contact network: one hand for each kind of contact, and marks across them."""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from xml.sax.saxutils import escape

from leastwise.api.drawings.network_layout import Box, Piece
from leastwise.api.drawings.svg import LETTER, NOT_XML, number, wrapped

__all__ = [
    "ACCENT",
    "BARRIERS",
    "INK",
    "PAPER",
    "PARTINGS",
    "QUIET",
    "Places",
    "arrow_head",
    "barrier_mark",
    "clean",
    "fitted",
    "line_in_hand",
    "parting_mark",
    "path_of",
    "text_rows",
]

INK, QUIET, ACCENT, PAPER = "#23201b", "#5b5449", "#254a72", "#ffffff"
BARRIERS = ("in-place", "possible", "impossible")
PARTINGS = ("done", "possible", "impossible")
#: Shares of a piece at which a mark may sit, the best first.
SHARES = (0.5, 0.4, 0.6, 0.3, 0.7, 0.22, 0.78)

#: Kind -> width and dashes of its strokes, the lowest first; glue and unknown are drawn otherwise.
STROKES: dict[str, tuple[tuple[float, str], ...]] = {
    "sewn-through": ((1.3, ""), (8.0, "1.8 6.2")),
    "stitched": ((2.2, "9 5"),),
    "lies-on": ((1.6, ""),),
    "layered-under": ((1.6, ""),),
    "hangs-from": ((1.6, ""),),
    "fastened": ((4.2, "0.1 7.5"),),
    "touches": ((1.6, "14 4 2 4"),),
    "enclosed-in": ((1.6, "10 3"),),
    "one-cloth": ((7.0, ""),),
    "woven-in": ((1.3, ""), (6.0, "3 3")),
    "painted-on": ((4.2, ""),),
    "threaded-through": ((2.2, "4 4"),),
    "tied": ((1.3, ""), (6.0, "2 14")),
    "near": ((1.3, "2 6"),),
    "apart": ((1.0, "1 10"),),
}


def clean(text: str) -> str:
    """Return a text without what XML can't hold, escaped."""
    return escape(NOT_XML.sub("", text), {'"': "&quot;"})


def path_of(pieces: Sequence[Piece]) -> str:
    """Return the path through pieces, upright where it meets a row."""
    said = f"M{number(pieces[0].x0)} {number(pieces[0].y0)}"
    for one in pieces:
        if one.x0 == one.x1:
            said += f"V{number(one.y1)}"
        else:
            middle = number((one.y0 + one.y1) / 2)
            x0, x1 = number(one.x0), number(one.x1)
            said += f"C{x0} {middle} {x1} {middle} {x1} {number(one.y1)}"
    return said


def line_in_hand(kind: str, pieces: Sequence[Piece], *, upwards: bool = False) -> str:
    """Return the strokes of a contact of one kind; what hangs is at the lower end, or *upwards*."""
    if kind == "glued":
        d = path_of(pieces)
        return _stroke(d, 6.0, "", "net-ink", INK) + _stroke(d, 2.8, "", "net-paper", PAPER)
    if kind not in STROKES:
        return _stroke(_wave(pieces), 1.5, "", "net-quiet", QUIET)
    d = path_of(pieces)
    drawn = "".join(_stroke(d, width, dash, "net-ink", INK) for width, dash in STROKES[kind])
    if kind == "hangs-from":
        first, last = pieces[0], pieces[-1]
        drawn += arrow_head(first.x0, first.y0, -1) if upwards else arrow_head(last.x1, last.y1, 1)
    return drawn


def _stroke(d: str, width: float, dash: str, name: str, colour: str) -> str:
    dashes = f' stroke-dasharray="{dash}"' if dash else ""
    cap = ' stroke-linecap="round"' if dash.startswith("0.1") else ""
    return (
        f'<path class="{name}" d="{d}" fill="none" stroke="{colour}" '
        f'stroke-width="{number(width)}"{dashes}{cap}/>'
    )


def _wave(pieces: Sequence[Piece]) -> str:
    """Return a path that swings to both sides of the way."""
    points: list[tuple[float, float]] = []
    gone = 0.0
    last = (pieces[0].x0, pieces[0].y0)
    for one in pieces:
        steps = max(6, int((abs(one.y1 - one.y0) + abs(one.x1 - one.x0)) / 3))
        for k in range(steps + 1):
            x, y = one.at(k / steps)
            along = math.hypot(x - last[0], y - last[1])
            gone += along
            if along:
                swing = 2.6 * math.sin(gone / 2.6)
                points.append(
                    (x - (y - last[1]) / along * swing, y + (x - last[0]) / along * swing)
                )
            last = (x, y)
    start = f"M{number(pieces[0].x0)} {number(pieces[0].y0)}"
    return start + "".join(f"L{number(x)} {number(y)}" for x, y in points)


def arrow_head(x: float, y: float, way: int, name: str = "net-fill", colour: str = INK) -> str:
    """Return an arrow head whose tip is at a point; *way* is 1 downwards, -1 upwards."""
    back = y - 10 * way
    return (
        f'<path class="{name}" d="M{number(x)} {number(y)}L{number(x - 5)} {number(back)}'
        f'H{number(x + 5)}Z" fill="{colour}"/>'
    )


def barrier_mark(x: float, y: float, state: str) -> str:
    """Return a sheet across the line: filled in place, hollow possible, struck out impossible."""
    said = (
        f'<rect class="{_mark_class(state, "in-place")}" x="{number(x - 8)}" y="{number(y - 3)}" '
        f'width="16" height="6" fill="{INK if state == "in-place" else PAPER}" '
        f'stroke="{INK}" stroke-width="1.3"/>'
    )
    return said + (_strike(x, y) if state == "impossible" else "")


def parting_mark(x: float, y: float, state: str) -> str:
    """Return a lozenge: filled done, hollow possible, struck out impossible."""
    a, b = number(x), number(y)
    said = (
        f'<path class="{_mark_class(state, "done")}" d="M{a} {number(y - 6)}L{number(x + 6)} {b}'
        f'L{a} {number(y + 6)}L{number(x - 6)} {b}Z" '
        f'fill="{INK if state == "done" else PAPER}" stroke="{INK}" stroke-width="1.3"/>'
    )
    return said + (_strike(x, y) if state == "impossible" else "")


def _mark_class(state: str, full: str) -> str:
    return "net-mark net-fill" if state == full else "net-mark net-hollow"


def _strike(x: float, y: float) -> str:
    return (
        f'<path class="net-ink" d="M{number(x - 6)} {number(y + 6)}L{number(x + 6)} '
        f'{number(y - 6)}" fill="none" stroke="{INK}" stroke-width="1.3"/>'
    )


def text_rows(  # noqa: PLR0913 - where and how the rows stand
    x: float,
    y: float,
    rows: Sequence[str],
    size: float,
    *,
    name: str = "net-text",
    colour: str = INK,
    weight: str = "",
    anchor: str = "middle",
) -> str:
    """Return rows of text; *y* is the first baseline."""
    bold = f' font-weight="{weight}"' if weight else ""
    return "".join(
        f'<text class="{name}" x="{number(x)}" y="{number(y + i * size * 1.25)}" '
        f'font-size="{number(size)}" text-anchor="{anchor}" fill="{colour}"{bold}>'
        f"{clean(row)}</text>"
        for i, row in enumerate(rows)
    )


class Places:
    """Places that are taken, and the best free one on a line."""

    def __init__(self, boxes: Iterable[Box]) -> None:
        self._taken = list(boxes)
        self._rows: dict[int, list[Box]] = {}
        for box in self._taken:
            self._file(box)

    def _file(self, box: Box) -> None:
        for band in range(int(box.y // 64), int((box.y + box.h) // 64) + 1):
            self._rows.setdefault(band, []).append(box)

    def on(
        self, pieces: Sequence[Piece], w: float, h: float, aside: float = 0.0
    ) -> tuple[float, float]:
        """Return the middle of the first free place of this size on the way, and take it.

        With *aside* the place lies beside the line by as much, on whichever side is free.
        """
        best, least = (0.0, 0.0), math.inf
        sides = (aside, -aside) if aside else (0.0,)
        for share in SHARES:
            for one in sorted(pieces, key=lambda p: p.y0 - p.y1):
                for side in sides:
                    x, y = one.at(share)
                    box = Box(x + side - w / 2, y - h / 2, w, h)
                    covered = self._covered(box)
                    if covered < least:
                        best, least = (x + side, y), covered
                    if not covered:
                        break
                if not least:
                    break
            if not least:
                break
        taken = Box(best[0] - w / 2, best[1] - h / 2, w, h)
        self._file(taken)
        return best

    def _covered(self, box: Box) -> float:
        total = 0.0
        for band in range(int(box.y // 64), int((box.y + box.h) // 64) + 1):
            for other in self._rows.get(band, ()):
                wide = min(box.x + box.w, other.x + other.w) - max(box.x, other.x)
                high = min(box.y + box.h, other.y + other.h) - max(box.y, other.y)
                total += wide * high if wide > 0 and high > 0 else 0.0
        return total


def fitted(text: str, width: float, size: float, most: int) -> list[str]:
    """Return at most *most* rows of a text; what is left out is told by an ellipsis."""
    rows = wrapped(NOT_XML.sub("", text), width, size)
    if len(rows) > most:
        letters = max(4, int(width / (size * LETTER)))
        rows = [*rows[: most - 1], rows[most - 1][: letters - 2].rstrip() + " …"]
    return rows
