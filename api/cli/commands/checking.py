"""Command: a case record checked, and nothing kept."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from leastwise.api.cli.lines import say
from leastwise.api.cli.shared import (
    CaseArgument,
    JsonOption,
    LangOption,
    WithOption,
    mendable,
    open_adviser,
    settings_with,
)

if TYPE_CHECKING:
    from collections.abc import Iterator

    from leastwise.graph.questions.record_check import RecordCheck

__all__ = ["register"]

QuickOption = Annotated[
    bool, typer.Option("--quick", help="Don't weigh the case again for what is unknown.")
]


def register(app: typer.Typer) -> None:
    """Put the command of this module on the command line."""

    @app.command()
    def check(
        case: CaseArgument,
        *,
        quick: QuickOption = False,
        overlays: WithOption = None,
        language: LangOption = None,
        as_json: JsonOption = False,
    ) -> None:
        """Check a record: what can't be read, what contradicts, what is unknown and matters.

        Reads only. Exit code 1 if the record can't be used yet.

        Example: leastwise check my-case.yaml
        """
        with mendable():
            from leastwise.graph.case.reading import read_file  # noqa: PLC0415 - keeps --help quick
            from leastwise.graph.questions.open_entries import MOST_RUNS  # noqa: PLC0415
            from leastwise.graph.questions.record_check import check_record  # noqa: PLC0415

            path = _path_of(case)
            text = read_file(path)
            found = check_record(
                text,
                open_adviser(settings_with(overlays, language)),
                is_json=path.suffix.lower() == ".json",
                most_runs=0 if quick else MOST_RUNS,
            )
        if as_json:
            typer.echo(found.as_json(), nl=False)
        else:
            say("\n".join(_lines(found)))
        if not found.is_readable:
            raise typer.Exit(1)


def _path_of(case: str) -> Path:
    from leastwise.graph.case.demo import demo_path  # noqa: PLC0415 - keeps --help quick

    is_demo = case.startswith("demo:")
    return demo_path(case.removeprefix("demo:")) if is_demo else Path(case)


def _lines(found: RecordCheck) -> Iterator[str]:
    yield found.says
    matters = [one for one in found.unknown if one.changes == "yes"]
    tried = [one for one in found.unknown if one.changes == "no"]
    rest = [one for one in found.unknown if one.changes == "not-tried"]
    for head, rows in (
        ("To mend", found.problems),
        ("Questions", found.questions),
        ("Taken as settled", found.settled),
        ("Unknown, and would change the answer", matters),
        ("Unknown, and changes nothing by itself", tried),
        ("Unknown, and not tried", rest),
    ):
        if rows:
            yield f"\n{head}"
            yield from (f" - {one}" for one in rows)
