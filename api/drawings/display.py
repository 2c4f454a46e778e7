"""A display drawn to scale: the figure with its padding, the heading with its load, the slope."""

from __future__ import annotations

import math

from leastwise.api.drawings.figure import figure_drawing
from leastwise.api.drawings.marks import scale_bar, words_down
from leastwise.api.drawings.svg import ACCENT, INK, QUIET, Sheet
from leastwise.graph.display.values import HungPlan, SlantPlan, WorkedDisplay

__all__ = ["display_drawings", "heading_drawing", "slope_drawing"]

LEFT, WIDE = 40.0, 330.0
RIGHT = 400.0


def display_drawings(worked: WorkedDisplay, mark: str = "") -> tuple[str, ...]:
    """Return the drawings of a display as SVG; none where nothing can be drawn to scale.

    *mark* keeps the names within a drawing apart from those of another on the same page.
    """
    found: list[str | None] = []
    if worked.figure is not None:
        found.append(figure_drawing(worked.figure, mark))
    if worked.hung is not None:
        found.append(heading_drawing(worked.hung, mark))
    found.extend(slope_drawing(one, f"{mark}-{n}") for n, one in enumerate(worked.slants, 1))
    return tuple(one for one in found if one is not None)


def heading_drawing(found: HungPlan, mark: str = "") -> str:
    """Return a hanging with its heading, its load and its rows of support, to scale."""
    sheet = Sheet(f"lw-heading{mark}")
    to_scale = "to scale" if found.drop_cm else "its width to scale"
    top = sheet.heading(28, f"A hanging and its heading, {to_scale}") + 46
    drop = found.drop_cm or found.width_cm
    scale = min(WIDE / found.width_cm, 330 / drop)
    wide, long = found.width_cm * scale, drop * scale
    sheet.filled((LEFT, top, wide, long), "weave", "#efe6d8")
    sheet.rect(LEFT, top, wide, long, fill="none", stroke=INK, stroke_width=1.4)
    sheet.rect(LEFT - 8, top - 10, wide + 16, 10, fill=ACCENT)
    for n in range(9):
        x = LEFT + wide * (n + 0.5) / 9
        sheet.arrow((x, top + 8), (x, top + 34), stroke=ACCENT, stroke_width=1.8)
    chosen = next((h for h in found.headings if h.key == found.chosen), None)
    for n in range(1, chosen.rows if chosen else 0):
        y = top + long * n / (chosen.rows if chosen else 1)
        sheet.line([(LEFT, y), (LEFT + wide, y)], stroke="#ffffff", stroke_width=5)
        sheet.line([(LEFT, y), (LEFT + wide, y)], stroke=ACCENT, stroke_dasharray="7 4")
    sheet.text(LEFT + wide / 2, top - 16, f"{found.width_cm:g} cm", 12.5, text_anchor="middle")
    x, y = LEFT - 12, top + long / 2
    down = f"{found.drop_cm:g} cm" if found.drop_cm else "length not recorded"
    turned = f"rotate(-90 {x:.0f} {y:.0f})"
    sheet.text(x, y, down, 12.5, text_anchor="middle", transform=turned)
    y = _heading_words(sheet, top + 8, found, chosen.label if chosen else "none that surely holds")
    scale_bar(sheet, LEFT, top + long + 22, scale)
    y = max(y, top + long + 56)
    for line in (f"Cloth: {found.load.says}", found.mend):
        y = sheet.paragraph(20, y, line, sheet.width - 40)
    return sheet.render(y + 6, "A hanging with its heading and load", found.mend)


def _heading_words(sheet: Sheet, y: float, found: HungPlan, heading: str) -> float:
    per_cm = found.load.per_cm or (0.0, 0.0)
    rows = [
        ("Heading (dark bar)", heading),
        ("Weight", f"{found.weight_n:.1f} N"),
        ("Load (arrows)", f"{per_cm[0]:.2g} to {per_cm[1]:.2g} N on each cm"),
    ]
    if found.stitches_per_m is not None:
        rows.append(("Stitches", f"{found.stitches_per_m} on each metre"))
    rows.append(("The cloth, by its top edge", found.load.state))
    return words_down(sheet, RIGHT, y, rows)


