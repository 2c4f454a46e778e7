"""The picture of an object: its sketch plan small, with numbers for parts and damage, no names.

The names stand beside it in the page. At the left a square holds the number of a part, at the
right a ring that of a damage, each with a line to where it is; the ring is dashed where no place is
recorded, and its line leads to a part that it is on.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from typing import NamedTuple
from xml.sax.saxutils import quoteattr

from leastwise.api.drawings.network_lines import clean
from leastwise.api.drawings.regions import (
    Named,
    ground_of,
    ground_shapes,
    named_regions,
    pattern_of,
    pattern_tile,
    region_shapes,
)
from leastwise.api.drawings.svg import FONT, PATTERNS, number

__all__ = ["Mark", "object_picture", "small_picture"]

INK, PAPER, ALARM = "#23201b", "#ffffff", "#8a2b2b"
#: In units of the drawing, which is shown at about half: the columns of numbers at both sides.
ASIDE, MARGIN, APART, SIDE, RADIUS, SIZE = 64.0, 12.0, 42.0, 36.0, 19.0, 25.0
Point = tuple[float, float]


class Mark(NamedTuple):
    """A damage: its number in the record, its name, its parts, and its place if one is recorded."""

    number: int
    name: str
    parts: tuple[str, ...]
    place: Point | None = None


def object_picture(  # noqa: PLR0913 - what a drawing is told by
    parts: Sequence[tuple[str, str]],
    sketch: Mapping[str, object],
    picture_href: str | None = None,
    *,
    name: str = "object",
    marks: Sequence[Mark] = (),
    title: str = "The object",
) -> str:
    """Return the picture as SVG text, "" where no part has a region and no damage a place.

    *parts* are ids and names in the order of the record, which numbers them; *sketch* is the body
    of a stored sketch; *picture_href* is the address of its photograph if that is its ground.
    """
    ground = ground_of(sketch)
    drawn = named_regions(parts, sketch.get("regions"))
    numbers = {part: i for i, (part, _) in enumerate(parts, 1)}
    size = (ground.width, ground.height)
    placed = list(_placed(marks, drawn, size))
    if not drawn and not placed:
        return ""
    width, height = ground.width + 2 * ASIDE, ground.height + 2 * MARGIN
    told = ", ".join(f"{numbers[one.part]} {one.name}" for one in drawn)
    hurt = ", ".join(f"{one.number} {one.name}" for one, _ in placed)
    said = f"Parts: {told}." * bool(told) + f" Damage: {hurt}." * bool(hurt)
    used = {pattern_of(one.place) for one in drawn}
    corner = (ASIDE, MARGIN)
    left = [(one, _at(one.anchor, size)) for one in drawn]
    return "\n".join(
        [
            f'<svg xmlns="http://www.w3.org/2000/svg" class="sketch object-sketch" '
            f'width="{number(width)}" height="{number(height)}" '
            f'viewBox="0 0 {number(width)} {number(height)}" role="img" '
            f'aria-labelledby="{name}-title {name}-desc" font-family={quoteattr(FONT)}>',
            f'<title id="{name}-title">{clean(title)}</title>',
            f'<desc id="{name}-desc">{clean(said.strip())}</desc>',
            f"<defs>{''.join(pattern_tile(name, key) for key in PATTERNS if key in used)}</defs>",
            ground_shapes(ground, corner, picture_href, str(sketch.get("ground", ""))),
            *(region_shapes(one, name, ground, corner, {}) for one in drawn),
            *(
                _part_number(one.part, numbers[one.part], at, y)
                for (one, at), y in zip(left, _stacked([at for _, at in left], height), strict=True)
            ),
            *(
                _ring(one, at, (width - ASIDE / 2, y))
                for (one, at), y in zip(
                    placed, _stacked([p for _, p in placed], height), strict=True
                )
            ),
            "</svg>\n",
        ]
    )


def small_picture(
    parts: Sequence[tuple[str, str]],
    sketch: Mapping[str, object],
    *,
    name: str,
    marks: Sequence[Mark] = (),
) -> str:
    """Return the picture for a card in a list: no numbers, damage as plain rings, no words.

    A photograph as ground is left out; "" where there is no silhouette either.
    """
    ground = ground_of(sketch)
    if not ground.silhouette:
        return ""
    drawn = named_regions(parts, sketch.get("regions"))
    size, corner = (ground.width, ground.height), (ASIDE, MARGIN)
    width, height = size[0] + 2 * ASIDE, size[1] + 2 * MARGIN
    used = {pattern_of(one.place) for one in drawn}
    rings = (
        f'<circle cx="{number(x)}" cy="{number(y)}" r="{RADIUS:g}" fill="{PAPER}" '
        f'fill-opacity="0.6" stroke="{ALARM}" stroke-width="7"/>'
        for _, (x, y) in _placed(marks, drawn, size)
    )
    return "".join(
        [
            f'<svg xmlns="http://www.w3.org/2000/svg" class="sketch object-sketch" '
            f'width="{number(width)}" height="{number(height)}" '
            f'viewBox="0 0 {number(width)} {number(height)}" aria-hidden="true">',
            f"<defs>{''.join(pattern_tile(name, key) for key in PATTERNS if key in used)}</defs>",
            ground_shapes(ground, corner, None, str(sketch.get("ground", ""))),
            *(region_shapes(one, name, ground, corner, {}) for one in drawn),
            *rings,
            "</svg>",
        ]
    )


def _at(share: Point, size: Point) -> Point:
    return ASIDE + share[0] * size[0], MARGIN + share[1] * size[1]


def _stacked(points: Sequence[Point], height: float) -> list[float]:
    """Return how high each number stands at the side: near its point, none over another."""
    order = sorted(range(len(points)), key=lambda i: (points[i][1], i))
    step = min(APART, (height - APART) / max(1, len(points) - 1))
    found = [0.0] * len(points)
    free = APART / 2
    for i in order:
        found[i] = free = max(points[i][1], free)
        free += step
    low = height - APART / 2
    for i in reversed(order):  # back up from the foot
        found[i] = min(found[i], low)
        low = found[i] - step
    return found


def _lead(start: Point, end: Point) -> str:
    way = f"M{number(start[0])} {number(start[1])}L{number(end[0])} {number(end[1])}"
    return (
        f'<path d="{way}" fill="none" stroke="{PAPER}" stroke-width="5"/>'
        f'<path d="{way}" fill="none" stroke="{INK}" stroke-width="1.4"/>'
        f'<circle cx="{number(end[0])}" cy="{number(end[1])}" r="5" fill="{INK}" stroke="{PAPER}"/>'
    )


def _part_number(part: str, count: int, at: Point, y: float) -> str:
    x = ASIDE / 2
    left, top = number(x - SIDE / 2), number(y - SIDE / 2)
    return (
        f'<g class="part-number" data-part="{clean(part)}">{_lead((x + SIDE / 2, y), at)}'
        f'<rect x="{left}" y="{top}" width="{SIDE:g}" height="{SIDE:g}" rx="4" fill="{PAPER}" '
        f'stroke="{INK}" stroke-width="1.6"/>{_figure(x, y, count, INK)}</g>'
    )


def _placed(
    marks: Sequence[Mark], drawn: Sequence[Named], size: Point
) -> Iterator[tuple[Mark, Point]]:
    """Yield each damage with the point it is at: its place, else that of a part it is on."""
    anchors = {one.part: one.anchor for one in drawn}
    for one in marks:
        part = next((p for p in one.parts if p in anchors), "")
        if one.place is not None:
            yield one, _at(one.place, size)
        elif part:
            yield one, _at(anchors[part], size)


def _ring(one: Mark, at: Point, stands: Point) -> str:
    dash = "" if one.place is not None else ' stroke-dasharray="6 4"'
    x, y = stands
    return (
        f'<g class="damage-ring" data-mark="{one.number}">'
        f"<title>{clean(f'{one.number}: {one.name}')}</title>{_lead((x - RADIUS, y), at)}"
        f'<circle cx="{number(x)}" cy="{number(y)}" r="{RADIUS:g}" fill="{PAPER}" '
        f'stroke="{ALARM}" stroke-width="3"{dash}/>{_figure(x, y, one.number, ALARM)}</g>'
    )


def _figure(x: float, y: float, count: int, ink: str) -> str:
    return (
        f'<text x="{number(x)}" y="{number(y + SIZE * 0.36)}" text-anchor="middle" '
        f'font-size="{SIZE:g}" font-weight="700" fill="{ink}">{count}</text>'
    )
