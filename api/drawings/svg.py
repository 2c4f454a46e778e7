"""A sheet of SVG: shapes, patterns and text that is always escaped.

Everything is told twice, by tone and by pattern or line style, so that a sheet stays clear in
black and white. Every sheet has a title and a description as its text alternative.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence
from xml.sax.saxutils import escape, quoteattr

__all__ = ["ACCENT", "INK", "LETTER", "PAPER", "PATTERNS", "QUIET", "Sheet", "number", "wrapped"]

INK, QUIET, ACCENT, PAPER = "#1c1c1a", "#5c5a55", "#14505c", "#ffffff"
FONT = "'Source Sans 3', 'Noto Sans', 'DejaVu Sans', Verdana, sans-serif"
#: Width of a letter as a share of its size, on the wide side so that nothing is clipped.
LETTER = 0.57

#: Name -> size of the tile, and what it shows.
PATTERNS = {
    "hatch": (8, f'<path d="M-2 2L2 -2M0 8L8 0M6 10L10 6" stroke="{QUIET}" stroke-width="1"/>'),
    "dots": (6, f'<circle cx="3" cy="3" r="1.5" fill="{ACCENT}"/>'),
    "dashes": (8, f'<path d="M0 2H5M4 6H8M0 6H1" stroke="{INK}" stroke-width="1.2"/>'),
    "web": (5, f'<path d="M2.5 0V5" stroke="{QUIET}" stroke-width="0.8"/>'),
    "weave": (
        8,
        f'<path d="M0 1.5H3M4.5 1.5H8M0 5.5H1M4 5.5H8M2 2.5V4.5M6 0V1M6 6.5V8" '
        f'stroke="{INK}" stroke-width="1.3"/>',
    ),
    "fine": (5, f'<path d="M0 5L5 0" stroke="{ACCENT}" stroke-width="0.7"/>'),
    "back": (6, f'<path d="M0 0L6 6" stroke="{QUIET}" stroke-width="0.8"/>'),
}
NOT_XML = re.compile("[^\x09\x0a\x0d\x20-\ud7ff\ue000-\ufffd\U00010000-\U0010ffff]")


def number(value: float) -> str:
    """Return a coordinate with two decimals at most.

    >>> number(3.14159), number(2.0)
    ('3.14', '2')
    """
    return f"{value:.2f}".rstrip("0").rstrip(".")


def wrapped(text: str, width: float, size: float = 12.5) -> list[str]:
    """Return the lines of a text that fit a width, by an estimate of the letters' width.

    >>> wrapped("one two three", 60)
    ['one two', 'three']
    """
    most = max(4, int(width / (size * LETTER)))
    lines: list[str] = []
    for word in text.split():
        if lines and len(lines[-1]) + 1 + len(word) <= most:
            lines[-1] += f" {word}"
        else:
            lines.append(word if len(word) <= most else word[: most - 1] + "…")
    return lines


def _clean(text: str) -> str:
    """Return a text without what XML can't hold, escaped."""
    return escape(NOT_XML.sub("", text))


