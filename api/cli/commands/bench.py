"""Command: the bench sheet of one step of the plan, or of one option."""

from __future__ import annotations

import sys
from collections.abc import Sequence
from datetime import UTC, datetime
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
    writing,
)

if TYPE_CHECKING:
    from leastwise.api.documents.bench_sheet import Step
    from leastwise.graph.answer import Answer
    from leastwise.graph.case.record import Case
    from leastwise.graph.planning.bench_sheet import BenchSheet
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
    out: Annotated[
        Path | None,
        typer.Option("--out", metavar="FILE.pdf", help="Write the sheet with its drawings there."),
    ] = None,
    as_json: JsonOption = False,
    overlays: WithOption = None,
) -> None:
    """Print the sheet for one step: set-up, stations, display, times, amounts, stop signs.

    Humidification is worked out station by station, with the pack of each; a mount with its sizes
    and loads.

    Example: leastwise bench demo:festival-dancer crushed-tiers/membrane-pack-suspended

    Example: leastwise bench my-case.yaml 3 --draw stations.svg --stacks packs

    Example: leastwise bench demo:festival-dancer 3 --out sheet.pdf
    """
    with mendable():
        from leastwise.api.documents.bench_sheet import worked_step  # noqa: PLC0415
        from leastwise.graph.setups.answers import as_json as in_json  # noqa: PLC0415

        adviser = open_adviser(settings_with(overlays))
        record = open_case(case, adviser.knowledge)
        answer = adviser.weigh(record)
        option, *also = _options(adviser, record, answer, step)
        worked = worked_step(adviser, record, answer, option, also=also)
        sheet, stations = worked.sheet, worked.stations
        if draw is not None:
            _draw(sheet, stations, draw)
        if out is not None:
            _write_pdf(adviser, record, worked, out)
        if stacks is not None:
            _write_stacks(stations, stacks)
        if as_json:
            sys.stdout.write(
                in_json({"sheet": sheet, "stations": stations, "supports": worked.supports})
            )
        else:
            from leastwise.api.cli.bench_tables import print_sheet  # noqa: PLC0415

            print_sheet(worked)


def _options(adviser: Adviser, case: Case, answer: Answer, step: str) -> Sequence[str]:
    """Return the options that are meant: all of the step of a number, or one by its name."""
    if not step.isascii() or not step.isdigit():
        from leastwise.api.services.questions import find_option  # noqa: PLC0415

        return [find_option(answer, step).id]
    from leastwise.graph.planning.make import make_plan  # noqa: PLC0415 - slow to load

    steps = make_plan(case, adviser, answer=answer).steps
    if not 1 <= int(step) <= len(steps):
        raise ValueError(
            f"got {step}; the plan has steps 1 to {len(steps)}." if steps else "the plan has none."
        )
    return steps[int(step) - 1].options


def _draw(sheet: BenchSheet, stations: HumidificationSheet | None, path: Path) -> None:
    """Draw stations, or the display to scale (of several drawings the first)."""
    from leastwise.api.drawings.display import display_drawings  # noqa: PLC0415
    from leastwise.api.drawings.stations import stations_drawing  # noqa: PLC0415

    drawn = [stations_drawing(stations)] if stations else []
    drawn += display_drawings(sheet.display) if sheet.display else []
    if not drawn:
        raise ValueError("--draw: this step has neither stations nor a display drawn to scale.")
    with writing("--draw", path):
        path.write_text(drawn[0], "utf-8")


def _write_pdf(adviser: Adviser, case: Case, worked: Step, path: Path) -> None:
    from leastwise.api.documents.bench_sheet import Edition, sheet_document  # noqa: PLC0415
    from leastwise.api.documents.proposal_pdf import set_pdf  # noqa: PLC0415 - slow
    from leastwise.graph.proposal.report.make import case_digest  # noqa: PLC0415

    if path.suffix.lower() != ".pdf":
        raise ValueError(f"--out: got {path.name}; the sheet is written as PDF, so name it .pdf.")
    today = datetime.now(UTC).date().isoformat()
    edition = Edition(case_digest(case), adviser.knowledge.digest, today)
    made = sheet_document(case, worked, edition)
    pdf = set_pdf("bench", made.plain, made.files, today)
    with writing("--out", path):
        path.write_bytes(pdf)


def _write_stacks(stations: HumidificationSheet | None, folder: Path) -> None:
    if stations is None:
        raise ValueError("--stacks: only a humidification has packs to write.")
    with writing("--stacks", folder):
        folder.mkdir(parents=True, exist_ok=True)
        for one in stations.sections:
            if one.stack is not None:
                text = one.stack.model_dump_json(indent=1, exclude_none=True)
                (folder / f"{one.number}-{one.parts[0]}.json").write_text(text + "\n", "utf-8")


def register(app: typer.Typer) -> None:
    """Add the command."""
    app.command()(bench)
