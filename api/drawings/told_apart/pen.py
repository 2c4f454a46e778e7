"""A pen for small drawings of cloth: yarns, weaves, stitches and sections, in one colour.

All is drawn in the colour of the text around it, by width, dash and tone, so that a drawing is
clear in black and white and on a dark page alike. Lengths are units of a field of 180 by 120.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from xml.sax.saxutils import escape, quoteattr

from leastwise.api.drawings.svg import NOT_XML, number

__all__ = ["HIGH", "PITCH", "WIDE", "Pen", "Point", "Yarns", "everywhere", "nowhere"]

WIDE, HIGH, PITCH = 180, 120, 12
Point = tuple[float, float]
#: Whether a yarn is there at a crossing: column and row, counted from the upper left.
Yarns = Callable[[int, int], bool]
#: How much of the pitch a yarn takes, and how far it is interrupted where it passes under another.
_YARN, _UNDER = 5.0, 4.6


def everywhere(column: int, row: int) -> bool:
    """Return that a yarn is there at any crossing."""
    return True


def nowhere(column: int, row: int) -> bool:
    """Return that no yarn is there."""
    return False


class Pen:
    """Draws on a field of 180 by 120."""

    def __init__(self) -> None:
        self._parts: list[str] = []

    def path(self, d: str, width: float = 1.6, **style: object) -> None:
        """Draw an open line along an SVG path."""
        said = {"stroke-width": width, "fill": "none", "stroke-linecap": "round"}
        said |= {key.replace("_", "-"): value for key, value in style.items()}
        self._parts.append(
            f"<path d={quoteattr(d)}"
            + "".join(f" {key}={quoteattr(str(value))}" for key, value in said.items())
            + "/>"
        )

    def line(self, points: Sequence[Point], width: float = 1.6, **style: object) -> None:
        """Draw a line through points."""
        d = "M" + "L".join(f"{number(x)} {number(y)}" for x, y in points)
        self.path(d, width, **style)

    def tone(self, points: Sequence[Point], strength: float = 0.22) -> None:
        """Fill an area with a tone of the colour."""
        d = "M" + "L".join(f"{number(x)} {number(y)}" for x, y in points) + "Z"
        self._parts.append(
            f'<path d="{d}" fill="currentColor" stroke="none" opacity="{strength}"/>'
        )

    def dot(self, x: float, y: float, r: float = 1.6, strength: float = 1.0) -> None:
        """Draw a dot."""
        at = f'cx="{number(x)}" cy="{number(y)}" r="{number(r)}"'
        self._parts.append(
            f'<circle {at} fill="currentColor" stroke="none" opacity="{number(strength)}"/>'
        )

    def ring(self, x: float, y: float, r: float, width: float = 1.6) -> None:
        """Draw a circle, such as a yarn seen in section."""
        at = f'cx="{number(x)}" cy="{number(y)}" r="{number(r)}"'
        self._parts.append(f'<circle {at} fill="none" stroke-width="{number(width)}"/>')

    def word(self, x: float, y: float, text: str, anchor: str = "middle") -> None:
        """Write a short word."""
        self._parts.append(
            f'<text x="{number(x)}" y="{number(y)}" text-anchor="{anchor}" font-size="9" '
            f'fill="currentColor" stroke="none">{escape(text)}</text>'
        )

    def weave(  # noqa: PLR0913 - what is there of the two sets, and where the piece lies
        self,
        warp: Yarns = everywhere,
        weft: Yarns = everywhere,
        *,
        columns: int = 14,
        rows: int = 9,
        left: float = 12,
        top: float = 12,
        width: float = _YARN,
        opacity: float = 0.55,
    ) -> None:
        """Draw a plain weave: short strokes that pass over and under one another in turn."""
        half = PITCH / 2
        for i in range(columns):
            for j in range(rows):
                x, y = left + i * PITCH, top + j * PITCH
                over = (i + j) % 2 == 0
                if warp(i, j):
                    gap = 0 if over or not weft(i, j) else _UNDER
                    self._yarn((x, y - half), (x, y + half), gap, width, opacity)
                if weft(i, j):
                    gap = 0 if not over or not warp(i, j) else _UNDER
                    self._yarn((x - half, y), (x + half, y), gap, width, opacity)

    def _yarn(self, start: Point, end: Point, gap: float, width: float, opacity: float) -> None:
        style = {"stroke_linecap": "butt", "opacity": opacity}
        if not gap:
            self.line([start, end], width, **style)
            return
        (x0, y0), (x1, y1) = start, end
        length = abs(x1 - x0) + abs(y1 - y0)
        ux, uy, keep = (x1 - x0) / length, (y1 - y0) / length, length / 2 - gap
        if keep > 0:
            self.line([start, (x0 + ux * keep, y0 + uy * keep)], width, **style)
            self.line([(x1 - ux * keep, y1 - uy * keep), end], width, **style)

    def section(
        self, y: float, left: float = 14, right: float = 166, radius: float = 6, step: float = 19
    ) -> list[float]:
        """Draw a cloth cut across: one set as rings, the other as a wave; return the rings' x."""
        places: list[float] = []
        x = left
        while x <= right:
            places.append(x)
            self.ring(x, y, radius, 1.4)
            x += step
        d = f"M{number(left - step / 2)} {number(y)}"
        for n, x in enumerate(places):
            side = y - radius - 2.5 if n % 2 == 0 else y + radius + 2.5
            d += f"Q{number(x)} {number(2 * side - y)} {number(x + step / 2)} {number(y)}"
        self.path(d, 1.8, opacity=0.6)
        return places

    def arrow(self, start: Point, end: Point) -> None:
        """Draw a thin arrow."""
        (x0, y0), (x1, y1) = start, end
        length = max(1e-6, ((x1 - x0) ** 2 + (y1 - y0) ** 2) ** 0.5)
        ux, uy = (x1 - x0) / length, (y1 - y0) / length
        self.line([start, end], 1.2)
        for side in (1, -1):
            tip = (x1 - 5 * ux - side * 3 * uy, y1 - 5 * uy + side * 3 * ux)
            self.line([tip, end], 1.2)

    def svg(self, name: str, title: str, description: str) -> str:
        """Return the drawing; *name* keeps the ids of its title and description apart."""
        told = NOT_XML.sub("", title), NOT_XML.sub("", description)
        return (
            f'<svg xmlns="http://www.w3.org/2000/svg" class="told-apart" '
            f'viewBox="0 0 {WIDE} {HIGH}" '
            f'width="{WIDE}" height="{HIGH}" role="img" stroke="currentColor" '
            f'aria-labelledby="{name}-title {name}-desc">'
            f'<title id="{name}-title">{escape(told[0])}</title>'
            f'<desc id="{name}-desc">{escape(told[1])}</desc>' + "".join(self._parts) + "</svg>"
        )
