"""The slope diagram, and the hung textile with its load by height and its lines of support."""

from __future__ import annotations

import math
from collections.abc import Sequence

from leastwise.api.drawings.axes import Axes, Scale, round_ticks
from leastwise.api.drawings.svg import ACCENT, INK, QUIET, Sheet
from leastwise.graph.physics import HungLoad, Slope, SupportLines
from leastwise.graph.physics.bounds import rounded
from leastwise.graph.setups.checks import LoadAnswer

__all__ = ["load_drawing", "slope_diagram"]


def load_drawing(answer: LoadAnswer) -> str | None:
    """Return the drawing of a load as SVG, or None for weights and tapes, which have none."""
    if isinstance(answer.result, Slope):
        return slope_diagram(answer.result, answer.says)
    if isinstance(answer.result, HungLoad):
        return _hung(answer.result, answer)
    if isinstance(answer.result, SupportLines):
        return _lines(answer.result, answer)
    return None


def slope_diagram(found: Slope, says: Sequence[str] = ()) -> str:
    """Return a textile on a board with its weight, its pull and its press, to scale, as SVG."""
    sheet = Sheet("lw-slope")
    angle = found.angle_from_vertical_deg
    top = sheet.heading(30, f"A textile on a board, {angle:g}° from the vertical") + 10
    a = math.radians(angle)
    long, steep = 250.0, math.cos(a)
    foot_x, foot_y = 120.0, top + max(150.0, 292 * steep + 16)
    along = (math.sin(a), -math.cos(a))  # up the board
    off = (-math.cos(a), -math.sin(a))  # away from its face, up and to the left

    def at(way: float, out: float = 0.0) -> tuple[float, float]:
        return foot_x + along[0] * way + off[0] * out, foot_y + along[1] * way + off[1] * out

    ground = foot_y + 11 * math.sin(a)
    sheet.line([(30, ground), (420, ground)], stroke_width=1.2)
    _angle(sheet, (foot_x, foot_y), a)
    board = [at(0, 0), at(long, 0), at(long, -11), at(0, -11)]
    cloth = [at(45, 0), at(225, 0), at(225, 9), at(45, 9)]
    for shape, pattern, tone in ((board, "hatch", "#f1efe9"), (cloth, "weave", "#efe6d8")):
        sheet.area(shape, fill=tone, stroke=INK, stroke_width=1.2)
        sheet.area(shape, fill=sheet.pattern(pattern))
    middle = at(135, 5)
    _forces(sheet, middle, along, off, found)
    y = _slope_table(sheet, top + 20, found)
    y = max(y, ground + 32, middle[1] + 170)
    for line in says[1:]:
        y = sheet.paragraph(20, y, line, sheet.width - 40)
    words = " ".join(says) or f"Pull {found.pull_n:.1f} N, press {found.press_n:.1f} N."
    return sheet.render(y + 6, f"Slope diagram at {angle:g} degrees from the vertical", words)


def _angle(sheet: Sheet, foot: tuple[float, float], a: float) -> None:
    """Draw the angle from the vertical; past the board's end where it is small."""
    (x, y), small = foot, a < math.radians(20)
    reach = 268.0 if small else 105.0
    ends = [(x, y), (x, y - reach - 12)]
    sheet.line(ends, stroke=QUIET, stroke_dasharray="3 4")
    steps = [a * k / 24 for k in range(25)]
    arc = [(x + reach * math.sin(s), y - reach * math.cos(s)) for s in steps]
    sheet.line(arc, stroke=INK)
    words = f"{math.degrees(a):g}°"
    if small:
        sheet.text(arc[-1][0] + 8, arc[-1][1] + 4, words, 13, halo=True)
    else:
        place = (x + (reach + 18) * math.sin(a / 2), y - (reach + 10) * math.cos(a / 2))
        sheet.text(*place, words, 13, text_anchor="middle", halo=True)


def _forces(
    sheet: Sheet,
    middle: tuple[float, float],
    along: tuple[float, float],
    off: tuple[float, float],
    found: Slope,
) -> None:
    """Draw weight, pull and press from the middle of the cloth; 120 units are the weight."""
    x, y = middle
    pull, press = (120 * part / found.weight_n for part in (found.pull_n, found.press_n))
    tip = (x - along[0] * pull, y - along[1] * pull)
    on = (x - off[0] * press, y - off[1] * press)
    sheet.line([tip, (x, y + 120), on], stroke=QUIET, stroke_width=0.9, stroke_dasharray="3 3")
    # The labels keep clear of the board where it is steep, and of each other where it is flat.
    weight_aside = 34.0 if press < 40 else -15.0 if press > 100 else 14.0
    arrows = (
        ((x, y + 120), (weight_aside, 10.0), "W", INK, None),
        (tip, (off[0] * 18 - 2, off[1] * 18 + 5), "A", ACCENT, None),
        (on, (14.0, 10.0 if press > 100 else 5.0), "B", INK, "6 3"),
    )
    for end, (dx, dy), name, colour, dash in arrows:
        if math.dist(middle, end) < 12:
            continue
        style = {"stroke": colour, "stroke_width": 2.6, "stroke_dasharray": dash}
        sheet.arrow(middle, end, **style)
        sheet.text(end[0] + dx, end[1] + dy, name, 14,
                   text_anchor="middle", font_weight="bold", halo=True)  # fmt: skip
    sheet.add("circle", cx=float(x), cy=float(y), r=3.5, fill=INK)


