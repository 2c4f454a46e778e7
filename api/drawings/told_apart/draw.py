"""The small drawing of a concept, where there is one, as SVG with its text alternative."""

from __future__ import annotations

from functools import cache

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
    if concept not in DRAWN:
        return ""
    return _drawn(concept).svg(f"{within}-{concept.replace(':', '-')}", title, description)


@cache
def _drawn(concept: str) -> Pen:
    """Return a pen that has drawn a concept; a page shows tens of drawings, always the same."""
    pen = Pen()
    _ALL[concept](pen)
    return pen
