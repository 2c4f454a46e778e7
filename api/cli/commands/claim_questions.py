"""Commands: question, questions, settle-question."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer

from leastwise.api.cli.lines import say
from leastwise.api.cli.shared import JsonOption, mendable, open_adviser, print_json, tell
from leastwise.api.settings import Settings
from leastwise.graph.names import claim_named

if TYPE_CHECKING:
    from leastwise.api.services.claim_questions import ClaimQuestion
    from leastwise.api.store import Store
    from leastwise.graph import Adviser

__all__ = ["register"]

#: Who asks and settles at the command line.
CONSOLE = "console"
NameArgument = Annotated[str, typer.Argument(metavar="QUESTION", help="Its name, as listed.")]


def register(app: typer.Typer) -> None:
    """Put the commands of this module on the command line."""
    app.command()(question)
    app.command()(questions)
    app.command("settle-question")(settle_question)


@contextmanager
def _opened() -> Iterator[tuple[Store, Adviser]]:
    from leastwise.api.store import Store  # noqa: PLC0415 - keeps --help quick

    settings = Settings.from_environment()
    store = Store.open(settings.store)
    try:
        yield store, open_adviser(settings)
    finally:
        store.engine.dispose()


def question(
    claim: Annotated[str, typer.Argument(metavar="CLAIM", help="A claim, such as M-128.")],
    text: Annotated[str, typer.Argument(metavar="TEXT", help="What is to be said of it.")],
    *,
    source: Annotated[
        str, typer.Option("--source", help="The source of a rebuttal: author, year, title, pages.")
    ] = "",
    change: Annotated[
        Path | None, typer.Option("--change", metavar="FILE", help="A proposed change, as Turtle.")
    ] = None,
    as_json: JsonOption = False,
) -> None:
    """Question a claim: with a remark, a rebuttal and its source, or a change as Turtle.

    Example: leastwise question M-128 "Silk of this weight bears it." --source "Own trial, 2026"
    """
    with mendable(), _opened() as (store, adviser):
        from leastwise.api.services.claim_questions import ask  # noqa: PLC0415

        try:
            turtle = "" if change is None else change.read_text("utf-8")
        except (OSError, UnicodeDecodeError) as error:
            raise ValueError(f"--change {change}: can't be read; give a file of Turtle") from error
        given = {
            "claim": claim_named(claim),
            "what": "change" if turtle else "rebuttal" if source else "remark",
            "text": text,
            "source": source,
            "turtle": turtle,
        }
        folders = Settings.from_environment().overlays
        kept = ask(store, adviser.knowledge, given, CONSOLE, folders)
    tell(f"Kept as {kept.id}.", _values(kept), as_json=as_json)


def questions(
    claim: Annotated[
        str | None, typer.Argument(metavar="[CLAIM]", help="Only those on this claim.")
    ] = None,
    *,
    as_json: JsonOption = False,
) -> None:
    """List the questions on claims, with what was decided.

    Example: leastwise questions M-128
    """
    with mendable(), _opened() as (store, _):
        from leastwise.api.services.claim_questions import questions_on  # noqa: PLC0415

        name = "" if claim is None else claim_named(claim)
        found = questions_on(store, name)
    if as_json:
        print_json([_values(one) for one in found])
        return
    for one in found:
        _show(one)


def _values(one: ClaimQuestion) -> dict[str, Any]:
    return {"id": one.id, "by": one.document.owner, **one.document.body}


def _show(one: ClaimQuestion) -> None:
    say(f"{one.id}  {one.claim}  {one.said('what')}, {one.said('state')}: {one.said('text')}")
    for key in ("source", "answer"):
        if one.said(key):
            say(f"    {key}: {one.said(key)}")


def settle_question(  # noqa: PLR0913 - options of a command
    name: NameArgument,
    *,
    compare: Annotated[
        bool, typer.Option("--compare", help="Work out what a change would change.")
    ] = False,
    accept: Annotated[str, typer.Option("--accept", metavar="WHY", help="Accept it.")] = "",
    decline: Annotated[str, typer.Option("--decline", metavar="WHY", help="Decline it.")] = "",
    into: Annotated[
        Path | None,
        typer.Option("--into", metavar="FOLDER", help="Write an accepted change into this folder."),
    ] = None,
    as_json: JsonOption = False,
) -> None:
    """Compare a proposed change, and accept or decline a question, with the reason.

    Example: leastwise settle-question 3f2a91c0de77 --compare

    Example: leastwise settle-question 3f2a91c0de77 --accept "Read again." --into my-folder
    """
    with mendable(), _opened() as (store, adviser):
        from leastwise.api.services import claim_questions as service  # noqa: PLC0415

        if bool(accept) + bool(decline) + compare != 1:
            raise ValueError("expected one of --compare, --accept and --decline")
        one = service.question_by_id(store, name)
        if compare:
            used = Settings.from_environment()
            one = service.compare_change(store, one, CONSOLE, used.overlays, used.cache)
            tell("\n".join(one.comparison), _values(one), as_json=as_json)
            return
        state = "accepted" if accept else "declined"
        one = service.settle(
            store, one, adviser, state=state, answer=accept or decline, who=CONSOLE
        )
        file = service.write_change(one, into) if accept and into is not None else None
        where = f"\nThe change is in {file}." if file else ""
        tell(f"{one.id}: {state}.{where}", _values(one) | {"file": file}, as_json=as_json)
