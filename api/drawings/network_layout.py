"""Where the parts of a network stand: in rows, the upper part above the lower, lines between.

Boxes stand in rows and lines pass the rows in lanes of their own, so that no box covers another
and no line runs through a box. The same network always gives the same places.
"""

from __future__ import annotations

from bisect import bisect_right, insort
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from itertools import pairwise

__all__ = ["Box", "Layout", "Link", "Piece", "laid_out"]

BOX, GAP, LANE, MARGIN = 146.0, 18.0, 4.0, 16.0
MOST_IN_ROW = 5
SWEEPS = 10

Lane = tuple[int, int]  # number of the link, row that it passes
Item = str | Lane


@dataclass(frozen=True, slots=True)
class Link:
    """Two parts that touch; *fixed* if the first is known to be the upper one."""

    upper: str
    lower: str
    fixed: bool = False


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

    boxes: dict[str, Box]
    lines: tuple[tuple[Piece, ...], ...]
    turned: frozenset[int]
    loose: tuple[str, ...]
    width: float
    height: float
    loose_top: float


@dataclass
class _Rows:
    """The rows of one connected group while they are worked on."""

    rows: list[list[Item]]
    up: dict[Item, list[Item]] = field(default_factory=dict)
    down: dict[Item, list[Item]] = field(default_factory=dict)
    x: dict[Item, float] = field(default_factory=dict)


