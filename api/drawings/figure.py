"""The front of a garment on its padded figure, to scale, from girths and lengths.

A girth g is drawn as wide as an ellipse of that girth, 1.35 times as broad as deep (practice); a
hem is drawn round. The form stands within the garment, the bare figure within the form.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass

from leastwise.api.drawings.marks import scale_bar, words_down
from leastwise.api.drawings.svg import ACCENT, INK, QUIET, Sheet
from leastwise.graph.display.values import Help, Level, OnFigure

__all__ = ["breadth", "figure_drawing"]

BROAD = 1.35
MIDDLE, WIDE, HIGH = 206.0, 320.0, 470.0
RIGHT = 392.0
HIP_DEPTH = 20.0
SHOULDER_DROP = 4.0  # cm from the neck down to the end of the shoulder (practice)


def breadth(girth_cm: float) -> float:
    """Return how broad an ellipse of a girth is from the front.

    >>> round(breadth(100), 1)
    36.2
    """
    depth = 1 / BROAD
    return girth_cm / (math.pi * math.sqrt((1 + depth * depth) / 2))


@dataclass(frozen=True)
class _Place:
    """Where the figure stands on the sheet: *scale* is units a cm."""

    top: float
    scale: float

    def __call__(self, half_cm: float, down_cm: float) -> tuple[float, float]:
        return MIDDLE + half_cm * self.scale, self.top + down_cm * self.scale


def figure_drawing(found: OnFigure, mark: str = "") -> str | None:
    """Return the garment on its figure as SVG; None where no height is recorded."""
    levels = _placed(found)
    if len(levels) < 2:  # an outline needs two heights
        return None
    sheet = Sheet(f"lw-figure{mark}")
    top = sheet.heading(28, f"The {found.kind} on its figure, front, to scale") + 26
    depths = dict(levels)
    hem = _hem(found, depths)
    foot = hem[1] if hem else max(depths.values())
    broad = max([breadth(one.garment_cm) for one, _ in _pairs(found, depths)]
                + ([hem[0] / math.pi] if hem else []))  # fmt: skip
    sleeve = found.measures.get("upper-arm", 0.0) if "sleeve-length" in found.measures else 0.0
    arms = found.measures.get("shoulder-width", 0.0) + 20 + sleeve / 2
    at = _Place(top, min(WIDE / max(broad, arms), HIGH / foot))
    _skirt(sheet, at, found, depths, hem)
    _arms(sheet, at, found)
    _body(sheet, at, found, depths)
    _names(sheet, at, found, depths)
    _loads(sheet, at, found, depths)
    scale_bar(sheet, 24, at(0, foot)[1] + 30, at.scale)
    y = _words(sheet, top + 4, found)
    y = max(y + 8, at(0, foot)[1] + 60)
    for line in (found.closing, found.mend):
        y = sheet.paragraph(20, y, line, sheet.width - 40)
    return sheet.render(y + 6, f"A {found.kind} on a padded figure", found.mend)


def _placed(found: OnFigure) -> list[tuple[str, float]]:
    """Return the measures with their depth below the top; a skirt begins at its waist."""
    if found.kind != "skirt":
        return [
            (one.key, one.below_nape_cm) for one in found.levels if one.below_nape_cm is not None
        ]
    depths = {"waist": 0.0, "hip": HIP_DEPTH}
    return [(one.key, depths[one.key]) for one in found.levels if one.key in depths]


def _pairs(found: OnFigure, depths: dict[str, float]) -> list[tuple[Level, float]]:
    return [(one, depths[one.key]) for one in found.levels if one.key in depths]


def _hem(found: OnFigure, depths: dict[str, float]) -> tuple[float, float] | None:
    """Return the circumference of the hem and its depth."""
    hem, length = found.measures.get("hem"), found.measures.get("skirt-length")
    waist = depths.get("waist")
    return None if hem is None or length is None or waist is None else (hem, waist + length)


def _outline(
    at: _Place, rows: Sequence[tuple[Level, float]], girth: Callable[[Level], float], wide: float
) -> list[tuple[float, float]]:
    """Return the outline through the measures, over the shoulders where their width is known."""
    points = [(breadth(girth(one)) / 2, down) for one, down in rows]
    if wide and rows[0][0].key == "neck":
        points.insert(1, (wide / 2, SHOULDER_DROP))
    left = [at(-half, down) for half, down in points]
    return [*left, *(at(half, down) for half, down in reversed(points))]


def _body(sheet: Sheet, at: _Place, found: OnFigure, depths: dict[str, float]) -> None:
    rows, wide = _pairs(found, depths), found.measures.get("shoulder-width", 0.0)
    form = _outline(at, rows, lambda one: sum(one.form_cm) / 2, max(0.0, wide - 1))
    sheet.area(form, fill="#cfdfe1")
    sheet.area(form, fill=sheet.pattern("hatch"), stroke=ACCENT, stroke_width=1.2)
    if all(one.bare_cm is not None for one, _ in rows):
        bare = _outline(at, rows, lambda one: one.bare_cm or 0.0, max(0.0, wide - 3))
        sheet.area(bare, fill="#ffffff", stroke=INK, stroke_width=1, stroke_dasharray="2 3")
    garment = _outline(at, rows, lambda one: one.garment_cm, wide)
    sheet.area(garment, fill="none", stroke=INK, stroke_width=1.8)


def _names(sheet: Sheet, at: _Place, found: OnFigure, depths: dict[str, float]) -> None:
    """Name the measures at the left, each with a fine line to where it is taken."""
    for one, down in _pairs(found, depths):
        x, y = at(-breadth(one.garment_cm) / 2, down)
        sheet.line([(62, y), (x, y)], stroke=QUIET, stroke_width=0.8, stroke_dasharray="1 3")
        sheet.text(20, y + 4, one.key, 12, halo=True)


def _skirt(
    sheet: Sheet, at: _Place, found: OnFigure, depths: dict[str, float],
    hem: tuple[float, float] | None,
) -> None:  # fmt: skip
    """Draw the skirt round from hip or waist to hem, its petticoat layers dashed within."""
    if hem is None:
        return
    rows = [pair for pair in _pairs(found, depths) if pair[0].key in ("waist", "hip")]
    start, down = rows[-1]
    top, foot = breadth(start.garment_cm) / 2, hem[0] / (2 * math.pi)
    shape = [at(-top, down), at(-foot, hem[1]), at(foot, hem[1]), at(top, down)]
    sheet.area(shape, fill="#f6f0e4", stroke=INK, stroke_width=1.8)
    layers = found.underskirt.layers if found.underskirt else 0
    for n in range(layers):
        part = (n + 1) / (layers + 1)
        inner = breadth(sum(start.form_cm) / 2) / 2 * 0.9
        end = inner + (foot * 0.95 - inner) * part
        for side in (-1, 1):
            line = [at(side * inner, down + 4), at(side * end, hem[1] - 5)]
            sheet.line(line, stroke=ACCENT, stroke_width=1.4, stroke_dasharray="6 4")


def _arms(sheet: Sheet, at: _Place, found: OnFigure) -> None:
    """Draw the sleeves hanging a little off the body, as wide as their girth lies flat round."""
    width, long = found.measures.get("upper-arm"), found.measures.get("sleeve-length")
    broad = found.measures.get("shoulder-width")
    if width is None or long is None or broad is None or found.kind == "skirt":
        return
    lies = width / math.pi * 1.15
    for side in (-1, 1):
        top, cuff = broad / 2, broad / 2 + 9
        points = [(top, SHOULDER_DROP), (top + lies * 0.7, 16.0), (cuff + lies * 0.6, long),
                  (cuff, long), (top - 1, 24.0)]  # fmt: skip
        shape = [at(side * half, down) for half, down in points]
        sheet.area(shape, fill="#fbf8f1", stroke=INK, stroke_width=1.4)


def _loads(sheet: Sheet, at: _Place, found: OnFigure, depths: dict[str, float]) -> None:
    """Draw arrows where the garment carries its weight, lettered as in the words beside."""
    loads = found.helps[0].loads if found.helps else ()
    for load in loads:
        shoulders = "shoulder" in load.where.casefold()
        broad = found.measures.get("shoulder-width", 30.0) * 0.34
        waist = breadth(found.measures.get("waist", 60.0)) / 2
        at_waist = (waist, depths.get("waist", 0.0))
        half, down = (broad, SHOULDER_DROP * 0.6) if shoulders else at_waist
        for side in (-1, 1):
            x, y = at(side * half, down)
            sheet.arrow((x, y - 26), (x, y), stroke=ACCENT, stroke_width=2.4)
        x, y = at(half, down)
        sheet.text(x + 8, y - 16, "S" if shoulders else "W", 13, font_weight="bold", halo=True)


def _words(sheet: Sheet, y: float, found: OnFigure) -> float:
    rows: list[tuple[str, str]] = []
    for one in found.levels:
        value = f"{one.form_cm[0]:g} to {one.form_cm[1]:g} cm"
        if one.padding_cm is not None:
            thick = f"{one.padding_cm[0]:.1f} to {one.padding_cm[1]:.1f} cm"
            value = f"{one.form_cm[0]:g} to {one.form_cm[1]:g}; pad {thick}"
        rows.append((f"{one.label.capitalize()}, garment {one.garment_cm:g} cm, form", value))
    rows += [row for h in _shown(found) for row in _load_words(h)]
    if found.underskirt is not None:
        many = found.underskirt.layers
        value = (
            f"{many} of net, side at {found.underskirt.slope_deg:.0f}°" if many else "plain tube"
        )
        rows.append(("Underskirt layers (dashed)", value))
    padded = all(one.bare_cm is not None for one in found.levels)
    rows.append(("Hatched", "padding on the bare figure" if padded else "the padded form"))
    return words_down(sheet, RIGHT, y, rows, 240.0)


def _shown(found: OnFigure) -> list[Help]:
    return [one for one in found.helps if one.step in {0, found.chosen}]


def _load_words(one: Help) -> list[tuple[str, str]]:
    when = "as dressed" if one.step == 0 else "as proposed"
    found = []
    for load in one.loads:
        letter = "S, shoulders" if "shoulder" in load.where.casefold() else "W, waist"
        value = "length not recorded"
        if load.per_cm is not None:
            value = f"{load.per_cm[0]:.2g} to {load.per_cm[1]:.2g} N/cm: {load.state}"
        found.append((f"{letter}, {when}", value))
    return found
