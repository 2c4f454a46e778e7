"""Readings over time: one small chart for each quantity and unit."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from xml.sax.saxutils import escape

from leastwise.graph.treatment.record import Reading

__all__ = ["ReadingChart", "reading_charts"]

WIDTH, HEIGHT, LEFT, FOOT, TOP = 620, 150, 62, 26, 12
NAMES = {
    "rh": "relative humidity",
    "temperature": "temperature",
    "duration": "time",
    "weight": "weight",
    "ph": "pH",
    "conductivity": "conductivity",
    "other": "other readings",
}
MARKS = (
    "M-4 -4H4V4H-4Z",
    "M0 -5L5 4H-5Z",
    "M-4 0A4 4 0 1 1 4 0A4 4 0 1 1 -4 0Z",
    "M0 -5L5 0L0 5L-5 0Z",
)


@dataclass(frozen=True, slots=True)
class ReadingChart:
    """A chart as SVG, with its title; where it was read is told by the shape of the mark."""

    title: str
    svg: str
    legend: tuple[str, ...]


def reading_charts(readings: Sequence[Reading], parts: Mapping[str, str]) -> list[ReadingChart]:
    """Return a chart for each quantity and unit with two readings or more, oldest first."""
    grouped: dict[tuple[str, str], list[Reading]] = {}
    for one in readings:
        grouped.setdefault((one.quantity, one.unit), []).append(one)
    return [
        _chart(f"{NAMES[quantity]} ({unit})", rows, parts)
        for (quantity, unit), rows in grouped.items()
        if len(rows) > 1
    ]


def _when(one: Reading) -> datetime:
    return datetime.fromisoformat(f"{one.date.isoformat()}T{one.time or '12:00'}")


def _chart(title: str, rows: Sequence[Reading], parts: Mapping[str, str]) -> ReadingChart:
    rows = sorted(rows, key=_when)
    start, span = _when(rows[0]), (_when(rows[-1]) - _when(rows[0])).total_seconds() or 1.0
    low, high = min(r.value for r in rows), max(r.value for r in rows)
    reach = (high - low) or 1.0

    def x(one: Reading) -> float:
        return LEFT + 8 + (WIDTH - LEFT - 24) * (_when(one) - start).total_seconds() / span

    def y(value: float) -> float:
        return TOP + (HEIGHT - TOP - FOOT) * (1 - (value - low) / reach)

    places = list(dict.fromkeys(one.part for one in rows))
    drawn = [
        f'<path class="axis" d="M{LEFT} {TOP}V{HEIGHT - FOOT}H{WIDTH - 8}"/>',
        *(
            f'<text class="tick" x="{LEFT - 6}" y="{y(value) + 4:.1f}" text-anchor="end">'
            f"{value:g}</text>"
            for value in dict.fromkeys((high, low))
        ),
        f'<text class="tick" x="{LEFT}" y="{HEIGHT - 8}">{_day(rows[0])}</text>',
        f'<text class="tick" x="{WIDTH - 8}" y="{HEIGHT - 8}" text-anchor="end">'
        f"{_day(rows[-1])}</text>",
    ]
    for number, place in enumerate(places):
        mine = [one for one in rows if one.part == place]
        points = " ".join(f"{x(one):.1f},{y(one.value):.1f}" for one in mine)
        drawn.append(f'<polyline class="line" points="{points}"/>')
        mark = MARKS[number % len(MARKS)]
        drawn += [
            f'<path class="mark" transform="translate({x(one):.1f} {y(one.value):.1f})" '
            f'd="{mark}"/>'
            for one in mine
        ]
    said = (
        f"{title}: {len(rows)} readings from {_day(rows[0])} to {_day(rows[-1])}, "
        f"lowest {low:g}, highest {high:g}"
    )
    return ReadingChart(
        title, _svg(said, drawn), tuple(parts.get(p, p) or "the whole object" for p in places)
    )


def _svg(said: str, drawn: Sequence[str]) -> str:
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" class="readings" viewBox="0 0 {WIDTH} {HEIGHT}" '
        f'role="img"><title>{escape(said)}</title>{"".join(drawn)}</svg>'
    )


def _day(one: Reading) -> str:
    return f"{one.date.isoformat()}{' ' + one.time if one.time else ''}"