class Sheet:
    """A drawing of 640 units' width that grows downwards."""

    width = 640

    def __init__(self, name: str) -> None:
        self.name = name
        self._parts: list[str] = []
        self._used: set[str] = set()

    def add(self, element: str, **attributes: object) -> None:
        """Add an element; underscores in the names of attributes become hyphens."""
        said = "".join(
            f" {key.rstrip('_').replace('_', '-')}="
            + quoteattr(number(value) if isinstance(value, float) else str(value))
            for key, value in attributes.items()
            if value is not None
        )
        self._parts.append(f"<{element}{said}/>")

    def rect(self, x: float, y: float, w: float, h: float, **style: object) -> None:
        """Add a rectangle."""
        self.add("rect", x=float(x), y=float(y), width=float(w), height=float(h), **style)

    def filled(self, box: tuple[float, float, float, float], pattern: str, tone: str) -> None:
        """Add a rectangle (x, y, width, height) with a tone and a pattern over it."""
        self.rect(*box, fill=tone)
        if pattern:
            self.rect(*box, fill=self.pattern(pattern))

    def pattern(self, name: str) -> str:
        """Return the reference to a pattern, which the sheet will then define."""
        self._used.add(name)
        return f"url(#{self.name}-{name})"

    def line(self, points: Sequence[tuple[float, float]], **style: object) -> None:
        """Add an open line through points."""
        style = {"stroke": INK, "stroke_width": 1.2, "fill": "none", **style}
        self.add("path", d=_path(points), **style)

    def area(self, points: Sequence[tuple[float, float]], **style: object) -> None:
        """Add a closed area."""
        self.add("path", d=_path(points) + "Z", **style)

    def arrow(self, start: tuple[float, float], end: tuple[float, float], **style: object) -> None:
        """Add an arrow with a filled head."""
        (x0, y0), (x1, y1) = start, end
        length = max(1e-6, ((x1 - x0) ** 2 + (y1 - y0) ** 2) ** 0.5)
        ux, uy = (x1 - x0) / length, (y1 - y0) / length
        bx, by = x1 - 9 * ux, y1 - 9 * uy
        colour = style.get("stroke", INK)
        self.line([start, (bx, by)], **{"stroke_width": 2, **style})
        head = [(x1, y1), (bx - 4.5 * uy, by + 4.5 * ux), (bx + 4.5 * uy, by - 4.5 * ux)]
        self.area(head, fill=colour)

    def text(self, x: float, y: float, words: str, size: float = 12.5, **style: object) -> None:
        """Add one line of text; a white edge keeps it clear of what lies behind it."""
        halo = style.pop("halo", None)
        style = {"fill": INK, "font_size": size, **style}
        if halo:
            style |= {"paint_order": "stroke", "stroke": PAPER, "stroke_width": 4}
            style |= {"stroke_linejoin": "round"}
        said = "".join(
            f" {key.rstrip('_').replace('_', '-')}={quoteattr(str(value))}"
            for key, value in style.items()
        )
        self._parts.append(f'<text x="{number(x)}" y="{number(y)}"{said}>{_clean(words)}</text>')

    def paragraph(
        self, x: float, y: float, words: str, width: float, size: float = 12.5, **style: object
    ) -> float:
        """Add lines of text from a baseline down; return the baseline after the last."""
        for line in wrapped(words, width, size):
            self.text(x, y, line, size, **style)
            y += size * 1.35
        return y

    def heading(self, y: float, title: str, below: str = "") -> float:
        """Add the title of a figure and return where the figure may start."""
        for line in wrapped(title, self.width - 40, 15):
            self.text(20, y, line, 15, font_weight="bold")
            y += 19
        return self.paragraph(20, y, below, self.width - 40, 12.5, fill=QUIET) if below else y

    def render(self, height: float, title: str, description: str) -> str:
        """Return the sheet as SVG text."""
        n = self.name
        tiles = "".join(
            f'<pattern id="{n}-{key}" width="{size}" height="{size}" '
            f'patternUnits="userSpaceOnUse">{shape}</pattern>'
            for key, (size, shape) in PATTERNS.items()
            if key in self._used
        )
        high = number(height)
        return (
            f'<svg xmlns="http://www.w3.org/2000/svg" width="{self.width}" height="{high}" '
            f'viewBox="0 0 {self.width} {high}" role="img" '
            f'aria-labelledby="{n}-title {n}-desc" font-family="{FONT}">\n'
            f'<title id="{n}-title">{_clean(title)}</title>\n'
            f'<desc id="{n}-desc">{_clean(description)}</desc>\n'
            f"<defs>{tiles}</defs>\n"
            f'<rect width="{self.width}" height="{high}" fill="{PAPER}"/>\n'
            + "\n".join(self._parts)
            + "\n</svg>\n"
        )


def _path(points: Iterable[tuple[float, float]]) -> str:
    return "M" + "L".join(f"{number(x)} {number(y)}" for x, y in points)