def _slope_table(sheet: Sheet, y: float, found: Slope) -> float:
    rows = (
        ("W", "weight", f"{rounded(found.weight_n):g} N"),
        ("A", "pull along the board", f"{rounded(found.pull_n):g} N"),
        ("B", "press on the board", f"{rounded(found.press_n):g} N"),
        ("", "friction needed", f"{rounded(found.friction_needed):g}"),
    )
    for name, words, value in rows:
        sheet.text(446, y, name, 13, font_weight="bold")
        sheet.text(468, y, words, 12.5)
        sheet.text(468, y + 17, value, 13, font_weight="bold")
        y += 44
    return y


def _cloth(sheet: Sheet, top: float, drop_cm: float) -> Axes:
    """Draw the hung cloth at the left, and return axes for its height."""
    axes = Axes(sheet, Scale(0, 1, 80, 260), Scale(0, drop_cm, top, top + 260))
    sheet.filled((80, top, 180, 260), "weave", "#efe6d8")
    sheet.rect(80, top, 180, 260, fill="none", stroke=INK, stroke_width=1.2)
    sheet.rect(70, top - 8, 200, 8, fill=INK)
    for tick in round_ticks(0, drop_cm, 6):
        place = axes.y(tick)
        sheet.line([(74, place), (80, place)])
        sheet.text(68, place + 4, f"{tick:g}", 12, text_anchor="end")
    sheet.text(20, top - 14, "cm from the top", 12, fill=QUIET)
    return axes


def _hung(found: HungLoad, answer: LoadAnswer) -> str:
    """Draw the load that each height carries: all below it hangs on it."""
    sheet = Sheet("lw-hung")
    drop = found.heights_cm[-1]
    top = sheet.heading(30, f"A textile hung by its top edge, {drop:g} cm long") + 34
    _cloth(sheet, top, drop)
    most = found.line_load_n_m
    x = Scale(0, most * 1.1, 330, 606)
    y = Scale(0, drop, top + 260, top)
    points = [
        (x(load), y(height))
        for load, height in zip(found.line_load_at_height_n_m, found.heights_cm, strict=True)
    ]
    shape = [*points, (330, top), (330, top + 260)]
    sheet.area(shape, fill="#cfdfe1")
    sheet.area(shape, fill=sheet.pattern("fine"))
    sheet.line(points, stroke=ACCENT, stroke_width=2.4)
    axes = Axes(sheet, x, Scale(0, 1, top + 260, top))
    for tick in round_ticks(0, most * 1.1, 5):
        axes.x_tick(tick, f"{tick:g}", grid=False)
    axes.frame()
    sheet.text(606, top + 294, "load, N on each metre", 12, text_anchor="end", fill=QUIET)
    words = f"{rounded(most):g} N/m at the top"
    sheet.text(points[-1][0], top - 8, words, 12.5, text_anchor="end", font_weight="bold")
    return _ended(sheet, top + 322, answer, "Load by height of a hung textile")


def _lines(found: SupportLines, answer: LoadAnswer) -> str:
    """Draw the lines of support down the cloth."""
    sheet = Sheet("lw-lines")
    drop = float(answer.given["drop_cm"])
    top = sheet.heading(30, f"Lines of support down a textile {drop:g} cm long") + 34
    axes = _cloth(sheet, top, drop)
    shown = found.positions_cm if len(found.positions_cm) <= 13 else ()
    for position in found.positions_cm:
        place = axes.y(position)
        sheet.line([(76, place), (264, place)], stroke="#ffffff", stroke_width=6)
        sheet.line([(76, place), (264, place)], stroke=ACCENT, stroke_width=3)
    for k, position in enumerate(shown):
        sheet.text(276, axes.y(position) + 4, f"line {k + 1}: {position:.0f} cm", 12)
    y = top + 8
    if found.load_per_line_n_m is not None and found.spacing_cm is not None:
        rows = (
            ("lines", f"{found.count}"),
            ("spacing", f"{rounded(found.spacing_cm, 3):g} cm"),
            ("load of a line", f"{rounded(found.load_per_line_n_m):g} N on each metre"),
        )
        for words, value in rows:
            sheet.text(420, y, words, 12.5, fill=QUIET)
            sheet.text(420, y + 17, value, 13, font_weight="bold")
            y += 44
    else:
        sheet.text(300, y, "The number of lines is unknown.", 13, font_weight="bold")
    return _ended(sheet, top + 294, answer, "Lines of support down a hung textile")


def _ended(sheet: Sheet, y: float, answer: LoadAnswer, title: str) -> str:
    for line in answer.says:
        y = sheet.paragraph(20, y, line, sheet.width - 40)
    return sheet.render(y + 4, title, " ".join(answer.says))
