"""Commands: the display of an object worked out: figure, heading or slope, and its supports."""

from __future__ import annotations

import sys
from pathlib import Path
from typing import Annotated, Literal

import typer

from leastwise.api.cli.shared import (
    CaseArgument,
    JsonOption,
    WithOption,
    mendable,
    open_adviser,
    open_case,
    settings_with,
)

__all__ = ["register"]


def mount(
    case: CaseArgument,
    *,
    how: Annotated[
        Literal["on-figure", "hung", "slanted"] | None,
        typer.Option("--as", help="Work it out for another way of showing than the record's aim."),
    ] = None,
    draw: Annotated[
        Path | None,
        typer.Option("--draw", help="Write the drawing to scale (SVG); of several the first."),
    ] = None,
    as_json: JsonOption = False,
    overlays: WithOption = None,
) -> None:
    """Work out the display: padding, underskirt, loads, heading or slope, with mends.

    Example: leastwise mount my-case.yaml --draw figure.svg

    Example: leastwise mount my-case.yaml --as hung --json
    """
    with mendable():
        from leastwise.graph.display.worked import work_out  # noqa: PLC0415 - keeps others quick

        adviser = open_adviser(settings_with(overlays))
        worked = work_out(open_case(case, adviser.knowledge), adviser.catalogue, how or "")
        if draw is not None:
            from leastwise.api.cli.display_tables import write_drawing  # noqa: PLC0415

            write_drawing(draw, worked)
        if as_json:
            sys.stdout.write(worked.as_json())
        else:
            from leastwise.api.cli.display_tables import print_display  # noqa: PLC0415

            print_display(worked)


def register(app: typer.Typer) -> None:
    """Put the commands of this module on the command line."""
    app.command()(mount)
