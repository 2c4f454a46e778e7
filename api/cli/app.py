"""The command line: each command reads, calls, prints.

What a command needs is loaded when it is called; see :mod:`leastwise.api.cli.grouped`.

A mistake of the user is one sentence and exit code 2, never a traceback.
"""

from __future__ import annotations

from typing import Annotated

import typer

from leastwise.api.cli.grouped import Grouped

__all__ = ["app"]

app = typer.Typer(
    name="leastwise",
    cls=Grouped,
    no_args_is_help=True,
    rich_markup_mode=None,
    pretty_exceptions_enable=False,
    help="What is the least that has to be done to this textile so that it can serve its purpose?",
    epilog="Exit codes: 0 done; 1 done, and something is wrong with what was checked or a verdict "
    "changed; 2 a mistake, told in one sentence.",
)


def _version(*, wanted: bool) -> None:
    if wanted:
        from leastwise.graph.version import program_version  # noqa: PLC0415

        typer.echo(f"leastwise {program_version()}")
        raise typer.Exit


@app.callback()
def _root(
    *,
    version: Annotated[
        bool,
        typer.Option(
            "--version",
            callback=lambda v: _version(wanted=v),
            is_eager=True,
            help="Show the version and exit.",
        ),
    ] = False,
) -> None:
    pass
