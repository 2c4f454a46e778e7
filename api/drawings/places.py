"""Places of damage on the sketch plan: a numbered mark each, numbered as in the record."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import NamedTuple

from leastwise.api.drawings.network_lines import clean
from leastwise.api.drawings.svg import number

__all__ = ["Place", "place_marks"]

RADIUS, SIZE = 9.0, 11.0
INK, PAPER = "#23201b", "#ffffff"


class Place(NamedTuple):
    """A damage at a place: its number in the record, its name, shares from left and from top."""

    number: int
    name: str
    x: float
    y: float


def place_marks(
    places: Sequence[Place], width: float, height: float, corner: tuple[float, float]
) -> Iterator[str]:
    """Yield the marks of places over a ground of that size whose upper left corner is given."""
    for one in places:
        x, y = corner[0] + one.x * width, corner[1] + one.y * height
        yield (
            f'<g class="damage-place"><title>{clean(f"{one.number}: {one.name}")}</title>'
            f'<circle cx="{number(x)}" cy="{number(y)}" r="{number(RADIUS)}" fill="{PAPER}" '
            f'stroke="{INK}" stroke-width="1.6"/>'
            f'<text x="{number(x)}" y="{number(y + SIZE * 0.36)}" text-anchor="middle" '
            f'font-size="{number(SIZE)}" font-weight="600" fill="{INK}">{one.number}</text></g>'
        )
