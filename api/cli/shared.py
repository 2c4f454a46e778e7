"""What the commands share: options, the settings they give, and how a mistake is told."""

from __future__ import annotations

import json
from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from dataclasses import replace
from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer

from leastwise.api.settings import Settings
from leastwise.graph.errors import LeastwiseError

if TYPE_CHECKING:
    from leastwise.graph import Adviser, Case, Knowledge

__all__ = [
    "CaseArgument",
    "JsonOption",
    "LangOption",
    "LinkedOption",
    "WithOption",
    "day_of",
    "mendable",
    "open_adviser",
    "open_case",
    "print_json",
    "print_or_write",
    "settings_with",
    "tell",
    "writing",
]

CaseArgument = Annotated[
    str,
    typer.Argument(
        metavar="CASE", help="A case file (JSON or YAML), or demo:NAME for an invented case."
    ),
]
WithOption = Annotated[
    list[Path] | None,
    typer.Option("--with", metavar="FOLDER", help="Lay a folder of your own Turtle over it."),
]
LangOption = Annotated[
    str | None,
    typer.Option(
        "--lang",
        metavar="TAG",
        help="Language of the labels, such as de (not yet checked by a native reader); what has "
        "none, and every sentence, is English.",
    ),
]
JsonOption = Annotated[bool, typer.Option("--json", help="Print the whole answer as JSON.")]
LinkedOption = Annotated[
    bool, typer.Option("--json", help="The same as --format jsonld: linked data as JSON.")
]


@contextmanager
def mendable() -> Iterator[None]:
    """Turn what a user can mend into a sentence and exit code 2."""
    try:
        yield
    except (LeastwiseError, ValueError) as error:
        # what befalls a store has a sentence for pages, and one for commands
        typer.echo(f"leastwise: {getattr(error, 'command', error)}", err=True)
        raise typer.Exit(2) from error


def settings_with(overlays: list[Path] | None, language: str | None = None) -> Settings:
    """Return the settings of the environment with those of the command line laid over them."""
    settings = Settings.from_environment()
    return replace(
        settings,
        overlays=(*settings.overlays, *(overlays or ())),
        language=settings.language if language is None else language,
    )


def open_adviser(settings: Settings) -> Adviser:
    """Return the adviser that the settings ask for."""
    from leastwise.graph.load import load_adviser  # noqa: PLC0415 - keeps --help quick

    return load_adviser(settings.overlays, cache=settings.cache, language=settings.language)


def open_case(case: str, knowledge: Knowledge) -> Case:
    """Return the case in a file, or a demo case for ``demo:NAME``."""
    from leastwise.graph.case.demo import read_demo  # noqa: PLC0415
    from leastwise.graph.case.reading import read_case  # noqa: PLC0415 - keeps --help quick

    if case.startswith("demo:"):
        return read_demo(case.removeprefix("demo:"), knowledge)
    return read_case(Path(case), knowledge)


def print_json(value: Any) -> None:
    """Print lists, mappings, texts and numbers as JSON; a day or a path as its text."""
    typer.echo(json.dumps(value, default=str, ensure_ascii=False, indent=1, sort_keys=True))


def tell(words: str, values: Mapping[str, Any], *, as_json: bool) -> None:
    """Print what was done: in words, or as the values that the words are made of."""
    if as_json:
        print_json(values)
    else:
        typer.echo(words)


def print_or_write(text: str, output: Path | None) -> None:
    """Print a text, or write it to the file of ``--output``."""
    if output is None:
        typer.echo(text, nl=False)
        return
    with writing("--output", output):
        output.write_text(text, "utf-8")


@contextmanager
def writing(option: str, path: Path) -> Iterator[None]:
    """Turn what keeps the file of an option from being written into a sentence.

    Raises:
        ValueError: the file can't be written.

    """
    try:
        yield
    except OSError as error:
        raise ValueError(
            f"{option} {path}: {error.strerror}; expected a file that can be written"
        ) from error


def day_of(option: str, given: str) -> date:
    """Return the day that an option gives.

    Raises:
        ValueError: it isn't a day.

    """
    try:
        return date.fromisoformat(given)
    except ValueError:
        raise ValueError(f"{option} {given}: expected a day such as 2026-11-20") from None