def slope_drawing(found: SlantPlan, mark: str = "") -> str | None:
    """Return a board at its angle with the textile, the forces and the angle that holds."""
    if found.angle_deg is None:
        return None
    sheet = Sheet(f"lw-slant{mark}")
    on = "as tried" if found.cover == "as tried" else f"on a {found.cover} cover"
    top = sheet.heading(28, f"A textile at {found.angle_deg:g}° from the vertical, {on}") + 12
    foot, reach = (60.0, top + 262), 250.0
    sheet.line([(30, foot[1]), (370, foot[1])], stroke_width=1.2)
    sheet.line([foot, (foot[0], foot[1] - reach)], stroke=QUIET, stroke_dasharray="3 4")
    if found.holds_from_deg is not None:
        _wedge(sheet, foot, found.holds_from_deg, reach)
    _board(sheet, foot, found.angle_deg, reach)
    y = words_down(sheet, RIGHT, top + 18, _slope_rows(found))
    y = max(y, foot[1] + 34)
    for line in (found.says, found.mend):
        y = sheet.paragraph(20, y, line, sheet.width - 40)
    return sheet.render(y + 6, f"A board at {found.angle_deg:g} degrees", found.says)


def _slope_rows(found: SlantPlan) -> list[tuple[str, str]]:
    rows = [("Friction", "unknown")]
    if found.friction is not None:
        rows = [("Friction", f"{found.friction[0]:.2g} to {found.friction[1]:.2g}")]
    if found.needed is not None:
        rows.append(("Friction needed", f"{found.needed:.2g}"))
    if found.holds_from_deg is not None:
        rows.append(("Surely holds (hatched)", f"from {found.holds_from_deg:.0f}° on"))
    if found.force_n is not None:
        rows.append(("Left to the edge", f"{found.force_n[0]:.2g} to {found.force_n[1]:.2g} N"))
    words = {"holds": "holds by friction", "too much": "slides"}
    rows.append(("Verdict", words.get(found.state, found.state)))
    return rows


def _at(foot: tuple[float, float], deg: float, way: float, out: float = 0.0) -> tuple[float, float]:
    a = math.radians(deg)
    return (
        foot[0] + way * math.sin(a) - out * math.cos(a),
        foot[1] - way * math.cos(a) - out * math.sin(a),
    )


def _wedge(sheet: Sheet, foot: tuple[float, float], from_deg: float, reach: float) -> None:
    steps = [from_deg + (90 - from_deg) * k / 12 for k in range(13)]
    shape = [foot, *(_at(foot, deg, reach * 0.8) for deg in steps)]
    sheet.area(shape, fill="#e3eeee")
    sheet.area(shape, fill=sheet.pattern("fine"))


def _board(sheet: Sheet, foot: tuple[float, float], deg: float, reach: float) -> None:
    board = [
        _at(foot, deg, 0),
        _at(foot, deg, reach),
        _at(foot, deg, reach, -10),
        _at(foot, deg, 0, -10),
    ]
    cloth = [_at(foot, deg, 40), _at(foot, deg, 220), _at(foot, deg, 220, 8), _at(foot, deg, 40, 8)]
    sheet.area(board, fill="#f1efe9", stroke=INK, stroke_width=1.2)
    sheet.area(cloth, fill="#efe6d8", stroke=INK, stroke_width=1.2)
    sheet.area(cloth, fill=sheet.pattern("weave"))
    sheet.arrow(_at(foot, deg, 130, 22), _at(foot, deg, 60, 22), stroke=ACCENT, stroke_width=2.4)
    arc = [_at(foot, deg * k / 20, 70) for k in range(21)]
    sheet.line(arc, stroke=INK)
    x, y = _at(foot, deg / 2, 88)
    sheet.text(x, y, f"{deg:g}°", 13, text_anchor="middle", halo=True)
