"""The RH of a room's air against surfaces of other temperatures."""

from __future__ import annotations

import math

from leastwise.api.drawings.axes import Axes, Scale, round_ticks
from leastwise.api.drawings.svg import ACCENT, INK, Sheet
from leastwise.graph.physics import relative_humidity_at
from leastwise.graph.setups.checks import AirAnswer

__all__ = ["air_chart"]

LEFT, RIGHT = 66, 616


def air_chart(answer: AirAnswer) -> str:
    """Return RH against the temperature of a surface, for air that keeps its vapour, as SVG."""
    sheet = Sheet("lw-air")
    t, share = answer.temperature_c, answer.relative_humidity
    given = f"The air of {t:g} °C and {100 * share:g} % RH keeps its vapour."
    top = sheet.heading(30, "RH at surfaces of other temperatures", given) + 36
    others = [x for x in (_surface(answer), answer.heated_to_c) if x is not None]
    low = max(-48.0, math.floor(min(answer.dew_point_c - 3, t - 5, *(x - 2 for x in others))))
    high = min(110.0, math.ceil(max(t + 8, *(x + 2 for x in others), low + 10)))
    axes = Axes(sheet, Scale(low, high, LEFT, RIGHT), Scale(0, 1.0, top + 230, top))
    watch, dew = axes.y(0.70), axes.x(answer.dew_point_c)
    sheet.filled((LEFT, top, RIGHT - LEFT, watch - top), "back", "#f4f1ea")
    if dew > LEFT:
        sheet.filled((LEFT, top, dew - LEFT, 230), "dots", "#dfe9ea")
    for percent in range(0, 101, 20):
        axes.y_tick(percent / 100, f"{percent} %")
    for tick in round_ticks(low, high, 8):
        axes.x_tick(tick, f"{tick:g} °C")
    axes.frame()
    axes.y_name("RH at it")
    steps = [answer.dew_point_c + (high - answer.dew_point_c) * k / 60 for k in range(61)]
    curve = [min(1.0, relative_humidity_at(t, share, step)) for step in steps]
    sheet.line([(LEFT, top), (dew, top)], stroke=ACCENT, stroke_width=2.8)
    sheet.line(axes.points(steps, curve), stroke=ACCENT, stroke_width=2.8)
    if dew - LEFT > 60:
        sheet.text(dew - 8, top + 120, "dew", 13, text_anchor="end", font_weight="bold", halo=True)
    axes.mark(answer.dew_point_c, f"dew point {answer.dew_point_c:.1f} °C", rightward=True)
    sheet.text(RIGHT - 6, top + 17, "70 % and more: watch for mould", 12,
               text_anchor="end", halo=True)  # fmt: skip
    _spots(axes, answer)
    y = top + 276
    for line in answer.says:
        y = sheet.paragraph(20, y, line, sheet.width - 40)
    return sheet.render(y + 2, "RH at surfaces of other temperatures", " ".join(answer.says))


def _surface(answer: AirAnswer) -> float | None:
    return None if answer.surface is None else answer.surface.surface_temperature_c


def _spots(axes: Axes, answer: AirAnswer) -> None:
    """Mark room, surface and warmed air on the curve."""
    spots = [("room", answer.temperature_c, answer.relative_humidity)]
    if answer.surface is not None:
        there = answer.surface
        spots.append(("surface", there.surface_temperature_c, min(1.0, there.relative_humidity)))
    if answer.heated_to_c is not None and answer.heated_relative_humidity is not None:
        spots.append(("same air", answer.heated_to_c, min(1.0, answer.heated_relative_humidity)))
    for name, temperature, share in spots:
        x, y = axes.x(temperature), axes.y(share)
        hollow = "#ffffff" if name != "room" else INK
        axes.sheet.add("circle", cx=x, cy=y, r=5.0, fill=hollow, stroke=INK, stroke_width=2)
        words = f"{name} {100 * share:.0f} %" if share < 1 else f"{name}: dew"
        left = x > axes.x.end - 110
        anchor, gap = ("end", -10) if left else ("start", 10)
        below = 18 if left or share == 1 else -4
        axes.sheet.text(x + gap, y + below, words, 12.5, text_anchor=anchor,
                        font_weight="bold", halo=True)  # fmt: skip
