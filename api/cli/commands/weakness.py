"""Commands: weakest."""

from __future__ import annotations

import json
from dataclasses import asdict
from typing import Annotated

import typer

from leastwise.api.cli.lines import say
from leastwise.api.cli.shared import (
    JsonOption,
    WithOption,
    mendable,
    open_adviser,
    open_case,
    settings_with,
)
from leastwise.graph.sentences import counted

__all__ = ["register"]


def register(app: typer.Typer) -> None:
    """Put the commands of this module on the command line."""
    app.command()(weakest)


def weakest(
    *,
    most: Annotated[int, typer.Option("--most", help="How many are shown.", min=1)] = 20,
    cases: Annotated[
        list[str] | None,
        typer.Option(
            "--case",
            metavar="CASE",
            help="Count the options of a case that cite a claim as well; repeatable.",
        ),
    ] = None,
    overlays: WithOption = None,
    as_json: JsonOption = False,
) -> None:
    """List the claims whose reading would pay most: doubtful, and much hangs on them.

    Example: leastwise weakest --most 10 --case demo:festival-dancer
    """
    with mendable():
        from leastwise.graph.reference.book import build_reference  # noqa: PLC0415
        from leastwise.graph.reference.weakest import decisions_on  # noqa: PLC0415
        from leastwise.graph.reference.weakest import weakest as ranked  # noqa: PLC0415

        adviser = open_adviser(settings_with(overlays))
        book = build_reference(adviser.knowledge, adviser.rules)
        answers = [adviser.weigh(open_case(one, adviser.knowledge)) for one in cases or ()]
        found = ranked(book, adviser.knowledge, decisions_on(answers))[:most]
    if as_json:
        shown = [{**asdict(one), "value": one.value} for one in found]
        typer.echo(json.dumps(shown, ensure_ascii=False, indent=1, sort_keys=True))
        return
    for one in found:
        options = [counted(one.decisions, "option")] * bool(one.decisions)
        hangs = ", ".join([*one.hanging.in_words, *options])
        say(f"{one.value:6.1f}  {one.claim}: {book.claims[one.claim].statement}")
        say(f"        {'; '.join(one.because)}. On it hang {hangs}.")
