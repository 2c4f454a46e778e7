"""Reads an export back into an empty store: first all hashes, then all events, then all checks."""

from __future__ import annotations

import hashlib
import json
from collections.abc import Callable, Iterator
from contextlib import contextmanager, suppress
from datetime import datetime
from pathlib import Path, PurePosixPath
from typing import Any

from sqlalchemy import func, select, text
from sqlalchemy.engine import URL
from sqlalchemy.orm import Session

from leastwise.api.store.backup.exported import FORMAT, MANIFEST
from leastwise.api.store.backup.verify import Found, verify_in
from leastwise.api.store.engine import file_of, lock_chain, make_engine, url_of
from leastwise.api.store.faults import StoreError, told
from leastwise.api.store.ground import Ground
from leastwise.api.store.migrate import move_to, revision_of
from leastwise.api.store.newest import move_note
from leastwise.api.store.records.rows import listed
from leastwise.api.store.records.store import Store
from leastwise.api.store.tables import (
    DocumentTable,
    EventTable,
    NewestEventTable,
    PictureTable,
    ShareTable,
)
from leastwise.api.store.words import START, as_text

__all__ = ["import_all", "import_into"]

Progress = Callable[[str, int, int], None]
_CHANGED = "the export was changed or is not whole; make it anew with 'leastwise export-all'."
_FIELDS = {
    "document": "document_id", "case": "case_id", "kind": "kind", "version": "version",
    "number": "number", "who": "who", "what": "what", "title": "title", "owner": "owner",
    "removed": "removed", "before": "before", "hash": "hash",
}  # fmt: skip


def import_into(
    url: str, folder: Path, progress: Progress = lambda what, done, total: None
) -> Found:
    """Put an export into the store at *url*, made if it isn't there; nothing is left if it fails.

    Raises:
        StoreError: as ``import_all``, or the store can't be made.

    """
    _checked(folder, progress)  # before anything is made
    place = url_of(url)
    with left_as_it_was(place):
        store = Store.open(url)
        try:
            return import_all(store, folder, progress)
        finally:
            store.engine.dispose()


@contextmanager
def left_as_it_was(url: URL) -> Iterator[None]:
    """Take a store away again that is made inside, if what is done there fails."""
    path = file_of(url)
    if path is None:
        with _without_tables(url):
            yield
        return
    was_there = path.exists()
    missing = [one for one in path.absolute().parents if not one.exists()]
    try:
        yield
    except BaseException:
        if not was_there:
            for ending in ("-wal", "-shm", ""):
                path.with_name(path.name + ending).unlink(missing_ok=True)
            with suppress(OSError):  # others may have put something there meanwhile
                for folder in missing:
                    folder.rmdir()
        raise


@contextmanager
def _without_tables(url: URL) -> Iterator[None]:
    engine = make_engine(url)
    try:
        with told(url), engine.connect() as connection:
            was_there = revision_of(connection) is not None
        try:
            yield
        except BaseException:
            if not was_there:
                with engine.begin() as connection:
                    # others may have begun to work with it meanwhile
                    if not connection.scalar(select(func.count()).select_from(EventTable)):
                        move_to(connection, "base")
                        connection.execute(text("DROP TABLE alembic_version"))
            raise
    finally:
        engine.dispose()


def import_all(
    store: Ground, folder: Path, progress: Progress = lambda what, done, total: None
) -> Found:
    """Put an export into an empty store, all of it or nothing, and say what is there now.

    Raises:
        StoreError: the store isn't empty, a file isn't the one that the manifest names, or the
            events don't make up one chain.

    """
    names, manifest = _checked(folder, progress)
    with store.session() as session:
        if session.scalar(select(func.count()).select_from(EventTable)):
            raise StoreError(
                f"{store.place}: holds records already; give an empty or a new store "
                "(--store PATH), so that every change keeps its number."
            )
        places = [name for name in names if name.endswith("/events.jsonl")]
        for done, name in enumerate(places, 1):
            _put(session, folder, name, names)
            progress("cases", done, len(places))
        move_note(session, NewestEventTable, (0, START), lock_chain(session))
        session.flush()
        found = verify_in(session, progress)
        if found.faults:
            raise StoreError(f"{folder}: {found.faults[0]}; {_CHANGED}")
        if (found.events, found.head) != (manifest.get("events"), manifest.get("head")):
            raise StoreError(f"{folder / MANIFEST}: events are missing at the end; {_CHANGED}")
    return found


