"""The small drawing of a concept, where there is one, as SVG with its text alternative."""

from __future__ import annotations

from leastwise.api.drawings.told_apart.damages import DAMAGES
from leastwise.api.drawings.told_apart.pen import Pen
from leastwise.api.drawings.told_apart.techniques import TECHNIQUES

__all__ = ["DRAWN", "drawing_of"]

_ALL = {**DAMAGES, **TECHNIQUES}
#: The concepts that have a drawing.
DRAWN = frozenset(_ALL)


def drawing_of(concept: str, title: str, description: str, within: str = "drawing") -> str:
    """Return the drawing of a concept, or "" where it has none.

    *title* and *description* are read out in its place; *within* keeps ids of one page apart.
    """
    draw = _ALL.get(concept)
    if draw is None:
        return ""
    pen = Pen()
    draw(pen)
    return pen.svg(f"{within}-{concept.replace(':', '-')}", title, description)
