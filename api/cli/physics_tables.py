"""The answers of the bench physics on a terminal: sentences first, then a small table."""

from __future__ import annotations

from collections.abc import Iterable
from typing import TYPE_CHECKING

from rich.console import Console
from rich.padding import Padding
from rich.table import Table
from rich.text import Text

from leastwise.api.cli.tables import print_lines
from leastwise.graph.physics.bounds import minutes_in_words, rounded

if TYPE_CHECKING:
    from leastwise.graph.physics import TimeBand, WeightPlan
    from leastwise.graph.setups.answers import MoistureAnswer
    from leastwise.graph.setups.checks import AirAnswer, LightAnswer, LoadAnswer

__all__ = ["print_air", "print_light", "print_load", "print_moisture"]

DEFERENCE = (
    "Computed for a conservator's own judgement; the eye, the finger and a trial decide. Where "
    "people or objects could come to harm, local codes and licensed practice decide."
)


def _rows(console: Console, rows: Iterable[tuple[str, str]]) -> None:
    table = Table(box=None, pad_edge=False, show_header=False)
    table.add_column(no_wrap=True, style="bold")
    table.add_column(ratio=1)
    for name, value in rows:
        table.add_row(Text(name), Text(value))
    console.print(table)


def _says(console: Console, lines: Iterable[str]) -> None:
    for line in lines:
        console.print(Padding(Text(f"- {line}"), (0, 0, 0, 1)))


def _ending(console: Console, rests_on: Iterable[str], caveats: Iterable[str]) -> None:
    print_lines("Rests on", rests_on, console)
    print_lines("Mind", caveats, console)
    console.print(Text(f"\n{DEFERENCE}", style="italic"))


def _time(band: TimeBand) -> str:
    """Return a band of times in words."""
    said = ["never" if s is None else minutes_in_words(s) for s in
            (band.low_s, band.middle_s, band.high_s)]  # fmt: skip
    if band.low_s is None:
        return f"not reached (in {band.share_reached:.0%} of the cases)"
    words = f"{said[0]} (early), {said[1]} (middle), {said[2]} (late)"
    short = "" if band.share_reached == 1 else f"; reached in {band.share_reached:.0%} of the cases"
    return words + short


def print_moisture(answer: MoistureAnswer, console: Console | None = None) -> None:
    """Print the answer for a stack: what to do, times as bands, water, drying, stop signs."""
    console = console or Console()
    demo = "  (invented demo stack)" if answer.demo else ""
    console.print(Text((answer.title or "Stack") + demo, style="bold"))
    _says(console, answer.says)
    console.print()
    _rows(console, [*_times(answer), *_bench(answer)])
    print_lines("Stop at", answer.protocol.stop_signs, console)
    widths = [f"{name} ({rank:+.2f})" for name, rank in answer.band.rules_the_width[:3]]
    print_lines("Most of the width comes from (rank correlation)", widths, console)
    _ending(console, answer.rests_on, answer.caveats)


def _times(answer: MoistureAnswer) -> Iterable[tuple[str, str]]:
    ask, band, protocol = answer.question, answer.band, answer.protocol
    yield "first look", minutes_in_words(protocol.first_look_s)
    yield "then every", minutes_in_words(protocol.look_every_s)
    yield f"{100 * ask.target.low:g} % RH reached", _time(band.time_to_target)
    yield f"{100 * ask.target.high:g} % RH passed", _time(band.time_above_target)
    if band.neighbour_limit is not None:
        name = f"{ask.neighbour} at {100 * ask.neighbour_limit:g} % RH"
        yield name, _time(band.neighbour_limit)
    for dose in answer.neighbours:
        yield f"dose on {dose.neighbour}", dose.as_laid.in_words()
    yield "condensation", answer.condensation


def _bench(answer: MoistureAnswer) -> Iterable[tuple[str, str]]:
    band, protocol = answer.band, answer.protocol
    drawn = [rounded(s[-1]) for s in (band.water_drawn_g_m2.low, band.water_drawn_g_m2.high)]
    yield (
        "water drawn",
        f"{drawn[0]:g} to {drawn[1]:g} g/m² in {answer.question.duration_s / 60:g} min",
    )
    own = protocol.dose.self_limiting_g_m2
    yield (
        "water that limits itself",
        (
            f"{rounded(own.low):g} to {rounded(own.high):g} g/m² in a sealed pack "
            f"({rounded(protocol.dose.self_limiting_g.low):g} to "
            f"{rounded(protocol.dose.self_limiting_g.high):g} g on this patch)"
        ),
    )
    plan = protocol.weight
    yield "weights", _plates(plan)
    dry, hours = protocol.drying, protocol.drying.practice_h
    model = "not reached" if dry.model_s is None else (
        f"{minutes_in_words(dry.model_s.low)} to {minutes_in_words(dry.model_s.high)}"
    )  # fmt: skip
    yield "drying", f"fibres {model}; held in place {hours.low:g} to {hours.high:g} h (practice)"
    changes = ", ".join(minutes_in_words(s) for s in dry.change_blotter_s)
    yield "change the blotter at", changes
    yield "damp in all", f"under {protocol.damp_limit_h:g} h above 75 % RH, never overnight"


def _plates(plan: WeightPlan) -> str:
    mass = f"{rounded(plan.mass_g, 3):g} g"
    return f"{mass} in {plan.plates} plates" if plan.plates > 1 else f"{mass} in one plate"


def print_air(answer: AirAnswer, console: Console | None = None) -> None:
    """Print what follows for some air."""
    console = console or Console()
    given = f"Air of {answer.temperature_c:g} °C and {100 * answer.relative_humidity:g} % RH"
    console.print(Text(given, style="bold"))
    _says(console, answer.says)
    console.print()
    _rows(console, [
        ("dew point", f"{answer.dew_point_c:.1f} °C"),
        ("vapour pressure", f"{rounded(answer.vapour_pressure_pa, 3):g} Pa"),
        ("water in it", f"{answer.absolute_humidity_g_m3:.1f} g/m³, "
         f"{answer.humidity_ratio_g_kg:.1f} g per kg of dry air"),
    ])  # fmt: skip
    _ending(console, answer.rests_on, answer.caveats)


def print_light(answer: LightAnswer, console: Console | None = None) -> None:
    """Print a display's light against the budget."""
    console = console or Console()
    given = f"{answer.lux:g} lx, {answer.hours_per_day:g} h a day, {answer.days} days on show"
    console.print(Text(given, style="bold"))
    _says(console, answer.says)
    table = Table(box=None, pad_edge=False, header_style="underline")
    for title in ("year", "days on show", "lx h", "of the budget"):
        table.add_column(title, justify="right")
    plan = answer.planned
    rows = list(zip(plan.days_shown_by_year, plan.dose_lx_h_by_year, strict=True))
    for n, (days, dose) in enumerate(rows[:10], 1):
        share = f"{dose / plan.budget_lx_h_per_year:.0%}"
        table.add_row(str(n), str(days), f"{dose:,.0f}".replace(",", " "), share)
    console.print()
    console.print(table)
    if len(rows) > 10:
        console.print(f"and {len(rows) - 10} more years (see --json)")
    _ending(console, answer.rests_on, answer.caveats)


def print_load(answer: LoadAnswer, console: Console | None = None) -> None:
    """Print the forces of a load."""
    console = console or Console()
    given = {k: v for k, v in answer.given.items() if v is not None}
    console.print(Text(f"{answer.kind}: " + ", ".join(f"{k} {v}" for k, v in given.items()),
                       style="bold"))  # fmt: skip
    _says(console, answer.says)
    _ending(console, answer.rests_on, answer.caveats)
