"""RH and regain against time as bands, with target and limit; and the sideways spread."""

from __future__ import annotations

from collections.abc import Sequence

from leastwise.api.drawings.axes import Axes, Scale, round_ticks, time_ticks
from leastwise.api.drawings.section import draw_section, stack_in_words
from leastwise.api.drawings.svg import ACCENT, INK, QUIET, Sheet
from leastwise.graph.physics import SeriesBand, Spread
from leastwise.graph.physics.bounds import minutes_in_words
from leastwise.graph.setups.answers import MoistureAnswer

__all__ = ["humidity_chart", "moisture_sheet"]

LEFT, RIGHT = 66, 616
FIRST_S = 10.0


def moisture_sheet(answer: MoistureAnswer) -> str:
    """Return section, RH and regain over time, and the spread where it was asked for, as SVG."""
    sheet = Sheet("lw-moisture")
    y = 30.0
    if answer.title:
        mark = " (invented demo)" if answer.demo else ""
        y = sheet.heading(y, answer.title + mark) + 10
    y = draw_section(sheet, y, answer.stack, answer.question, answer.hole_diameter_mm) + 26
    y = _charts(sheet, y, answer)
    if answer.spread is not None:
        y = _spread(sheet, y + 28, answer.spread)
    words = f"{stack_in_words(answer.stack, answer.question)} {_in_words(answer)}"
    return sheet.render(y + 10, answer.title or "Humidification of a stack", words)


def humidity_chart(answer: MoistureAnswer) -> str:
    """Return RH and regain against time as SVG."""
    sheet = Sheet("lw-humidity")
    bottom = _charts(sheet, 30, answer)
    return sheet.render(bottom + 10, answer.title or "RH and regain over time", _in_words(answer))


def _in_words(answer: MoistureAnswer) -> str:
    return "RH and regain against time. " + " ".join(answer.says)


def _charts(sheet: Sheet, y: float, answer: MoistureAnswer) -> float:
    """Draw the RH chart and the regain chart under one another."""
    ask, band = answer.question, answer.band
    top = sheet.heading(y, f"RH of the fibres of {ask.treated} over time") + 40
    x = Scale(FIRST_S, ask.duration_s, LEFT, RIGHT, logarithmic=True)
    ends = [0.45, band.treated_humidity.low[0] - 0.02, answer.stack.room_relative_humidity - 0.02]
    lowest = max(0.0, int(10 * min(ends)) / 10)
    upper = Axes(sheet, x, Scale(lowest, 1.0, top + 210, top))
    _target(upper, answer)
    _frame(upper, answer)
    _band(upper, band.times_s, band.treated_humidity)
    if band.neighbour_humidity is not None:
        _neighbour(upper, answer, band.neighbour_humidity)
    _marks(upper, answer)
    below = _key(sheet, top + 248, answer)
    return _regain(sheet, below + 24, x, answer)


def _frame(axes: Axes, answer: MoistureAnswer) -> None:
    for seconds, words in time_ticks(axes.x.low, axes.x.high):
        axes.x_tick(seconds, words)
    for share in range(round(100 * axes.y.low), 101, 10):
        axes.y_tick(share / 100, f"{share} %")
    axes.frame()
    axes.y_name("RH")


def _target(axes: Axes, answer: MoistureAnswer) -> None:
    target = answer.question.target
    high, low = axes.y(target.high), axes.y(target.low)
    axes.sheet.filled((LEFT, high, RIGHT - LEFT, max(2.0, low - high)), "back", "#f4f1ea")


def _band(axes: Axes, times: Sequence[float], series: SeriesBand) -> None:
    """Draw a band: tone, fine pattern, thin edges, and a strong line in the middle."""
    high, low = axes.points(times, series.high), axes.points(times, series.low)
    axes.sheet.area([*high, *reversed(low)], fill="#cfdfe1", fill_opacity="0.7")
    axes.sheet.area([*high, *reversed(low)], fill=axes.sheet.pattern("fine"))
    for edge in (high, low):
        axes.sheet.line(edge, stroke=ACCENT, stroke_width=0.9)
    axes.sheet.line(axes.points(times, series.middle), stroke=ACCENT, stroke_width=2.4)


def _neighbour(axes: Axes, answer: MoistureAnswer, series: SeriesBand) -> None:
    times = answer.band.times_s
    for line, width in ((series.low, 1.1), (series.high, 1.1), (series.middle, 2.0)):
        points = axes.points(times, line)
        axes.sheet.line(points, stroke="#ffffff", stroke_width=width + 1.6)
        axes.sheet.line(points, stroke=INK, stroke_width=width, stroke_dasharray="7 4")
    limit = axes.y(answer.question.neighbour_limit)
    points = [(LEFT, limit), (RIGHT, limit)]
    axes.sheet.line(points, stroke=INK, stroke_width=1.6, stroke_dasharray="10 3 2 3")


def _marks(axes: Axes, answer: MoistureAnswer) -> None:
    protocol = answer.protocol
    marks = [(protocol.first_look_s, "first look")]
    if protocol.stop_at_latest_s is not None:
        marks.append((protocol.stop_at_latest_s, "stop at the latest"))
    shown = sorted((seconds, words) for seconds, words in marks if seconds >= FIRST_S)
    for k, (seconds, words) in enumerate(shown):
        later = k == len(shown) - 1 and k > 0
        axes.mark(seconds, f"{words}: {minutes_in_words(seconds)}", rightward=later)