def laid_out(
    parts: Sequence[str], links: Sequence[Link], heights: Mapping[str, float], widest: float = 940.0
) -> Layout:
    """Return the places of *parts* and *links*; *heights* are those of the boxes.

    Groups that don't touch stand beside each other as far as *widest* allows; parts without any
    contact stand below.
    """
    groups, loose = _groups(parts, links)
    boxes: dict[str, Box] = {}
    lines: dict[int, tuple[Piece, ...]] = {}
    turned: set[int] = set()
    left, top, lowest, right = MARGIN, MARGIN, 0.0, 0.0
    for members in groups:
        mine = {i: one for i, one in enumerate(links) if one.upper in members}
        row_of, flipped = _rows_of(members, mine)
        turned |= flipped
        shape = _ordered(members, mine, row_of, flipped)
        _put_beside(shape)
        wide = max(shape.x[i] + _width(i) / 2 for row in shape.rows for i in row)
        if left > MARGIN and left + wide > widest:
            left, top, lowest = MARGIN, lowest + 40, 0.0
        placed, drawn, bottom = _placed(shape, mine, flipped, heights, (left, top))
        boxes |= placed
        lines |= drawn
        right, left = max(right, left + wide), left + wide + 2.4 * GAP
        lowest = max(lowest, bottom)
    loose_top = (lowest if groups else 0.0) + 34
    bottom = lowest
    columns = max(1, int((max(right, widest if not groups else 640.0) - MARGIN) // (BOX + GAP)))
    y = loose_top
    for start in range(0, len(loose), columns):
        row = loose[start : start + columns]
        for place, part in enumerate(row):
            x = MARGIN + place * (BOX + GAP)
            boxes[part] = Box(x, y, BOX, heights[part])
            right = max(right, x + BOX)
        bottom = y + max(heights[part] for part in row)
        y = bottom + GAP
    return Layout(
        boxes,
        tuple(lines[i] for i in range(len(links))),
        frozenset(turned),
        tuple(loose),
        max(right, 200.0) + MARGIN,
        bottom + MARGIN,
        loose_top,
    )


def _width(item: Item) -> float:
    return BOX if isinstance(item, str) else LANE


def _room(left: Item, right: Item) -> float:
    """Return how far the middles of two neighbours in a row stand apart at least."""
    lanes = isinstance(left, tuple) + isinstance(right, tuple)
    return (_width(left) + _width(right)) / 2 + (GAP, 14.0, 11.0)[lanes]


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


def _sequence(members: Sequence[str], links: Mapping[int, Link]) -> list[str]:
    """Return an order that few links run against; a link whose order is known counts tenfold."""
    into: dict[str, dict[str, int]] = {part: {} for part in members}
    out: dict[str, dict[str, int]] = {part: {} for part in members}
    for one in links.values():
        weight = 10 if one.fixed else 1
        out[one.upper][one.lower] = out[one.upper].get(one.lower, 0) + weight
        into[one.lower][one.upper] = into[one.lower].get(one.upper, 0) + weight
    left = list(members)
    first: list[str] = []
    last: list[str] = []
    while left:
        sink = next((part for part in left if not out[part]), None)
        source = next((part for part in left if not into[part]), None)
        if sink is not None:
            taken = sink
            last.append(taken)
        else:
            taken = source or max(
                left, key=lambda part: sum(out[part].values()) - sum(into[part].values())
            )
            first.append(taken)
        left.remove(taken)
        for other in out.pop(taken):
            into[other].pop(taken, None)
        for other in into.pop(taken):
            out[other].pop(taken, None)
    return first + last[::-1]


def _rows_of(
    members: Sequence[str], links: Mapping[int, Link]
) -> tuple[dict[str, int], frozenset[int]]:
    """Return the row of each part, and the links that have to be turned round for it."""
    place = {part: i for i, part in enumerate(_sequence(members, links))}
    flipped = frozenset(i for i, one in links.items() if place[one.upper] > place[one.lower])
    above: dict[str, set[str]] = {part: set() for part in members}
    below: dict[str, set[str]] = {part: set() for part in members}
    for i, one in links.items():
        high, low = (one.lower, one.upper) if i in flipped else (one.upper, one.lower)
        above[low].add(high)
        below[high].add(low)
    row: dict[str, int] = {}
    filled: dict[int, int] = {}
    for part in sorted(members, key=lambda one: place[one]):
        wanted = max((row[one] + 1 for one in above[part]), default=0)
        while filled.get(wanted, 0) >= MOST_IN_ROW:
            wanted += 1
        row[part] = wanted
        filled[wanted] = filled.get(wanted, 0) + 1
    for part in sorted(members, key=lambda one: -row[one]):  # towards what lies below
        if below[part] and len(above[part]) < len(below[part]):
            wanted = min(row[one] for one in below[part]) - 1
            while wanted > row[part] and filled.get(wanted, 0) >= MOST_IN_ROW:
                wanted -= 1
            if wanted > row[part]:
                filled[row[part]] -= 1
                row[part] = wanted
                filled[wanted] = filled.get(wanted, 0) + 1
    used = {old: new for new, old in enumerate(sorted(set(row.values())))}
    return {part: used[old] for part, old in row.items()}, flipped


def _ordered(
    members: Sequence[str],
    links: Mapping[int, Link],
    row_of: Mapping[str, int],
    flipped: frozenset[int],
) -> _Rows:
    """Return the rows with lanes for the lines that pass them, in an order with few crossings."""
    shape = _Rows([[] for _ in range(1 + max(row_of.values()))])
    for part in members:
        shape.rows[row_of[part]].append(part)
    for i, one in links.items():
        high, low = (one.lower, one.upper) if i in flipped else (one.upper, one.lower)
        way: list[Item] = [high]
        for row in range(row_of[high] + 1, row_of[low]):
            shape.rows[row].append((i, row))
            way.append((i, row))
        for a, b in pairwise([*way, low]):
            shape.down.setdefault(a, []).append(b)
            shape.up.setdefault(b, []).append(a)
    shape.rows = [_mixed(row) for row in shape.rows]
    best, fewest = [list(row) for row in shape.rows], _crossings(shape)
    for sweep in range(SWEEPS):
        downwards = sweep % 2 == 0
        near = shape.up if downwards else shape.down
        order = range(len(shape.rows)) if downwards else reversed(range(len(shape.rows)))
        for number in order:
            _sort_row(shape, number, number + (-1 if downwards else 1), near)
        crossings = _crossings(shape)
        if crossings < fewest:
            best, fewest = [list(row) for row in shape.rows], crossings
        if not fewest:
            break
    shape.rows = best
    return shape


def _mixed(row: Sequence[Item]) -> list[Item]:
    """Return a row with its lanes spread evenly among its boxes."""
    found: list[tuple[float, int, Item]] = []
    for kind in (str, tuple):
        same = [item for item in row if isinstance(item, kind)]
        found += [((i + 0.5) / len(same), len(found) + i, item) for i, item in enumerate(same)]
    return [item for _, _, item in sorted(found, key=lambda one: one[:2])]


def _sort_row(shape: _Rows, number: int, beside: int, near: Mapping[Item, Sequence[Item]]) -> None:
    if not 0 <= beside < len(shape.rows):
        return
    place = {item: i for i, item in enumerate(shape.rows[beside])}
    stretch = len(shape.rows[beside]) / max(1, len(shape.rows[number]))
    key: dict[Item, float] = {}
    for i, item in enumerate(shape.rows[number]):
        found = [place[one] for one in near.get(item, ())]
        key[item] = sum(found) / len(found) if found else i * stretch
    shape.rows[number].sort(key=lambda item: key[item])


def _crossings(shape: _Rows) -> int:
    """Return how often lines cross between neighbouring rows."""
    total = 0
    for upper, lower in pairwise(shape.rows):
        place = {item: i for i, item in enumerate(lower)}
        seen: list[int] = []
        for item in upper:
            ends = sorted(place[one] for one in shape.down.get(item, ()))
            total += sum(len(seen) - bisect_right(seen, end) for end in ends)
            for end in ends:
                insort(seen, end)
    return total


def _put_beside(shape: _Rows) -> None:
    """Give every item a place from left to right, near to what it is joined to."""
    for row in shape.rows:
        x = 0.0
        for i, item in enumerate(row):
            x += _room(row[i - 1], item) if i else 0.0
            shape.x[item] = x
    rows = list(range(len(shape.rows)))
    for sweep in range(8):
        for number in rows if sweep % 2 == 0 else rows[::-1]:
            row = shape.rows[number]
            wanted, weight = [], []
            for item in row:
                up, down = shape.up.get(item, []), shape.down.get(item, [])
                near = [*up, *down] if sweep > 3 else (up or down) if sweep % 2 == 0 else down or up
                wanted.append(
                    sum(shape.x[one] for one in near) / len(near) if near else shape.x[item]
                )
                weight.append(len(near) * (1.0 if isinstance(item, str) else 2.0) or 0.1)
            for item, x in zip(row, _apart(row, wanted, weight), strict=True):
                shape.x[item] = x
    least = min(shape.x[item] - _width(item) / 2 for row in shape.rows for item in row)
    for item in shape.x:
        shape.x[item] -= least


def _apart(row: Sequence[Item], wanted: Sequence[float], weight: Sequence[float]) -> list[float]:
    """Return places as near as may be to those wanted, in order and with room between.

    Least squares under an order: pool adjacent violators on what is left of each place after the
    room that the items before it need is taken off.
    """
    offset, offsets = 0.0, []
    for i, item in enumerate(row):
        if i:
            offset += _room(row[i - 1], item)
        offsets.append(offset)
    blocks: list[tuple[float, float, int]] = []  # mean, weight, how many
    for place, own, heavy in zip(wanted, offsets, weight, strict=True):
        block = (place - own, heavy, 1)
        while blocks and blocks[-1][0] > block[0]:
            mean, mass, many = blocks.pop()
            total = mass + block[1]
            block = ((mean * mass + block[0] * block[1]) / total, total, many + block[2])
        blocks.append(block)
    levels = [mean for mean, _, many in blocks for _ in range(many)]
    return [level + own for level, own in zip(levels, offsets, strict=True)]


def _placed(
    shape: _Rows,
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
        start, under = ends[i, "out"], boxes[high].y + boxes[high].h
        here = (start, next(foot for top, foot in bands if top == boxes[high].y))
        pieces = [Piece(start, under, *here)] if here[1] > under else []
        for lane in _lanes(shape, i):
            x = left + shape.x[lane]
            top, foot = bands[lane[1]]
            pieces.append(Piece(*here, x, top))
            if foot > top:
                pieces.append(Piece(x, top, x, foot))
            here = (x, foot)
        pieces.append(Piece(*here, ends[i, "in"], boxes[low].y))
        drawn[i] = tuple(pieces)
    return boxes, drawn, bands[-1][1]


def _lanes(shape: _Rows, link: int) -> list[Lane]:
    return sorted(
        (item for item in shape.x if not isinstance(item, str) and item[0] == link),
        key=lambda lane: lane[1],
    )


def _ends(
    shape: _Rows,
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
