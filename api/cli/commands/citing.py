"""Commands: cite."""

from __future__ import annotations

from typing import Annotated

import typer

from leastwise.api.cli.shared import JsonOption, WithOption, mendable, open_adviser, settings_with

__all__ = ["register"]


def register(app: typer.Typer) -> None:
    """Put the commands of this module on the command line."""
    app.command()(cite)


def cite(
    names: Annotated[
        list[str] | None,
        typer.Argument(
            metavar="[SOURCE|CLAIM]...",
            help="Sources, or claims whose sources are meant; all sources if none is named.",
        ),
    ] = None,
    *,
    form: Annotated[
        str,
        typer.Option("--format", metavar="text|bibtex|csl-json", help="What it is written as."),
    ] = "text",
    overlays: WithOption = None,
    as_json: JsonOption = False,
) -> None:
    """Print sources as references, for a bibliography or a reference manager.

    With --json as CSL-JSON. What a source doesn't say, such as a DOI, is left out.

    Example: leastwise cite S-033 W-097

    Example: leastwise cite --format bibtex > leastwise.bib
    """
    with mendable():
        from leastwise.graph.reference.citations import cite_as, find_citations  # noqa: PLC0415

        knowledge = open_adviser(settings_with(overlays)).knowledge
        written = cite_as("csl-json" if as_json else form, find_citations(knowledge, names or []))
    typer.echo(written)
