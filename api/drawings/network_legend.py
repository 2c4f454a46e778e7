"""The legend of the contact network: the lines that are used, and what the marks mean."""

from __future__ import annotations

from collections.abc import Collection

from leastwise.api.drawings.network_layout import Piece
from leastwise.api.drawings.network_lines import (
    BARRIERS,
    PARTINGS,
    QUIET,
    barrier_mark,
    line_in_hand,
    parting_mark,
    text_rows,
)
from leastwise.api.drawings.svg import number

__all__ = ["legend_of", "pictogram"]

SIZE, ROW, COLUMN = 12.0, 24.0, 232.0
KIND_WORDS = {
    "sewn-through": "sewn through all over",
    "stitched": "stitched along a line",
    "glued": "glued",
    "lies-on": "lies on what stands below",
    "hangs-from": "hangs, at the arrow",
    "fastened": "fastened, can be opened",
    "touches": "touches, not joined",
    "enclosed-in": "enclosed, not joined",
    "one-cloth": "one cloth",
    "woven-in": "woven or worked in",
    "painted-on": "painted or coated on",
    "threaded-through": "threaded or laced through",
    "tied": "tied",
    "near": "near, not touching",
    "apart": "lies apart",
    "unknown": "not known how",
}
BARRIER_WORDS = ("barrier in place", "barrier possible", "no barrier possible")
PARTING_WORDS = ("parted", "can be parted", "can't be parted")


def legend_of(kinds: Collection[str], width: float, top: float) -> tuple[str, float]:
    """Return the legend for the kinds in use, and where it ends."""
    used = {"lies-on" if kind == "layered-under" else kind for kind in kinds}
    entries = [(_turned(kind), words) for kind, words in KIND_WORDS.items() if kind in used]
    entries += [
        (barrier_mark(22, 0, state), words)
        for state, words in zip(BARRIERS, BARRIER_WORDS, strict=True)
    ]
    entries += [
        (parting_mark(22, 0, state), words)
        for state, words in zip(PARTINGS, PARTING_WORDS, strict=True)
    ]
    columns = max(1, int((width - 24) // COLUMN))
    y = top + 16
    drawn = [
        f'<path class="net-seam" d="M16 {number(top)}H{number(width - 16)}" fill="none" '
        f'stroke="{QUIET}" stroke-width="0.8"/>'
    ]
    for i, (sign, words) in enumerate(entries):
        x, row = 16 + (i % columns) * COLUMN, y + (i // columns) * ROW
        drawn.append(f'<g transform="translate({number(x)} {number(row)})">{sign}</g>')
        drawn.append(text_rows(x + 54, row + 4, [words], SIZE, anchor="start", name="net-note"))
    end = y + -(-len(entries) // columns) * ROW
    note = "No sheet or lozenge on a line: not known whether it can be kept apart."
    drawn.append(
        text_rows(16, end + 2, [note], SIZE, anchor="start", name="net-note", colour=QUIET)
    )
    return f'<g class="net-legend">{"".join(drawn)}</g>', end + 18


def _turned(kind: str) -> str:
    """Return the line of a kind lying on its side, as a sample."""
    drawn = line_in_hand(kind, [Piece(0, -44, 0, 0)])
    mark = (
        text_rows(22, 4, ["?"], 13, weight="700", colour=QUIET, name="net-text net-ask")
        if kind == "unknown"
        else ""
    )
    return f'<g transform="rotate(-90)translate(0 44)">{drawn}</g>{mark}'


def pictogram(kind: str) -> str:
    """Return a tiny drawing of a kind of contact in a box of 40 by 32 units, for a symbol."""
    inner = line_in_hand(kind, [Piece(20, 5, 20, 27)])
    bars = "".join(
        f'<rect class="net-bar" x="4" y="{y}" width="32" height="4" fill="none" '
        f'stroke="#23201b" stroke-width="1.2"/>'
        for y in (1, 27)
    )
    return inner + bars
