"""The rows of a network: which part stands in which row, and from left to right.

The upper of two parts stands in a higher row; lines that pass a row have a lane of their own in
it. Few links run against the order of the rows, and few lines cross.
"""

from __future__ import annotations

from bisect import bisect_right, insort
from collections import Counter
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from itertools import pairwise

__all__ = ["BOX", "GAP", "Item", "Lane", "Link", "Rows", "in_rows", "width_of"]

BOX, GAP, LANE = 146.0, 18.0, 4.0
MOST_IN_ROW = 5
SWEEPS, SHIFTS = 10, 8

Lane = tuple[int, int]  # number of the link, row that it passes
Item = str | Lane


@dataclass(frozen=True, slots=True)
class Link:
    """Two parts that touch; *fixed* if the first is known to be the upper one."""

    upper: str
    lower: str
    fixed: bool = False


@dataclass
class Rows:
    """The rows of one connected group while they are worked on."""

    rows: list[list[Item]]
    up: dict[Item, list[Item]] = field(default_factory=dict)
    down: dict[Item, list[Item]] = field(default_factory=dict)
    x: dict[Item, float] = field(default_factory=dict)


def in_rows(members: Sequence[str], links: Mapping[int, Link]) -> tuple[Rows, frozenset[int]]:
    """Return one connected group in rows, and the links that are turned round for it."""
    row_of, flipped = _rows_of(members, links)
    shape = _ordered(members, links, row_of, flipped)
    _put_beside(shape)
    return shape, flipped


def width_of(item: Item) -> float:
    """Return how much of a row a box or a lane takes."""
    return BOX if isinstance(item, str) else LANE


def _room(left: Item, right: Item) -> float:
    """Return how far the middles of two neighbours in a row stand apart at least."""
    lanes = isinstance(left, tuple) + isinstance(right, tuple)
    return (width_of(left) + width_of(right)) / 2 + (GAP, 14.0, 11.0)[lanes]


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
    row = _from_above(sorted(members, key=lambda one: place[one]), above)
    _towards_below(row, members, above, below)
    used = {old: new for new, old in enumerate(sorted(set(row.values())))}
    return {part: used[old] for part, old in row.items()}, flipped


def _from_above(in_order: Iterable[str], above: Mapping[str, set[str]]) -> dict[str, int]:
    """Return the first row of each part that lies below all that stands above it."""
    row: dict[str, int] = {}
    filled: dict[int, int] = {}
    for part in in_order:
        wanted = max((row[one] + 1 for one in above[part]), default=0)
        while filled.get(wanted, 0) >= MOST_IN_ROW:
            wanted += 1
        row[part] = wanted
        filled[wanted] = filled.get(wanted, 0) + 1
    return row


def _towards_below(
    row: dict[str, int],
    members: Sequence[str],
    above: Mapping[str, set[str]],
    below: Mapping[str, set[str]],
) -> None:
    """Move each part that has more below than above it down, as near as its rows have room."""
    filled = Counter(row.values())
    for part in sorted(members, key=lambda one: -row[one]):
        if below[part] and len(above[part]) < len(below[part]):
            wanted = min(row[one] for one in below[part]) - 1
            while wanted > row[part] and filled.get(wanted, 0) >= MOST_IN_ROW:
                wanted -= 1
            if wanted > row[part]:
                filled[row[part]] -= 1
                row[part] = wanted
                filled[wanted] = filled.get(wanted, 0) + 1


def _ordered(
    members: Sequence[str],
    links: Mapping[int, Link],
    row_of: Mapping[str, int],
    flipped: frozenset[int],
) -> Rows:
    """Return the rows with lanes for the lines that pass them, in an order with few crossings."""
    shape = _with_lanes(members, links, row_of, flipped)
    best, fewest = [list(row) for row in shape.rows], _crossings(shape)
    for sweep in range(SWEEPS):
        _sweep(shape, is_downwards=sweep % 2 == 0)
        crossings = _crossings(shape)
        if crossings < fewest:
            best, fewest = [list(row) for row in shape.rows], crossings
        if not fewest:
            break
    shape.rows = best
    return shape


def _with_lanes(
    members: Sequence[str],
    links: Mapping[int, Link],
    row_of: Mapping[str, int],
    flipped: frozenset[int],
) -> Rows:
    """Return the rows as the parts come, with a lane in each row that a line passes."""
    shape = Rows([[] for _ in range(1 + max(row_of.values()))])
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
    return shape


def _sweep(shape: Rows, *, is_downwards: bool) -> None:
    """Order each row by what it is joined to in the row before, from top to foot or back."""
    near = shape.up if is_downwards else shape.down
    order = range(len(shape.rows)) if is_downwards else reversed(range(len(shape.rows)))
    for number in order:
        _sort_row(shape, number, number + (-1 if is_downwards else 1), near)


def _mixed(row: Sequence[Item]) -> list[Item]:
    """Return a row with its lanes spread evenly among its boxes."""
    found: list[tuple[float, int, Item]] = []
    for kind in (str, tuple):
        same = [item for item in row if isinstance(item, kind)]
        found += [((i + 0.5) / len(same), len(found) + i, item) for i, item in enumerate(same)]
    return [item for _, _, item in sorted(found, key=lambda one: one[:2])]


def _sort_row(shape: Rows, number: int, beside: int, near: Mapping[Item, Sequence[Item]]) -> None:
    if not 0 <= beside < len(shape.rows):
        return
    place = {item: i for i, item in enumerate(shape.rows[beside])}
    stretch = len(shape.rows[beside]) / max(1, len(shape.rows[number]))
    key: dict[Item, float] = {}
    for i, item in enumerate(shape.rows[number]):
        found = [place[one] for one in near.get(item, ())]
        key[item] = sum(found) / len(found) if found else i * stretch
    shape.rows[number].sort(key=lambda item: key[item])


def _crossings(shape: Rows) -> int:
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


def _put_beside(shape: Rows) -> None:
    """Give every item a place from left to right, near to what it is joined to."""
    for row in shape.rows:
        x = 0.0
        for i, item in enumerate(row):
            x += _room(row[i - 1], item) if i else 0.0
            shape.x[item] = x
    rows = list(range(len(shape.rows)))
    for sweep in range(SHIFTS):
        for number in rows if sweep % 2 == 0 else rows[::-1]:
            _shift(shape, shape.rows[number], sweep)
    least = min(shape.x[item] - width_of(item) / 2 for row in shape.rows for item in row)
    for item in shape.x:
        shape.x[item] -= least


def _shift(shape: Rows, row: Sequence[Item], sweep: int) -> None:
    """Move the items of a row towards what they are joined to: above, below, at last both."""
    wanted, weight = [], []
    for item in row:
        up, down = shape.up.get(item, []), shape.down.get(item, [])
        near = [*up, *down] if sweep > 3 else (up or down) if sweep % 2 == 0 else down or up
        wanted.append(sum(shape.x[one] for one in near) / len(near) if near else shape.x[item])
        weight.append(len(near) * (1.0 if isinstance(item, str) else 2.0) or 0.1)
    for item, x in zip(row, _apart(row, wanted, weight), strict=True):
        shape.x[item] = x


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
