"""Commands: one concept, and the whole knowledge as a book."""

from __future__ import annotations

import sys
from dataclasses import asdict
from pathlib import Path
from typing import Annotated

import typer

from leastwise.api.cli.lines import say
from leastwise.api.cli.shared import (
    JsonOption,
    WithOption,
    mendable,
    open_adviser,
    print_json,
    settings_with,
    tell,
)

__all__ = ["register"]

FORMS = ("html", "markdown")


def register(app: typer.Typer) -> None:
    """Put the commands of this module on the command line."""
    app.command()(concept)
    app.command()(book)


def concept(
    name: Annotated[str, typer.Argument(metavar="CONCEPT", help="A CURIE or a label.")],
    *,
    overlays: WithOption = None,
    as_json: JsonOption = False,
) -> None:
    """Show what the knowledge says of a concept, a claim, a source or a rule.

    Example: leastwise concept material:gelatin-sequins
    """
    with mendable():
        from leastwise.graph.case.reading import find_concept  # noqa: PLC0415
        from leastwise.graph.names import SCHEMES  # noqa: PLC0415
        from leastwise.graph.reference.concept_view import concept_told, view_concept  # noqa: PLC0415

        settings = settings_with(overlays)
        adviser = open_adviser(settings)
        k = adviser.knowledge
        found = name
        if ":" not in name:
            matches = (find_concept(name, scheme, k) for scheme in SCHEMES)
            found = next((m for m in matches if m), name)
        view = view_concept(found, k, adviser.rules, settings.base)
    if as_json:
        print_json(asdict(view))
    else:
        say("\n".join(concept_told(view)))


def book(
    output: Annotated[Path, typer.Argument(metavar="OUTPUT", help="The folder to write into.")],
    *,
    form: Annotated[
        str, typer.Option("--format", metavar="html|markdown", help="What it is written as.")
    ] = "html",
    overlays: WithOption = None,
    force: Annotated[
        bool, typer.Option("--force", help="Write among files that are not a book of ours.")
    ] = False,
    as_json: JsonOption = False,
) -> None:
    """Write the knowledge as a book: a page for each concept, sources, coverage.

    Example: leastwise book reference/

    Example: leastwise book reference-md/ --format markdown --with my-folder/
    """
    with mendable():
        if form not in FORMS:
            raise ValueError(f"--format: got {form!r}; expected {' or '.join(FORMS)}")
        from leastwise.api.documents.book import BookForm, write_book  # noqa: PLC0415
        from leastwise.graph.reference.book import build_reference  # noqa: PLC0415

        adviser = open_adviser(settings_with(overlays))
        reference = build_reference(adviser.knowledge, adviser.rules)
        written = write_book(
            reference, output, form=BookForm(form), force=force, progress=_progress
        )
    tell(
        f"{written.pages} pages written; start at {written.front}",
        {"pages": written.pages, "front": written.front},
        as_json=as_json,
    )


def _progress(done: int, of: int) -> None:
    """Tell a person who watches how far the writing is; a pipe or a log is left alone."""
    if sys.stderr.isatty():
        shown = min(done, of)
        typer.echo(f"\rWriting page {shown} of {of}", nl=shown == of, err=True)