def _key(sheet: Sheet, y: float, answer: MoistureAnswer) -> float:
    """Draw the key: what each style of line or pattern stands for."""
    ask = answer.question
    rows = [
        ("band", f"{ask.treated}: 5th to 95th percentile, strong line the middle"),
        ("target", f"target {100 * ask.target.low:g} to {100 * ask.target.high:g} % RH"),
    ]
    if ask.neighbour:
        reads = "air at it" if ask.neighbour_reads == "air" else "its fibres"
        rows.append(("neighbour", f"{ask.neighbour} ({reads}): 5th, middle, 95th percentile"))
        rows.append(("limit", f"limit of {ask.neighbour}: {100 * ask.neighbour_limit:g} % RH"))
    for k, (kind, words) in enumerate(rows):
        _sample(sheet, LEFT, y + 18 * k, kind)
        sheet.text(LEFT + 46, y + 18 * k + 4, words, 12)
    return y + 18 * len(rows)


def _sample(sheet: Sheet, x: float, y: float, kind: str) -> None:
    ends = [(x, y), (x + 36, y)]
    if kind == "band":
        sheet.filled((x, y - 6, 36, 12), "fine", "#cfdfe1")
        sheet.line(ends, stroke=ACCENT, stroke_width=2.4)
    elif kind == "target":
        sheet.filled((x, y - 6, 36, 12), "back", "#f4f1ea")
        sheet.rect(x, y - 6, 36, 12, fill="none", stroke=QUIET, stroke_width=0.8)
    elif kind == "neighbour":
        sheet.line(ends, stroke_width=2.0, stroke_dasharray="7 4")
    else:
        sheet.line(ends, stroke_width=1.6, stroke_dasharray="10 3 2 3")


def _regain(sheet: Sheet, y: float, x: Scale, answer: MoistureAnswer) -> float:
    """Draw the regain of the treated layer as a band."""
    band = answer.band
    top = sheet.heading(y, f"Regain of {answer.question.treated}") + 22
    highest = 100 * max(band.treated_regain.high) * 1.05
    lowest = 100 * min(band.treated_regain.low) * 0.9
    ticks = round_ticks(lowest, highest, 5)
    axes = Axes(sheet, x, Scale(lowest, highest, top + 120, top))
    for seconds, words in time_ticks(x.low, x.high):
        axes.x_tick(seconds, words)
    for tick in ticks:
        axes.y_tick(tick, f"{tick:g} %")
    axes.frame()
    axes.y_name("water per dry mass")
    _band(axes, band.times_s, _percent(band.treated_regain))
    sheet.text(RIGHT, top + 154, "time from laying the pack, logarithmic", 12,
               text_anchor="end", fill=QUIET)  # fmt: skip
    return top + 160


def _percent(series: SeriesBand) -> SeriesBand:
    low, middle, high = (
        tuple(100 * value for value in line) for line in (series.low, series.middle, series.high)
    )
    return SeriesBand(series.name, low, middle, high)


def _spread(sheet: Sheet, y: float, spread: Spread) -> float:
    """Draw the RH at the end against the distance from the middle of the pack."""
    when = minutes_in_words(spread.times_s[-1])
    top = sheet.heading(y, f"RH of {spread.layer} across the patch after {when}") + 40
    edge, lowest = spread.ring_edges_mm[-1], min(0.4, *(row[-1] for row in spread.fibre_humidity))
    axes = Axes(sheet, Scale(0, edge, LEFT, RIGHT), Scale(lowest, 1.0, top + 140, top))
    for share in range(-(-round(100 * lowest) // 10) * 10, 101, 10):
        axes.y_tick(share / 100, f"{share} %")
    for tick in round_ticks(0, edge, 8):
        axes.x_tick(tick, f"{tick:g}", grid=False)
    axes.frame()
    axes.y_name("RH")
    limit = axes.y(spread.limit)
    sheet.line([(LEFT, limit), (RIGHT, limit)], stroke_width=1.6, stroke_dasharray="10 3 2 3")
    borders = [0.0]
    for k, zone in enumerate(spread.zone_of_ring):
        if k + 1 == len(spread.zone_of_ring) or spread.zone_of_ring[k + 1] != zone:
            start, end = axes.x(borders[-1]), axes.x(spread.ring_edges_mm[k + 1])
            sheet.text((start + end) / 2, top - 6, ZONES.get(zone, zone), 12, text_anchor="middle")
            if end < RIGHT:
                sheet.line([(end, top - 18), (end, top + 140)], stroke_dasharray="2 3")
            borders.append(spread.ring_edges_mm[k + 1])
    series = [row[-1] for row in spread.fibre_humidity]
    sheet.line(axes.points(spread.radii_mm, series), stroke=ACCENT, stroke_width=2.4)
    words = f"limit {100 * spread.limit:g} % RH"
    sheet.text(RIGHT - 4, limit - 5, words, 12, text_anchor="end", halo=True)
    sheet.text(RIGHT, top + 174, "mm from the middle of a round pack", 12,
               text_anchor="end", fill=QUIET)  # fmt: skip
    return top + 180


ZONES = {"pack": "pack", "margin": "films", "open": "open cloth"}
