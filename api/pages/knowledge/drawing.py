"""Ways as threads between two things: one row for each, drawn as SVG within a page.

The same is told in sentences beside it, so the drawing is a picture for who sees it.
"""

from __future__ import annotations

import textwrap
from collections.abc import Sequence
from dataclasses import dataclass

from markupsafe import Markup, escape

__all__ = ["Thread", "draw_threads"]

BOX, TALL, GAP, ROW, EDGE, BEND = 148, 44, 152, 74, 8, 44
Point = tuple[float, float]
_LINE = 20  # characters of a line in a box


@dataclass(frozen=True, slots=True)
class Thread:
    """One way: the things on it from start to end, and between each two a word.

    *tones* go with the words: "harm" is drawn double, "loose" dotted, "" as a running stitch.
    """

    nodes: tuple[str, ...]
    words: tuple[str, ...]
    tones: tuple[str, ...]


def draw_threads(threads: Sequence[Thread], title: str) -> Markup:
    """Return the drawing; all threads begin and end at the same things."""
    longest = max(len(t.nodes) for t in threads)
    width = longest * BOX + (longest - 1) * GAP + 2 * EDGE
    height = len(threads) * ROW + 2 * EDGE
    middle = height / 2
    left, right = EDGE, width - EDGE - BOX
    pieces: list[Markup] = []
    for number, thread in enumerate(threads):
        y = EDGE + ROW * (number + 0.5)
        pieces += _thread(thread, y, middle, left, right)
    pieces.append(_box(threads[0].nodes[0], left, middle, "end"))
    pieces.append(_box(threads[0].nodes[-1], right, middle, "end"))
    return Markup(
        '<svg class="threads" role="img" viewBox="0 0 {w:.0f} {h:.0f}" width="{w:.0f}" '
        'height="{h:.0f}"><title>{title}</title>{inner}</svg>'
    ).format(w=width, h=height, title=title, inner=Markup("").join(pieces))


def _thread(thread: Thread, y: float, middle: float, left: float, right: float) -> list[Markup]:
    inner = thread.nodes[1:-1]
    free = right - left - BOX  # between the two ends
    gap = (free - len(inner) * BOX) / (len(inner) + 1)
    starts = [left + BOX + gap * (i + 1) + BOX * i for i in range(len(inner))]
    points = [(left + BOX, middle), *((x, y) for x in starts), (right, middle)]
    pieces = []
    for i, (word, tone) in enumerate(zip(thread.words, thread.tones, strict=True)):
        begin = points[0] if i == 0 else (starts[i - 1] + BOX, y)
        pieces.append(_stitch(begin, points[i + 1], y, word, tone))
    return [*pieces, *(_box(n, x, y, "inner") for n, x in zip(inner, starts, strict=True))]


def _lines_above(lines: Sequence[str], middle: float, y: float) -> Markup:
    return Markup("").join(
        Markup('<tspan x="{:.0f}" y="{:.1f}">{}</tspan>').format(
            middle, y - 6 - 13 * (len(lines) - 1 - i), line
        )
        for i, line in enumerate(lines)
    )


def _stitch(begin: Point, end: Point, y: float, word: str, tone: str) -> Markup:
    """Return a line from one box to the next, bent only near a shared end, with its word above.

    The word stands on the level part, so that no line runs through it.
    """
    (x0, y0), (x1, y1) = begin, end
    bend0, bend1 = (BEND if y0 != y else 0.0), (BEND if y1 != y else 0.0)
    way = f"M{x0:.0f} {y0:.1f}"
    if bend0:
        half = x0 + bend0 / 2
        way += f"C{half:.0f} {y0:.1f} {half:.0f} {y:.1f} {x0 + bend0:.0f} {y:.1f}"
    way += f"H{x1 - bend1:.0f}"
    if bend1:
        half = x1 - bend1 / 2
        way += f"C{half:.0f} {y:.1f} {half:.0f} {y1:.1f} {x1:.0f} {y1:.1f}"
    middle = (x0 + bend0 + x1 - bend1) / 2
    lines = textwrap.wrap(word, max(9, int((x1 - x0 - bend0 - bend1) / 7.2)))[:2] or [""]
    text = _lines_above(lines, middle, y)
    return Markup('<path class="way {}" d="{}"/><text class="way-word">{}</text>').format(
        tone or "plain", way, text
    )


def _box(label: str, x: float, y: float, kind: str) -> Markup:
    lines = textwrap.wrap(label, _LINE) or [""]
    if len(lines) > 2:
        lines = [lines[0], textwrap.shorten(" ".join(lines[1:]), _LINE, placeholder=" …")]
    top = y + 4.5 - 8 * (len(lines) - 1)
    text = Markup("").join(
        Markup('<tspan x="{:.0f}" y="{:.1f}">{}</tspan>').format(
            x + BOX / 2, top + 16 * i, escape(line)
        )
        for i, line in enumerate(lines)
    )
    return Markup(
        '<rect class="way-box {}" x="{:.0f}" y="{:.1f}" width="{}" height="{}" rx="5"/>'
        '<text class="way-name">{}</text>'
    ).format(kind, x, y - TALL / 2, BOX, TALL, text)
