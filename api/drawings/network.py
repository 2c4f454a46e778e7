"""The contact network of a case as a drawing: parts as boxes, contacts as lines by kind.

The upper of two parts stands above the lower. Every kind of contact has a line of its own (a seam
is a running stitch, glue a double line), so that the drawing is clear in black and white. The
drawing carries colours as attributes for paper and other documents; in a page the classes of
``static/pages-sketch.css`` override them, light and dark.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from xml.sax.saxutils import quoteattr

from leastwise.api.drawings.network_layout import BOX, Box, Layout, Link, Piece, laid_out
from leastwise.api.drawings.network_legend import legend_of
from leastwise.api.drawings.network_lines import (
    ACCENT,
    BARRIERS,
    INK,
    PAPER,
    PARTINGS,
    QUIET,
    Places,
    arrow_head,
    barrier_mark,
    clean,
    fitted,
    line_in_hand,
    parting_mark,
    path_of,
    text_rows,
)
from leastwise.api.drawings.svg import FONT, number
from leastwise.graph.case.record import Case

__all__ = ["KINDS", "MARK_STYLES", "Mark", "Touch", "network_drawing", "sentence", "touches_of"]

BOX_TEXT, SMALL = 13.0, 11.5
NAME_LINES, WORD_LINES = 3, 3

#: Kind of contact -> the words between the names of two parts, in the order of the record.
KINDS = {
    "sewn-through": "sewn through",
    "stitched": "stitched to",
    "glued": "glued to",
    "lies-on": "lies on",
    "layered-under": "lies under",
    "hangs-from": "hangs from",
    "fastened": "fastened to",
    "touches": "touches",
    "enclosed-in": "enclosed in",
    "one-cloth": "one cloth with",
    "woven-in": "woven or worked into",
    "painted-on": "painted or coated on",
    "threaded-through": "threaded or laced through",
    "tied": "tied to",
    "near": "near without touching",
    "apart": "lies apart from",
    "unknown": "touches in a way not known",
}
#: How a part or a contact can be marked, with what the mark is for.
MARK_STYLES = {
    "source": "where an agent is put: heavy double edge",
    "reached": "what it reaches: heavy edge, heavy line",
    "stopped": "where it is stopped: dashed edge, line with a gap",
    "open": "not known: dotted edge",
    "dim": "out of the way: pale",
}
#: Style -> width and dashes of a part's edge, and of the band under a line.
EDGES = {
    "source": (3.0, ""),
    "reached": (3.0, ""),
    "stopped": (1.8, "8 4"),
    "open": (1.8, "2 4"),
    "dim": (1.0, "3 3"),
}
BANDS = {
    "reached": (11.0, ""),
    "source": (11.0, ""),
    "stopped": (11.0, "6 9"),
    "open": (11.0, "2 5"),
}


@dataclass(frozen=True, slots=True)
class Touch:
    """A contact as the drawing needs it; the two parts in the order of the record."""

    first: str
    second: str
    kind: str = "unknown"
    barrier: str = "unknown"
    parting: str = "unknown"


@dataclass(frozen=True, slots=True)
class Mark:
    """What is said of a part or a contact, in words and by a style of :data:`MARK_STYLES`.

    *words* stand below the name of the part, or beside the line. *towards* names the part at
    which a marked contact gets an arrow head: the way that an agent takes.
    """

    words: str = ""
    style: str = ""
    towards: str = ""


def touches_of(case: Case) -> tuple[Touch, ...]:
    """Return the contacts of a case, in the order of the record."""
    return tuple(Touch(*one.between, one.kind, one.barrier, one.parting) for one in case.contacts)


def sentence(touch: Touch, names: Mapping[str, str]) -> str:
    """Return a contact as a sentence, such as *top tier lies on skirt*."""
    first, second = names.get(touch.first, touch.first), names.get(touch.second, touch.second)
    return f"{first} {KINDS.get(touch.kind, KINDS['unknown'])} {second}"


def network_drawing(  # noqa: PLR0913 - what a drawing is told by
    parts: Sequence[tuple[str, str]],
    touches: Sequence[Touch],
    *,
    name: str = "network",
    title: str = "How the parts touch",
    marked_parts: Mapping[str, Mark] | None = None,
    marked_touches: Mapping[int, Mark] | None = None,
    hrefs: Mapping[str, str] | None = None,
    legend: bool = True,
    widest: float = 940.0,
) -> str:
    """Return the network as SVG text that can stand in a page, a document or on its own.

    *parts* are ids and names in the order of the record; contacts with a part that isn't among
    them are left out. *marked_parts* (by id) and *marked_touches* (by place in *touches*) lay an
    answer over it. *hrefs* makes a part a link. *name* goes before every id inside the drawing,
    so that several can stand in one page. The same input gives the same text.
    """
    names = dict(parts)
    marked_parts, marked_touches = marked_parts or {}, marked_touches or {}
    shown = _within(touches, names)
    rows = {part: _rows(named, marked_parts.get(part)) for part, named in parts}
    heights = {part: _height(mine) for part, mine in rows.items()}
    links = [_link(one) for _, one in shown]
    layout = laid_out([part for part, _ in parts], links, heights, widest)
    places = Places(layout.boxes.values())
    lines = [
        _line(one, layout, k, places, marked_touches.get(i), names)
        for k, (i, one) in enumerate(shown)
    ]
    drawn = [
        _part(part, named, layout.boxes[part], rows[part], marked_parts.get(part), href)
        for part, named in parts
        for href in [(hrefs or {}).get(part, "")]
    ]
    below, width, height = _below(shown, layout, legend=legend)
    described = _described(shown, layout, names, marked_parts)
    return "\n".join(
        [
            _opening(name, width, height, is_group=bool(hrefs)),
            f'<title id="{name}-title">{clean(title)}</title>',
            f'<desc id="{name}-desc">{clean(described)}</desc>',
            *lines,
            *drawn,
            *below,
            "</svg>\n",
        ]
    )


def _within(touches: Sequence[Touch], names: Mapping[str, str]) -> list[tuple[int, Touch]]:
    """Return the contacts between two parts that are shown, each with its place."""
    return [
        (i, one)
        for i, one in enumerate(touches)
        if one.first in names and one.second in names and one.first != one.second
    ]


def _height(rows: tuple[list[str], list[str]]) -> float:
    """Return how high a box is that holds the rows of a name and of what is said of it."""
    named, words = rows
    return 16.0 + BOX_TEXT * 1.25 * len(named) + SMALL * 1.25 * len(words)


def _below(
    shown: Sequence[tuple[int, Touch]], layout: Layout, *, legend: bool
) -> tuple[list[str], float, float]:
    """Return what stands below the parts, and the width and height of the whole drawing."""
    width, height = max(layout.width, 480.0 if legend else 0.0), layout.height
    below = []
    if layout.loose and shown:
        y, said = layout.loose_top - 12, ["No contact written down yet:"]
        note = text_rows(16, y, said, BOX_TEXT, anchor="start", name="net-note", colour=QUIET)
        below.append(note)
    if legend:
        said_of_lines, height = legend_of({one.kind for _, one in shown}, width, height + 10)
        below.append(said_of_lines)
    return below, width, height


def _opening(name: str, width: float, height: float, *, is_group: bool) -> str:
    w, h = number(width), number(height)
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" class="network" width="{w}" height="{h}" '
        f'viewBox="0 0 {w} {h}" role="{"group" if is_group else "img"}" '
        f'aria-labelledby="{name}-title {name}-desc" font-family={quoteattr(FONT)}>'
    )


def _link(touch: Touch) -> Link:
    """Return which part stands above: what lies on, or what something hangs from."""
    if touch.kind in ("layered-under", "hangs-from"):
        return Link(touch.second, touch.first, fixed=True)
    return Link(touch.first, touch.second, fixed=touch.kind == "lies-on")


def _rows(name: str, mark: Mark | None) -> tuple[list[str], list[str]]:
    words = mark.words if mark else ""
    return (
        fitted(name, BOX - 14, BOX_TEXT, NAME_LINES),
        fitted(words, BOX - 12, SMALL, WORD_LINES) if words else [],
    )


def _part(  # noqa: PLR0913, PLR0917 - what a box is told by
    part: str,
    name: str,
    box: Box,
    rows: tuple[list[str], list[str]],
    mark: Mark | None,
    href: str,
) -> str:
    style = mark.style if mark else ""
    drawn = _edge(box, style) + _said(box, rows, style)
    full = f"{name}: {mark.words}" if mark and mark.words else name
    one = (
        f'<g class="net-part{f" net-{style}" if style else ""}" data-part="{clean(part)}">'
        f"<title>{clean(full)}</title>{drawn}</g>"
    )
    return f'<a href="{clean(href)}">{one}</a>' if href else one


def _edge(box: Box, style: str) -> str:
    """Return the edge of a box, double where an agent is put."""
    edge, dash = EDGES.get(style, (1.3, ""))
    x = box.x
    dashes = f' stroke-dasharray="{dash}"' if dash else ""
    drawn = (
        f'<rect class="net-box" x="{number(x)}" y="{number(box.y)}" width="{number(box.w)}" '
        f'height="{number(box.h)}" rx="4" fill="{PAPER}" stroke="{INK}" '
        f'stroke-width="{number(edge)}"{dashes}/>'
    )
    if style == "source":
        drawn += (
            f'<rect class="net-inner" x="{number(x + 4)}" y="{number(box.y + 4)}" '
            f'width="{number(box.w - 8)}" height="{number(box.h - 8)}" rx="2" fill="none" '
            f'stroke="{INK}" stroke-width="1"/>'
        )
    return drawn


def _said(box: Box, rows: tuple[list[str], list[str]], style: str) -> str:
    """Return the name of a part and what is said of it, in the middle of its box."""
    named, words = rows
    middle, y = box.x + box.w / 2, box.y + 8 + BOX_TEXT
    colour = QUIET if style == "dim" else INK
    weight = "600" if style == "source" else ""
    drawn = text_rows(middle, y, named, BOX_TEXT, weight=weight, colour=colour)
    y += BOX_TEXT * 1.25 * len(named) - 1
    return drawn + text_rows(middle, y, words, SMALL, name="net-words", colour=QUIET)


def _line(  # noqa: PLR0913, PLR0917 - what a line is told by
    touch: Touch,
    layout: Layout,
    place: int,
    places: Places,
    mark: Mark | None,
    names: Mapping[str, str],
) -> str:
    pieces, mark = layout.lines[place], mark or Mark()
    turned = place in layout.turned
    drawn = _band(pieces, mark.style)
    drawn += line_in_hand(touch.kind, pieces, upwards=turned)
    drawn += _arrow(touch, pieces, mark.towards, is_turned=turned)
    drawn += _marks(touch, pieces, places, is_turned=turned)
    drawn += _words(pieces, places, mark.words)
    said = f"{sentence(touch, names)}; barrier {touch.barrier}, parting {touch.parting}"
    if mark.words:
        said += f"; {mark.words}"
    pale = ' opacity="0.6"' if mark.style == "dim" else ""
    kind = touch.kind if touch.kind in KINDS else "unknown"
    return (
        f'<g class="net-line net-{kind}{f" net-{mark.style}" if mark.style else ""}"{pale}>'
        f"<title>{clean(said.replace('-', ' '))}</title>{drawn}</g>"
    )


def _band(pieces: Sequence[Piece], style: str) -> str:
    """Return the band under a line that is marked."""
    if style not in BANDS:
        return ""
    width, dash = BANDS[style]
    dashes = f' stroke-dasharray="{dash}"' if dash else ""
    return (
        f'<path class="net-band" d="{path_of(pieces)}" fill="none" stroke="{ACCENT}" '
        f'stroke-width="{number(width)}" opacity="0.3"{dashes}/>'
    )


def _arrow(touch: Touch, pieces: Sequence[Piece], towards: str, *, is_turned: bool) -> str:
    """Return the arrow head at the part that an agent goes to, if one is named."""
    if not towards:
        return ""
    link = _link(touch)
    down = towards != (link.lower if is_turned else link.upper)
    end = pieces[-1] if down else pieces[0]
    x, y = (end.x1, end.y1) if down else (end.x0, end.y0)
    return arrow_head(x, y, 1 if down else -1, "net-way", ACCENT)


def _words(pieces: Sequence[Piece], places: Places, words: str) -> str:
    """Return what is said beside a line, on paper of its own."""
    if not words:
        return ""
    rows = fitted(words, 120, SMALL, WORD_LINES)
    high = SMALL * 1.25 * len(rows)
    wide = max(len(row) for row in rows) * SMALL * 0.57 + 8
    x, y = places.on(pieces, wide, high + 4, aside=wide / 2 + 8)
    drawn = _paper(x, y, wide, high + 4)
    return drawn + text_rows(x, y - high / 2 + SMALL, rows, SMALL, name="net-words")


def _marks(touch: Touch, pieces: Sequence[Piece], places: Places, *, is_turned: bool) -> str:
    """Return what stands across a line: a question, an order told in words, barrier, parting."""
    signs = [(touch.barrier in BARRIERS, 16.0), (touch.parting in PARTINGS, 12.0)]
    asks = touch.kind not in KINDS or touch.kind == "unknown"
    turned = is_turned and touch.kind in ("lies-on", "layered-under")
    wide = sum(size + 5 for is_shown, size in signs if is_shown) + 14 * asks + 92 * turned
    if not wide:
        return ""
    x, y = places.on(pieces, wide + 4, 16)
    drawn, left = _paper(x, y, wide, 15), x - wide / 2
    if asks:
        drawn += text_rows(left + 7, y + 5, ["?"], 14, weight="700", colour=QUIET)
        left += 14
    if turned:
        drawn += text_rows(left + 46, y + 4, ["lower one on top"], 10.5, name="net-words")
        left += 92
    if touch.barrier in BARRIERS:
        drawn += barrier_mark(left + 10.5, y, touch.barrier)
        left += 21
    if touch.parting in PARTINGS:
        drawn += parting_mark(left + 8.5, y, touch.parting)
    return drawn


def _paper(x: float, y: float, w: float, h: float) -> str:
    return (
        f'<rect class="net-sheet" x="{number(x - w / 2)}" y="{number(y - h / 2)}" '
        f'width="{number(w)}" height="{number(h)}" fill="{PAPER}"/>'
    )


def _described(
    shown: Sequence[tuple[int, Touch]],
    layout: Layout,
    names: Mapping[str, str],
    marked: Mapping[str, Mark],
) -> str:
    said = f"{len(names)} parts, {len(shown)} contacts; the upper of two parts stands above."
    if layout.loose:
        said += f" Without a contact: {', '.join(names[one] for one in layout.loose)}."
    told = [f"{names[part]}: {m.words}" for part, m in marked.items() if m.words and part in names]
    return said + (f" {'; '.join(told)}." if told else "")
