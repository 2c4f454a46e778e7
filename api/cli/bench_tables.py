"""A bench sheet as text: what is done in order, with times, amounts, looks and stop signs."""

from __future__ import annotations

from rich.console import Console
from rich.table import Table
from rich.text import Text

from leastwise.api.cli.tables import print_lines
from leastwise.api.documents.bench_sheet import Step
from leastwise.api.drawings.stations import stations_in_words
from leastwise.graph.planning.bench_layers import Layers
from leastwise.graph.stations.sheet import HumidificationSheet, SectionSheet

__all__ = ["print_sheet"]


def print_sheet(worked: Step) -> None:
    """Print the sheet of one step."""
    sheet, stations = worked.sheet, worked.stations
    console = Console(highlight=False, soft_wrap=False)
    console.print(Text(sheet.label, style="bold"))
    console.print(
        f"For {sheet.problems}: {', '.join(sheet.parts)} ({sheet.extent}). {sheet.verdict}."
    )
    print_lines("People first", sheet.people, console)
    print_lines("Against it", sheet.against, console)
    checks = (f"{c.what}{' or ' + '; '.join(c.or_else) if c.or_else else ''}" for c in sheet.checks)
    print_lines("Settle first", checks, console)
    print_lines("In order", sheet.steps, console, numbered=True)
    if sheet.equipment:
        print_lines("At hand", [sheet.equipment], console)
    if stations is None:
        _layers(console, sheet.layers)
        _times(console, [(r.what, r.value, r.basis) for r in sheet.times])
    else:
        _stations(console, stations)
    print_lines("Cost", [worked.cost] if worked.cost else [], console)
    amounts = sheet.amounts if stations is None else stations.amounts
    _times(console, [(r.what, r.value, r.basis) for r in amounts], "Amounts")
    _times(console, [(r.what, r.value, r.basis) for r in worked.supports], "The supports")
    _times(console, [(r.what, r.value, r.basis) for r in sheet.worked], "Sizes and loads")
    print_lines("Look at", sheet.looks, console)
    print_lines("Stop", sheet.stops, console)
    print_lines("Take care", sheet.care, console)


def _stations(console: Console, sheet: HumidificationSheet) -> None:
    print_lines("Before the first station", sheet.first, console)
    console.print(Text("\nStations", style="bold"))
    console.print(sheet.in_words)
    for one in sheet.sections:
        _section(console, one)
    print_lines("If a station goes wrong", sheet.gone_wrong, console)
    console.print(f"\nIn short: {stations_in_words(sheet)}")


def _section(console: Console, one: SectionSheet) -> None:
    console.print(Text(f"\n{one.number}. {', '.join(one.names)}", style="bold"))
    console.print(one.because)
    for name, found in zip(one.names, one.stations, strict=True):
        told = f"{found.number}: {found.in_words}" if found.number else found.in_words
        console.print(f"Stations on the {name}: {told}.")
    _layers(console, one.layers)
    console.print(f"Cloth: {one.cloth}.")
    _times(console, [(t.what, t.value, f"{t.basis}. {t.remark}".strip()) for t in one.times])
    for near in one.neighbours:
        console.print(f"Beside it the {near.name} ({near.contact}): {near.film}.")
        for line in near.says:
            console.print(f"   {line}")
    console.print(one.reshaping)
    for line in (*one.physics, *one.relaxes, *one.missing):
        console.print(line)


def _layers(console: Console, layers: Layers | None) -> None:
    if layers is None:
        return
    said = ", ".join(f"{x.name}{f' ({x.note})' if x.note else ''}" for x in layers.layers)
    console.print(f"From {layers.first}: {said}. {layers.basis}")


def _times(console: Console, rows: list[tuple[str, str, str]], title: str = "Times") -> None:
    if not rows:
        return
    table = Table(box=None, pad_edge=False, header_style="underline")
    for name in (title, "", "from"):
        table.add_column(name)
    for row in rows:
        table.add_row(*row)
    console.print(table)
