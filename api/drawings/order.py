"""The order of a plan as a chart over hours: one row a step, and what has to come before it."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from leastwise.api.drawings.axes import Scale, round_ticks
from leastwise.api.drawings.svg import ACCENT, INK, LETTER, QUIET, Sheet, wrapped
from leastwise.graph.meanings import Verdict
from leastwise.graph.planning.values import Step

__all__ = ["ROWS_MOST", "order_charts", "order_in_words"]

WIDTH, LANE, ROW = 760, 13.0, 50.0
NAMES, BARS, RIGHT, HEAD = 262.0, 384.0, 690.0, 44.0
ROWS_MOST = 15  # of one chart, so that it fits a printed page


class _Wide(Sheet):
    width = WIDTH


@dataclass(frozen=True, slots=True)
class _Bar:
    """One step on the axis: from the sum of the longest hours before it."""

    step: Step
    start: float

    @property
    def least(self) -> float:
        return self.start + self.step.hours[0]

    @property
    def most(self) -> float:
        return self.start + self.step.hours[1]


@dataclass(frozen=True, slots=True)
class _Tie:
    """What has to come before: a line in a lane of its own; *wait* where something must hold."""

    first: int
    then: int
    wait: bool
    lane: int


def order_in_words(steps: Sequence[Step]) -> str:
    """Return the order as sentences, step by step."""
    said = []
    for step in steps:
        low, high = step.hours
        after = sorted({reason.step for reason in step.after})
        words = f"Step {step.number}, {step.label}: {_span(low, high)} h"
        if after:
            words += f", after step {', '.join(map(str, after))}"
        if step.shares_set_up_with:
            words += f", set-up shared with step {step.shares_set_up_with}"
        said.append(f"{words}.")
    return " ".join(said)


def order_charts(steps: Sequence[Step], name: str = "lw-order") -> list[str]:
    """Return the charts as SVG, at most 15 rows each; one hours axis runs through all of them.

    A bar is full up to the least hours and hatched on to the most. Each starts where the one
    before ends if everything takes longest.
    """
    bars, start = [], 0.0
    for step in steps:
        bars.append(_Bar(step, start))
        start += step.hours[1]
    axis = Scale(0.0, max(start, 1.0), BARS, RIGHT)
    chunks = [bars[i : i + ROWS_MOST] for i in range(0, len(bars), ROWS_MOST)]
    return [_chart(chunk, axis, f"{name}-{n}") for n, chunk in enumerate(chunks, 1)]


def _chart(bars: Sequence[_Bar], axis: Scale, name: str) -> str:
    sheet = _Wide(name)
    first, last = bars[0].step.number, bars[-1].step.number
    foot = HEAD + ROW * len(bars)
    _axis(sheet, axis, foot)
    for row, bar in enumerate(bars):
        _row(sheet, HEAD + ROW * row, bar, axis)
    _ties(sheet, bars)
    end = _key(sheet, foot + 26)
    title = f"Order of work over hours, steps {first} to {last}"
    return sheet.render(end + 8, title, order_in_words([bar.step for bar in bars]))


def _axis(sheet: Sheet, axis: Scale, foot: float) -> None:
    for tick in round_ticks(axis.low, axis.high, 6):
        x = axis(tick)
        sheet.line([(x, HEAD - 6), (x, foot)], stroke="#dddad4", stroke_width=1)
        sheet.text(x, HEAD - 12, f"{tick:g}", 12.5, text_anchor="middle", fill=QUIET)
    sheet.text(RIGHT + 12, HEAD - 12, "hours", 12.5, fill=QUIET)
    sheet.line([(BARS, HEAD - 6), (RIGHT, HEAD - 6)], stroke_width=1.0)


def _row(sheet: Sheet, y: float, bar: _Bar, axis: Scale) -> None:
    step, middle = bar.step, y + ROW / 2
    sheet.line([(20, y + ROW), (WIDTH - 20, y + ROW)], stroke="#e6e2d9", stroke_width=1)
    sheet.add("circle", cx=92.0, cy=middle, r=12.0, fill="#ffffff", stroke=INK, stroke_width=1.4)
    sheet.text(92, middle + 4.5, str(step.number), 13, text_anchor="middle", font_weight="bold")
    lines = wrapped(step.label, NAMES, 13)
    if len(lines) > 2:
        lines = [lines[0], f"{lines[1]} …"]
    text = middle - 7.5 * len(lines) + 4.5
    for line in lines:
        sheet.text(112, text, line, 13)
        text += 15
    sheet.text(112, text - 0.5, _about(step), 11.5, fill=QUIET)
    _bar(sheet, middle, bar, axis)


def _about(step: Step) -> str:
    """Return the damages that a step answers, and whose set-up it shares, in one short line."""
    shared = f"set-up of step {step.shares_set_up_with}" if step.shares_set_up_with else ""
    room = NAMES - 8 - 11.5 * LETTER * (len(shared) + 2)
    damages = wrapped(", ".join(step.damages), room, 11.5)
    named = damages[0] + (" …" if len(damages) > 1 else "") if damages else ""
    return "; ".join(one for one in (named, shared) if one)


def _bar(sheet: Sheet, middle: float, bar: _Bar, axis: Scale) -> None:
    start, least, most = axis(bar.start), axis(bar.least), axis(bar.most)
    wide = max(most - start, 3.0)
    sheet.filled((start, middle - 9, wide, 18), "fine", "#e7eeef")
    sheet.rect(start, middle - 9, max(least - start, 2.0), 18, fill=ACCENT)
    undecided = bar.step.verdict != Verdict.ACCEPTED
    dash = {"stroke_dasharray": "5 3", "stroke_width": 1.8} if undecided else {"stroke_width": 1.2}
    sheet.rect(start, middle - 9, wide, 18, fill="none", stroke=INK, **dash)
    if bar.step.shares_set_up_with:
        points = [(start, middle - 15), (start + 5, middle - 10), (start - 5, middle - 10)]
        sheet.area(points, fill="#ffffff", stroke=INK, stroke_width=1)
    words = f"{_span(*bar.step.hours)} h"
    if start + wide + 8 + 7.4 * len(words) < WIDTH - 4:
        sheet.text(start + wide + 6, middle + 4.5, words, 12.5, halo=True)
    else:
        sheet.text(start - 6, middle + 4.5, words, 12.5, text_anchor="end", halo=True)


def _ties(sheet: Sheet, bars: Sequence[_Bar]) -> None:
    """Draw what has to come before at the left, nearest first, each in a lane of its own."""
    row_of = {bar.step.number: row for row, bar in enumerate(bars)}
    for tie in _laned(bars):
        there = HEAD + ROW * (row_of[tie.then] + 0.5)
        x = 72 - LANE * tie.lane
        dash = {"stroke_dasharray": "4 3"} if tie.wait else {}
        if tie.first in row_of:
            here = HEAD + ROW * (row_of[tie.first] + 0.5) + 4
            sheet.line([(80, here), (x, here), (x, there - 4)], stroke_width=1.5, **dash)
        else:
            sheet.line([(x, HEAD - 4), (x, there - 4)], stroke_width=1.5, **dash)
            top = HEAD - 8 - 12 * (tie.lane % 2)
            sheet.text(x, top, str(tie.first), 11.5, text_anchor="middle", fill=QUIET)
        sheet.arrow((x, there - 4), (80, there - 4), stroke_width=1.5)


def _laned(bars: Sequence[_Bar]) -> Iterator[_Tie]:
    """Yield the ties; those that would lie over each other get different lanes, five at most."""
    ends: list[list[tuple[int, int]]] = [[] for _ in range(5)]
    wanted = {
        (reason.step, bar.step.number): bool(reason.wait_until)
        for bar in bars
        for reason in bar.step.after
    }
    for (first, then), wait in sorted(wanted.items(), key=lambda one: one[0][1] - one[0][0]):
        free = (
            lane
            for lane, taken in enumerate(ends)
            if all(then < a or first > b or (first, then) == (a, b) for a, b in taken)
        )
        lane = next(free, len(ends) - 1)
        ends[lane].append((first, then))
        yield _Tie(first, then, wait, lane)


def _key(sheet: Sheet, y: float) -> float:
    """Draw what the marks mean."""
    sheet.rect(112, y - 9, 26, 14, fill=ACCENT)
    sheet.text(146, y + 2, "least hours", 12)
    sheet.filled((232, y - 9, 26, 14), "fine", "#e7eeef")
    sheet.rect(232, y - 9, 26, 14, fill="none", stroke=INK, stroke_width=1.0)
    sheet.text(266, y + 2, "on to most hours", 12)
    sheet.rect(
        392, y - 9, 26, 14, fill="none", stroke=INK, stroke_width=1.8, stroke_dasharray="5 3"
    )
    sheet.text(426, y + 2, "undecided: settle first", 12)
    sheet.area([(590, y - 8), (596, y + 2), (584, y + 2)], fill="#ffffff", stroke=INK)
    sheet.text(604, y + 2, "set-up shared", 12)
    y += 22
    sheet.arrow((112, y - 3), (138, y - 3), stroke_width=1.5)
    sheet.text(146, y + 2, "has to come before", 12)
    sheet.line([(292, y - 3), (318, y - 3)], stroke_width=1.5, stroke_dasharray="4 3")
    sheet.text(326, y + 2, "and something has to hold in between, said in the list", 12)
    return y + 6


def _span(low: float, high: float) -> str:
    return f"{low:g} to {high:g}" if high > low else f"{low:g}"
