"""Command: the bench sheet of one step of the plan, or of one option."""

from __future__ import annotations

import sys
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

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

if TYPE_CHECKING:
    from leastwise.graph.answer import Answer
    from leastwise.graph.case.record import Case
    from leastwise.graph.stations.sheet import HumidificationSheet
    from leastwise.graph.weighing.advise import Adviser

__all__ = ["register"]


def bench(  # noqa: PLR0913 - the options of one command
    case: CaseArgument,
    step: Annotated[
        str,
        typer.Argument(metavar="STEP", help="A step of the plan by its number, or an option."),
    ],
    *,
    draw: Annotated[
        Path | None,
        typer.Option("--draw", metavar="FILE.svg", help="Draw the stations into this file."),
    ] = None,
    stacks: Annotated[
        Path | None,
        typer.Option(
            "--stacks",
            metavar="FOLDER",
            help="Write the pack of each section there, for leastwise moisture.",
        ),
    ] = None,
    as_json: JsonOption = False,
    overlays: WithOption = None,
) -> None:
    """Print the sheet for one step: set-up, stations, times, amounts, stop signs.

    Humidification is worked out station by station, with the pack of each.

    Example: leastwise bench demo:festival-dancer crushed-tiers/membrane-pack-suspended

    Example: leastwise bench my-case.yaml 3 --draw stations.svg --stacks packs
    """
    with mendable():
        from leastwise.graph.planning.bench_sheet import bench_sheet  # noqa: PLC0415
        from leastwise.graph.setups.answers import as_json as in_json  # noqa: PLC0415
        from leastwise.graph.stations.sheet import humidification_sheet  # noqa: PLC0415

        adviser = open_adviser(settings_with(overlays))
        record = open_case(case, adviser.knowledge)
        answer = adviser.weigh(record)
        option = _option(adviser, record, answer, step)
        stations = humidification_sheet(adviser, record, answer, option)
        sheet = stations.frame if stations else bench_sheet(adviser, record, answer, option)
        if draw is not None:
            _draw(stations, draw)
        if stacks is not None:
            _write_stacks(stations, stacks)
        if as_json:
            sys.stdout.write(in_json({"sheet": sheet, "stations": stations}))
        else:
            from leastwise.api.cli.bench_tables import print_sheet  # noqa: PLC0415

            print_sheet(sheet, stations)


def _option(adviser: Adviser, case: Case, answer: Answer, step: str) -> str:
    """Return the option that is meant: by the number of its step, or by its name."""
    if not step.isascii() or not step.isdigit():
        from leastwise.api.services.questions import find_option  # noqa: PLC0415

        return find_option(answer, step).id
    from leastwise.graph.planning.make import make_plan  # noqa: PLC0415 - slow to load

    steps = make_plan(case, adviser, answer=answer).steps
    if not 1 <= int(step) <= len(steps):
        raise ValueError(
            f"got {step}; the plan has steps 1 to {len(steps)}." if steps else "the plan has none."
        )
    return steps[int(step) - 1].options[0]


def _draw(stations: HumidificationSheet | None, path: Path) -> None:
    if stations is None:
        raise ValueError("--draw: only a humidification has stations to draw.")
    from leastwise.api.drawings.stations import stations_drawing  # noqa: PLC0415

    path.write_text(stations_drawing(stations), "utf-8")


def _write_stacks(stations: HumidificationSheet | None, folder: Path) -> None:
    if stations is None:
        raise ValueError("--stacks: only a humidification has packs to write.")
    folder.mkdir(parents=True, exist_ok=True)
    for one in stations.sections:
        if one.stack is not None:
            text = one.stack.model_dump_json(indent=1, exclude_none=True)
            (folder / f"{one.number}-{one.parts[0]}.json").write_text(text + "\n", "utf-8")


def register(app: typer.Typer) -> None:
    """Add the command."""
    app.command()(bench)
