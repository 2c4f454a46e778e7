"""Commands: backup, restore, verify, export-all, import-all, and the record at any date."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import asdict
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from leastwise.api.cli.shared import JsonOption, mendable, print_json, tell
from leastwise.api.settings import Settings

if TYPE_CHECKING:
    from leastwise.api.store import Store
    from leastwise.api.store.backup.restored import Restored
    from leastwise.api.store.backup.verify import Found, Noted

__all__ = ["register"]

StoreOption = Annotated[
    str | None,
    typer.Option(
        "--store",
        metavar="URL-OR-PATH",
        help="The store: a path, or a URL such as postgresql://me@host/leastwise; default: "
        "LEASTWISE_STORE, else your own data folder.",
    ),
]
ReplaceOption = Annotated[bool, typer.Option("--replace", help="Put what is there aside.")]
BackupArgument = Annotated[Path, typer.Argument(metavar="FILE", help="The file of the backup.")]
FolderArgument = Annotated[Path, typer.Argument(metavar="FOLDER", help="The folder of the export.")]
#: What a check may look at; a word for each, as a person would say it.
_WORDS = {"file": "the file", "events": "events", "records": "records"}


def register(app: typer.Typer) -> None:
    """Add the commands to *app*."""
    for command in (backup, restore, verify, record):
        app.command()(command)
    app.command("export-all")(export_all)
    app.command("import-all")(import_all)


def backup(
    file: BackupArgument,
    *,
    store: StoreOption = None,
    replace: Annotated[
        bool, typer.Option("--replace", help="Write over a backup of this name.")
    ] = False,
    as_json: JsonOption = False,
) -> None:
    """Write all that the store holds into one file, while others go on working.

    Example: leastwise backup records-2026-11-25.backup
    """
    with mendable(), _opened(store) as one, _progress() as progress:
        from leastwise.api.store.backup.backup import backup as write  # noqa: PLC0415 - keeps --help quick

        write(one, file, replace=replace, progress=progress)
    tell(
        f"{one.place} was written to {file}. It holds whatever the store holds; keep it safe.",
        {"store": one.place, "file": file},
        as_json=as_json,
    )


def restore(
    file: BackupArgument,
    *,
    store: StoreOption = None,
    replace: ReplaceOption = False,
    keep_tokens: Annotated[
        bool,
        typer.Option(
            "--keep-tokens",
            help="Let the tokens of the backup work on, also those revoked since it was made.",
        ),
    ] = False,
    as_json: JsonOption = False,
) -> None:
    """Put a backup in the place of the store; the old store is kept beside it.

    Nobody stays signed in, links to set a password no longer work, and tokens are revoked, since
    some of them may have been ended after the backup was made. An event of the accounts says so.

    Example: leastwise restore records-2026-11-25.backup --replace
    """
    with mendable(), _progress() as progress:
        from leastwise.api.store.backup.backup import restore as put  # noqa: PLC0415 - keeps --help quick

        done = put(_url(store), file, replace=replace, keep_tokens=keep_tokens, progress=progress)
    if as_json:
        print_json(asdict(done))
    else:
        _tell_restored(done, keep_tokens=keep_tokens)


def _tell_restored(done: Restored, *, keep_tokens: bool) -> None:
    typer.echo(f"Restored: {_summary(done.found)}.")
    kept = f", {done.tokens_kept} kept" if keep_tokens else ""
    typer.echo(
        f"Ended: {done.sessions} sessions, {done.links} links to set a password, "
        f"{done.recovery_codes} recovery codes, failed attempts. "
        f"Tokens: {done.tokens} revoked{kept}. An event of the accounts says so."
    )
    if done.old:
        typer.echo(f"The old store is kept as {done.old}.")


def verify(
    *,
    store: StoreOption = None,
    noted: Annotated[
        list[str] | None,
        typer.Option(
            "--noted",
            metavar="HASH",
            help="A hash that was noted earlier: is it still in the store? May be repeated.",
        ),
    ] = None,
    as_json: JsonOption = False,
) -> None:
    """Check that the store is whole and that nothing in it was altered past the program.

    Looks at the file, at each event's hash and the one before it, at each record and each account
    against its newest event, and at each photograph's SHA-256. Exit code 1 if anything is wrong,
    or if a hash that was noted is no longer there.

    Example: leastwise verify

    Example: leastwise verify --noted $(cat hash-noted-in-november.txt)
    """
    from leastwise.api.store import StoreDamaged  # noqa: PLC0415 - keeps --help quick
    from leastwise.api.store.backup.verify import noted as look_for  # noqa: PLC0415
    from leastwise.api.store.backup.verify import verify as check  # noqa: PLC0415

    try:
        with mendable():
            hashes = [_hash(one) for one in noted or []]
        with mendable(), _opened(store) as one, _progress() as progress:
            found = check(one, progress)
            # where the file itself is torn, nothing more can be asked of it
            looked = look_for(one, hashes) if found.head else []
    except typer.Exit as error:  # so torn that it can't even be opened
        raise typer.Exit(1 if isinstance(error.__cause__, StoreDamaged) else 2) from error
    if as_json:
        _verified_as_json(one.place, found, looked)
    else:
        _tell_verified(one.place, found, looked)
    if found.faults or not all(hit.is_there for hit in looked):
        raise typer.Exit(1)


def _verified_as_json(place: str, found: Found, looked: list[Noted]) -> None:
    told = asdict(found) | {
        "place": place,
        "whole": not found.faults,
        "noted": [asdict(hit) | {"is_there": hit.is_there} for hit in looked],
    }
    print_json(told)


def _tell_verified(place: str, found: Found, looked: list[Noted]) -> None:
    for warning in found.warnings:
        typer.echo(f"Warning: {warning}")
    for fault in found.faults:
        typer.echo(str(fault))
    for hit in looked:
        typer.echo(f"Noted {hit}")
    if found.faults:
        typer.echo(f"{place}: not whole; the first fault is named first.")
        return
    typer.echo(f"{place}: whole. {_summary(found)}.")
    if found.restored:
        typer.echo(f"Restored last: {found.restored}")
    typer.echo(f"Hash of the newest event, to note elsewhere: {found.head}")
    if found.accounts_head:
        said = f"{found.accounts_head} (event {found.account_events} of the accounts)"
        typer.echo(f"Hash of the newest account event, likewise: {said}")
    else:
        typer.echo("Of accounts there is no event yet.")


def export_all(
    folder: FolderArgument, *, store: StoreOption = None, as_json: JsonOption = False
) -> None:
    """Write every record, change and photograph in open formats, a folder a case.

    Example: leastwise export-all records-2026-11-25
    """
    with mendable(), _opened(store) as one, _progress() as progress:
        from leastwise.api.store.backup.exported import export_all as write  # noqa: PLC0415 - as above

        files = write(one, folder, progress)
    tell(
        f"{files} files were written to {folder}; its README.txt says what is what.",
        {"folder": folder, "files": files},
        as_json=as_json,
    )


def import_all(
    folder: FolderArgument, *, store: StoreOption = None, as_json: JsonOption = False
) -> None:
    """Read an export into an empty store; checks each file's SHA-256 first.

    Example: leastwise import-all records-2026-11-25 --store new.sqlite
    """
    with mendable(), _progress() as progress:
        from leastwise.api.store.backup.imported import import_into as read  # noqa: PLC0415 - as above

        found = read(_url(store), folder, progress)
    tell(f"Read: {_summary(found)}.", asdict(found), as_json=as_json)


def record(
    case: Annotated[str, typer.Argument(metavar="CASE", help="The id of a case in the store.")],
    *,
    at: Annotated[
        str,
        typer.Option(
            "--at",
            metavar="WHEN",
            help="A day (its end, UTC) or an instant, as ISO 8601; default: now.",
        ),
    ] = "",
    store: StoreOption = None,
    as_json: JsonOption = False,
) -> None:
    """Print a stored record as YAML, as it is or as it was at any date.

    Example: leastwise record 4fd1c2a90b7e --at 2026-11-25
    """
    with mendable(), _opened(store) as one:
        from leastwise.api.store.backup.exported import as_yaml  # noqa: PLC0415 - keeps --help quick

        document = one.as_of(case, when=_instant(at)) if at else one.read(case)
    if as_json:
        print_json(asdict(document))
        return
    typer.echo(
        f"# {document.kind} {document.id}, version {document.version}, kept "
        f"{document.changed:%Y-%m-%d %H:%M:%S} UTC by {document.changed_by}"
    )
    typer.echo(as_yaml(document.body), nl=False)


def _url(given: str | None) -> str:
    return given or Settings.from_environment().store


@contextmanager
def _opened(given: str | None) -> Iterator[Store]:
    """Give the store, for reading: it has to be there, and need not be one that can be written."""
    from leastwise.api.store import Store  # noqa: PLC0415 - keeps --help quick

    store = Store.open(_url(given), make=False, reading=True)
    try:
        yield store
    finally:
        store.engine.dispose()


@contextmanager
def _progress() -> Iterator[Callable[[str, int, int], None]]:
    """Show how far long work is, where somebody is looking on."""
    from rich.console import Console  # noqa: PLC0415 - keeps --help quick
    from rich.progress import Progress, TaskID  # noqa: PLC0415

    tasks: dict[str, TaskID] = {}
    console = Console(stderr=True)
    with Progress(console=console, transient=True, disable=not console.is_terminal) as shown:

        def progress(what: str, done: int, total: int) -> None:
            if what not in tasks:
                tasks[what] = shown.add_task(_WORDS.get(what, what))
            shown.update(tasks[what], completed=done, total=total or None)

        yield progress


def _instant(given: str) -> datetime:
    """Return the instant that a day ends, or the instant itself; without a zone it is UTC."""
    try:
        found = datetime.fromisoformat(given)
    except ValueError as error:
        raise ValueError(
            f"--at {given!r}: expected a day (2026-11-25) or an instant (2026-11-25T14:30+01:00)"
        ) from error
    if found.tzinfo is None:
        found = found.replace(tzinfo=UTC)
    is_day = "T" not in given and " " not in given
    try:
        return (found + timedelta(days=1, microseconds=-1) if is_day else found).astimezone(UTC)
    except OverflowError as error:
        raise ValueError(f"--at {given!r}: expected a date from year 1 to 9999, UTC") from error


def _hash(given: str) -> str:
    """Return a hash as the store holds it."""
    found = given.strip().lower()
    if not re.fullmatch(r"[0-9a-f]{64}", found):
        raise ValueError(
            f"--noted {given!r}: expected the 64 signs (0-9, a-f) of a hash, as 'leastwise "
            "verify' prints it"
        )
    return found


def _summary(found: Found) -> str:
    return f"{found.events} events, {found.records} records, {found.pictures} photographs"
