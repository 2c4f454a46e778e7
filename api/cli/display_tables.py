"""A display worked out, as tables on the command line, and its drawing in a file."""

from __future__ import annotations

from pathlib import Path

from rich.console import Console
from rich.table import Table

from leastwise.api.cli.tables import print_lines
from leastwise.api.drawings.display import display_drawings
from leastwise.graph.display.values import OnFigure, WorkedDisplay
from leastwise.graph.display.worked import MOUNTINGS
from leastwise.graph.errors import CaseError, Problem

__all__ = ["print_display", "write_drawing"]


def print_display(worked: WorkedDisplay) -> None:
    """Print what is worked out, line by line, then what would have to be measured."""
    console = Console(highlight=False)
    if worked.rows:
        table = Table(title=f"Display, {worked.mounting.replace('-', ' ')}", title_justify="left")
        for name in ("What", "Worked out", "Basis"):
            table.add_column(name)
        for row in worked.rows:
            table.add_row(row.what, row.value, row.basis)
        console.print(table)
    if worked.figure is not None and worked.figure.slices:
        _print_slices(worked.figure, console)
    measured = worked.mounting in MOUNTINGS.values()
    print_lines("To measure" if measured else "Not worked out", worked.unknown, console)
    if worked.claims:
        console.print(f"\nRests on: {', '.join(worked.claims)}.")


def _print_slices(found: OnFigure, console: Console) -> None:
    table = Table(title="Padding by height", title_justify="left")
    for name in ("Below the nape, cm", "Form, cm", "Bare figure, cm", "Padding, cm"):
        table.add_column(name, justify="right")
    for one in found.slices:
        bare = "" if one.bare_cm is None else f"{one.bare_cm:.1f}"
        thick = "" if one.padding_cm is None else f"{one.padding_cm:.1f}"
        if one.padding_cm is not None and one.padding_cm < 0:
            thick = "figure too large"
        table.add_row(f"{one.below_nape_cm:.0f}", f"{one.form_cm:.1f}", bare, thick)
    console.print(table)


def write_drawing(path: Path, worked: WorkedDisplay) -> None:
    """Write the first drawing of a display.

    Raises:
        CaseError: nothing can be drawn, or the file can't be written.

    """
    drawings = display_drawings(worked)
    if not drawings:
        lacks = "a record with the lengths or the slope that a drawing to scale needs"
        raise CaseError([Problem("--draw", "nothing to draw", lacks)])
    try:
        path.write_text(drawings[0], "utf-8")
    except OSError as error:
        said = error.strerror or "can't be written"
        raise CaseError([Problem(f"--draw {path}", said, "a file that can be written")]) from error
