"""The layers of a set-up on the bench, drawn large: what lies on what, and which is the object."""

from __future__ import annotations

from dataclasses import dataclass

from leastwise.api.drawings.svg import ACCENT, INK, LETTER, QUIET, Sheet, wrapped
from leastwise.graph.planning.bench_layers import Layers, SheetLayer

__all__ = ["layers_drawing", "layers_in_words"]

#: Drawn in a column of 91 mm the notes are 9 points high.
WIDTH, LEFT, BAND, NAMES = 370, 6, 82, 102
NAME, NOTE = 15.0, 13.0
#: Role -> pattern, tone, whether it is a thin sheet.
LOOK: dict[str, tuple[str, str, bool]] = {
    "support": ("hatch", "#f1efe9", False),
    "padding": ("back", "#faf8f3", False),
    "cloth": ("web", "#f4eee2", False),
    "barrier": ("", INK, True),
    "blotter": ("fine", "#ffffff", False),
    "source": ("dots", "#dfe9ea", False),
    "membrane": ("dashes", "#ffffff", False),
    "tissue": ("web", "#ffffff", True),
    "textile": ("weave", "#efe6d8", False),
    "weight": ("", "#b9b5ab", False),
    "air": ("", "#ffffff", False),
    "other": ("", "#ffffff", False),
}
#: What stands over the first and beyond the last layer, by where the first one is.
FAR = {"below": "above", "inside": "outside", "wall": "room", "figure": "outside"}


class _Slip(Sheet):
    width = WIDTH


@dataclass(frozen=True, slots=True)
class _Row:
    """A layer with its lines; *beside* is a note that has room behind the name."""

    layer: SheetLayer
    names: tuple[str, ...]
    notes: tuple[str, ...]
    beside: str = ""

    @property
    def height(self) -> float:
        return max(27.0, 19.0 * len(self.names) + 16.0 * len(self.notes) + 9.0)


def layers_in_words(layers: Layers) -> str:
    """Return the layers as a sentence, from the first that is laid."""
    said = ", ".join(
        one.name + (" (the object)" if one.treated else " (keep dry)" if one.guarded else "")
        for one in layers.layers
    )
    return f"From the first layer ({layers.first}) on: {said}."


def layers_drawing(layers: Layers, name: str = "lw-layers", title: str = "Layers") -> str:
    """Return the layers as SVG, the first one at the foot; *name* goes before its ids."""
    sheet = _Slip(name)
    y = 18.0
    sheet.text(LEFT, y, FAR.get(layers.first, "outside"), NOTE, fill=QUIET, font_style="italic")
    y += 8
    for row in reversed([_row(one) for one in layers.layers]):
        _draw(sheet, y, row)
        y += row.height
    sheet.text(LEFT, y + 18, layers.first, NOTE, fill=QUIET, font_style="italic")
    return sheet.render(y + 26, title, layers_in_words(layers))


def _row(layer: SheetLayer) -> _Row:
    room = WIDTH - NAMES - 6
    names = wrapped(layer.name, room, NAME)[:3]
    note = ", ".join(one for one in (layer.note, "keep dry" if layer.guarded else "") if one)
    if note and len(names) == 1 and _wide(names[0], NAME) + _wide(note, NOTE) + 10 < room:
        return _Row(layer, tuple(names), (), note)
    return _Row(layer, tuple(names), tuple(wrapped(note, room, NOTE)[:2] if note else []))


def _wide(words: str, size: float) -> float:
    return len(words) * size * LETTER * 1.2


def _draw(sheet: Sheet, y: float, row: _Row) -> None:
    layer, high = row.layer, row.height
    _band(sheet, y, row)
    end = LEFT + BAND
    sheet.line([(end + 2, y + high / 2), (NAMES - 6, y + high / 2)], stroke=QUIET, stroke_width=0.8)
    weight = "bold" if layer.treated or layer.guarded else "normal"
    text = y + (high - 19.0 * len(row.names) - 16.0 * len(row.notes)) / 2 + 15
    if row.beside:
        across = NAMES + _wide(row.names[0], NAME) + 8
        sheet.text(across, text, row.beside, NOTE, fill=QUIET)
    for line in row.names:
        sheet.text(NAMES, text, line, NAME, font_weight=weight)
        text += 19
    for line in row.notes:
        sheet.text(NAMES, text - 2, line, NOTE, fill=QUIET)
        text += 16


def _band(sheet: Sheet, y: float, row: _Row) -> None:
    """Draw the band of one layer: thin sheets as a strip, stitches as a running line."""
    layer, high = row.layer, row.height
    middle = y + high / 2
    if layer.role == "stitch":
        for x in range(LEFT + 6, LEFT + BAND - 10, 22):
            sheet.line([(x, middle), (x + 12, middle)], stroke_width=3.0)
        return
    pattern, tone, thin = LOOK.get(layer.role, LOOK["other"])
    top, tall = (middle - 4, 8.0) if thin else (y + 2, high - 4)
    sheet.filled((LEFT, top, BAND, tall), pattern, tone)
    edge: dict[str, object] = {"stroke": INK, "stroke_width": 1.0}
    if layer.treated:
        edge = {"stroke": ACCENT, "stroke_width": 3.0}
    elif layer.guarded:
        edge = {"stroke": INK, "stroke_width": 2.0, "stroke_dasharray": "6 3"}
    sheet.rect(LEFT, top, BAND, tall, fill="none", **edge)