def _checked(folder: Path, progress: Progress) -> tuple[list[str], dict[str, Any]]:
    """Return the names in the manifest once every file has the hash that stands there."""
    place = folder / MANIFEST
    try:
        manifest = json.loads(place.read_bytes())
        version, files = manifest["leastwise_export"], manifest["files"]
        names = {str(name): str(files[name]["sha256"]) for name in files}
    except (OSError, ValueError, TypeError, KeyError) as error:
        raise StoreError(
            f"{place}: can't be read; expected a folder that 'leastwise export-all' has written."
        ) from error
    if version != FORMAT:
        raise StoreError(f"{place}: form {version!r}; this program reads form {FORMAT}.")
    for done, (name, digest) in enumerate(names.items(), 1):
        if _sha256(folder, name) != digest:
            raise StoreError(f"{folder / name}: its SHA-256 is not the manifest's; {_CHANGED}")
        progress("files", done, len(names))
    return list(names), manifest


def _sha256(folder: Path, name: str) -> str:
    path = PurePosixPath(name)
    if path.is_absolute() or ".." in path.parts or "\0" in name:
        raise StoreError(f"{folder / MANIFEST}: names {name!r}, which lies outside the folder.")
    try:
        with (folder / name).open("rb") as file:
            return hashlib.file_digest(file, "sha256").hexdigest()
    except OSError as error:
        raise StoreError(f"{folder / name}: {error.strerror}; {_CHANGED}") from error


def _put(session: Session, folder: Path, name: str, names: list[str]) -> None:
    """Put one folder's events into the store, and the records that come of them."""
    documents: dict[str, DocumentTable] = {}
    events: list[EventTable] = []
    for event in _events(folder / name):
        events.append(event)
        row = documents.get(event.document_id)
        if row is None:
            row = documents[event.document_id] = DocumentTable(
                id=event.document_id, created=event.at
            )
        _follow(row, event)
    # a case before what belongs to it
    for row in sorted(documents.values(), key=lambda one: (one.id != one.case_id, one.id)):
        session.add(row)
        session.flush()
    session.add_all(events)
    session.flush()
    files = {
        Path(one).stem: folder / one for one in names if one.startswith(f"{name[:-12]}pictures/")
    }
    for row in documents.values():
        if row.kind == "shares":
            session.add_all(
                ShareTable(case_id=row.case_id, account=account, right=right)
                for account, right in json.loads(row.body).items()
            )
        elif row.kind == "picture":
            _add_picture(session, row, files)
    session.flush()
    session.expunge_all()


def _follow(row: DocumentTable, event: EventTable) -> None:
    row.kind, row.case_id, row.title = event.kind, event.case_id, event.title
    row.owner, row.version, row.removed = event.owner, event.version, event.removed
    row.changed, row.changed_by, row.body = event.at, event.who, event.body
    for key, value in listed(event.kind, event.title, json.loads(event.body)).items():
        setattr(row, key, value)


def _add_picture(session: Session, row: DocumentTable, files: dict[str, Path]) -> None:
    said, path = json.loads(row.body), files.get(row.id)
    if path is None:
        raise StoreError(f"photograph {row.id} of case {row.case_id}: its file is not there.")
    session.add(
        PictureTable(
            id=row.id,
            case_id=row.case_id,
            name=said["name"],
            stage=said["stage"],
            media_type=said["media_type"],
            width=said["width"],
            height=said["height"],
            sha256=said["sha256"],
            added=row.created,
            added_by=row.owner,
            data=path.read_bytes(),
        )
    )


def _events(path: Path) -> Iterator[EventTable]:
    with path.open("rb") as file:
        for number, line in enumerate(file, 1):
            try:
                said = json.loads(line)
                fields = {column: said[name] for name, column in _FIELDS.items()}
                at, body = datetime.fromisoformat(said["at"]), as_text(said["body"])
            except (ValueError, KeyError, TypeError) as error:
                raise StoreError(f"{path}, line {number}: is not an event; {_CHANGED}") from error
            yield EventTable(at=at, body=body, **fields)
