"""Where the parts of a network stand: in rows, the upper part above the lower, lines between.

Boxes stand in rows and lines pass the rows in lanes of their own, so that no box covers another
and no line runs through a box. The same network always gives the same places.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field

from leastwise.api.drawings.network_rows import BOX, GAP, Item, Lane, Link, Rows, in_rows, width_of

__all__ = ["BOX", "Box", "Layout", "Link", "Piece", "laid_out"]

MARGIN = 16.0


@dataclass(frozen=True, slots=True)
class Box:
    """Where a part stands: left edge, upper edge, width and height."""

    x: float
    y: float
    w: float
    h: float


@dataclass(frozen=True, slots=True)
class Piece:
    """A piece of a line from an upper to a lower point: straight through a row, else curved."""

    x0: float
    y0: float
    x1: float
    y1: float

    def at(self, share: float) -> tuple[float, float]:
        """Return the point at a share of the way; tangents stand upright at both ends."""
        t, s = share, 1 - share
        middle = (self.y0 + self.y1) / 2
        x = self.x0 * (s**3 + 3 * s * s * t) + self.x1 * (3 * s * t * t + t**3)
        y = self.y0 * s**3 + 3 * middle * s * t + self.y1 * t**3
        return x, y


@dataclass(frozen=True, slots=True)
class Layout:
    """Boxes by part, the pieces of each link (in the order given), and the size of it all.

    *turned* holds the links whose first part stands below the second.
    """

    boxes: Mapping[str, Box]
    lines: tuple[tuple[Piece, ...], ...]
    turned: frozenset[int]
    loose: tuple[str, ...]
    width: float
    height: float
    loose_top: float


def laid_out(
    parts: Sequence[str], links: Sequence[Link], heights: Mapping[str, float], widest: float = 940.0
) -> Layout:
    """Return the places of *parts* and *links*; *heights* are those of the boxes.

    Groups that don't touch stand beside each other as far as *widest* allows; parts without any
    contact stand below.
    """
    groups, loose = _groups(parts, links)
    put = _Put(heights, widest)
    for members in groups:
        put.group(members, {i: one for i, one in enumerate(links) if one.upper in members})
    loose_top = put.lowest + 34
    columns_to = 640.0 if groups else widest
    bottom = put.loose(loose, loose_top, columns_to)
    return Layout(
        put.boxes,
        tuple(put.lines[i] for i in range(len(links))),
        frozenset(put.turned),
        tuple(loose),
        max(put.right, 200.0) + MARGIN,
        bottom + MARGIN,
        loose_top,
    )


@dataclass
class _Put:
    """What has been put down so far, and where the next group may begin."""

    heights: Mapping[str, float]
    widest: float
    boxes: dict[str, Box] = field(default_factory=dict)
    lines: dict[int, tuple[Piece, ...]] = field(default_factory=dict)
    turned: set[int] = field(default_factory=set)
    left: float = MARGIN
    top: float = MARGIN
    lowest: float = 0.0
    right: float = 0.0

    def group(self, members: Sequence[str], links: Mapping[int, Link]) -> None:
        """Put a group beside the last one, or below if there is no room beside it."""
        shape, flipped = in_rows(members, links)
        self.turned |= flipped
        wide = max(shape.x[i] + width_of(i) / 2 for row in shape.rows for i in row)
        if self.left > MARGIN and self.left + wide > self.widest:
            self.left, self.top, self.lowest = MARGIN, self.lowest + 40, 0.0
        corner = self.left, self.top
        placed, drawn, bottom = _placed(shape, links, flipped, self.heights, corner)
        self.boxes |= placed
        self.lines |= drawn
        self.right = max(self.right, self.left + wide)
        self.left += wide + 2.4 * GAP
        self.lowest = max(self.lowest, bottom)

    def loose(self, parts: Sequence[str], top: float, wide: float) -> float:
        """Put parts without a contact in rows from *top*, and return the foot of it all."""
        columns = max(1, int((max(self.right, wide) - MARGIN) // (BOX + GAP)))
        bottom = self.lowest
        for start in range(0, len(parts), columns):
            row = parts[start : start + columns]
            for place, part in enumerate(row):
                x = MARGIN + place * (BOX + GAP)
                self.boxes[part] = Box(x, top, BOX, self.heights[part])
                self.right = max(self.right, x + BOX)
            bottom = top + max(self.heights[part] for part in row)
            top = bottom + GAP
        return bottom


def _groups(parts: Sequence[str], links: Sequence[Link]) -> tuple[list[list[str]], list[str]]:
    """Return the groups of parts that touch, the largest first, and the parts on their own."""
    near: dict[str, list[str]] = {part: [] for part in parts}
    for one in links:
        near[one.upper].append(one.lower)
        near[one.lower].append(one.upper)
    seen: set[str] = set()
    groups: list[list[str]] = []
    for part in parts:
        if part in seen or not near[part]:
            continue
        found, waiting = {part}, [part]
        while waiting:
            for other in near[waiting.pop()]:
                if other not in found:
                    found.add(other)
                    waiting.append(other)
        seen |= found
        groups.append([one for one in parts if one in found])
    groups.sort(key=len, reverse=True)
    return groups, [part for part in parts if not near[part]]


def _placed(
    shape: Rows,
    links: Mapping[int, Link],
    flipped: frozenset[int],
    heights: Mapping[str, float],
    corner: tuple[float, float],
) -> tuple[dict[str, Box], dict[int, tuple[Piece, ...]], float]:
    """Return the boxes and lines of a group whose upper left corner is given, and its foot."""
    left, y = corner
    boxes: dict[str, Box] = {}
    bands: list[tuple[float, float]] = []
    for number, row in enumerate(shape.rows):
        tall = max((heights[one] for one in row if isinstance(one, str)), default=0.0)
        for item in row:
            if isinstance(item, str):
                boxes[item] = Box(left + shape.x[item] - BOX / 2, y, BOX, heights[item])
        bands.append((y, y + tall))
        crossing = sum(len(shape.down.get(item, ())) for item in row)
        y += tall + (min(120.0, 58.0 + 4.0 * crossing) if number + 1 < len(shape.rows) else 0.0)
    ends = _ends(shape, links, flipped, boxes, left)
    drawn: dict[int, tuple[Piece, ...]] = {}
    for i, one in links.items():
        high, low = (one.lower, one.upper) if i in flipped else (one.upper, one.lower)
        way = ((left + shape.x[lane], *bands[lane[1]]) for lane in _lanes(shape, i))
        foot = next(foot for top, foot in bands if top == boxes[high].y)
        drawn[i] = _pieces(boxes[high], boxes[low], (ends[i, "out"], ends[i, "in"]), foot, way)
    return boxes, drawn, bands[-1][1]


def _pieces(
    high: Box,
    low: Box,
    ends: tuple[float, float],
    foot: float,
    lanes: Iterable[tuple[float, float, float]],
) -> tuple[Piece, ...]:
    """Return a line from the upper box by its lanes (x, top, foot) to the lower box.

    *foot* is that of the row in which the upper box stands.
    """
    start, under = ends[0], high.y + high.h
    here = (start, foot)
    pieces = [Piece(start, under, *here)] if foot > under else []
    for x, top, bottom in lanes:
        pieces.append(Piece(*here, x, top))
        if bottom > top:
            pieces.append(Piece(x, top, x, bottom))
        here = (x, bottom)
    return (*pieces, Piece(*here, ends[1], low.y))


def _lanes(shape: Rows, link: int) -> list[Lane]:
    return sorted(
        (item for item in shape.x if not isinstance(item, str) and item[0] == link),
        key=lambda lane: lane[1],
    )


def _ends(
    shape: Rows,
    links: Mapping[int, Link],
    flipped: frozenset[int],
    boxes: Mapping[str, Box],
    left: float,
) -> dict[tuple[int, str], float]:
    """Return where each line leaves its upper box and enters its lower one, spread along it."""
    leaving: dict[str, list[tuple[float, int]]] = {}
    entering: dict[str, list[tuple[float, int]]] = {}
    for i, one in links.items():
        high, low = (one.lower, one.upper) if i in flipped else (one.upper, one.lower)
        lanes: list[Item] = [*_lanes(shape, i)]
        leaving.setdefault(high, []).append((shape.x[(lanes or [low])[0]], i))
        entering.setdefault(low, []).append((shape.x[(lanes or [high])[-1]], i))
    found: dict[tuple[int, str], float] = {}
    for side, sides in (("out", leaving), ("in", entering)):
        for part, lines in sides.items():
            box = boxes[part]
            for x, (_, i) in zip(_spread(box, len(lines)), sorted(lines), strict=True):
                found[i, side] = x
    return found


def _spread(box: Box, many: int) -> Iterable[float]:
    step = min(30.0, (box.w - 24) / many)
    return [box.x + box.w / 2 + step * (i - (many - 1) / 2) for i in range(many)]
