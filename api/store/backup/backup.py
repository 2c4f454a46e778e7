"""Backup while others work, and restore that keeps the old store beside the new one."""

from __future__ import annotations

import os
import shutil
import sqlite3
import tempfile
from collections.abc import Callable, Iterator
from contextlib import closing, contextmanager, suppress
from dataclasses import replace as replaced
from datetime import UTC, datetime
from functools import partial
from pathlib import Path

from sqlalchemy import Connection, inspect, text
from sqlalchemy.engine import URL
from sqlalchemy.orm import Session

from leastwise.api.store.backup.dump import Rows, load, read_dump, rows_of, tables, write_dump
from leastwise.api.store.backup.restored import Restored, close_all, source_of, told_of_backup
from leastwise.api.store.backup.verify import verify, verify_in
from leastwise.api.store.engine import file_of, is_sqlite, make_engine, reading_address, url_of
from leastwise.api.store.faults import StoreError, place_of, told
from leastwise.api.store.migrate import head
from leastwise.api.store.records.found import Found
from leastwise.api.store.records.store import Store

__all__ = ["backup", "restore"]

Progress = Callable[[str, int, int], None]
#: Ends what was open in a restored store, given its session and what a check of it has found.
Close = Callable[[Session, Found], Restored]
SQLITE_MAGIC = b"SQLite format 3\0"


def _silent(what: str, done: int, total: int) -> None:
    pass


def backup(
    store: Store, path: Path, *, replace: bool = False, progress: Progress = _silent
) -> None:
    """Write all of a store, as it is at one instant, into a file that only its owner may read.

    A store on SQLite becomes a file of SQLite, one on PostgreSQL a zip of JSON lines. Others may go
    on working meanwhile. The file appears under its name only when it is whole: what was copied is
    checked as ``leastwise verify`` does it, so that no damaged copy takes a good one's place.

    Raises:
        StoreError: the file is there already and *replace* is false, it can't be written, or the
            store isn't whole; names the first fault.

    """
    if path.exists() and not replace:
        raise StoreError(f"{path}: already exists; give a new name, or --replace.")
    try:
        with _beside(path) as new:
            if is_sqlite(store.engine):
                _copy(Path(str(store.engine.url.database)), new)
                progress("pages", 1, 1)
                _check_copy(new, store.place)
            else:
                with store.reading() as session:
                    _check_whole(verify_in(session), store.place)
                    write_dump(session.connection(), new, progress)
            _sync(new)
            new.replace(path)
            _sync(path.parent)
    except (OSError, sqlite3.Error) as error:
        why = getattr(error, "strerror", None) or str(error)
        raise StoreError(
            f"{path}: {why}; expected a file that can be written, on a disk with room."
        ) from error


def _check_copy(copy: Path, place: str) -> None:
    store = Store.open(str(copy), make=False, reading=True)
    try:
        _check_whole(verify(store), place)
    finally:
        store.engine.dispose()


def _check_whole(found: Found, place: str) -> None:
    if found.faults:
        raise StoreError(
            f"{place}: the store isn't whole, so no backup was written ({found.faults[0]}). "
            "'leastwise verify' tells more; keep a copy of the store's files as they are."
        )


def restore(
    given: str | URL,
    path: Path,
    *,
    replace: bool = False,
    keep_tokens: bool = False,
    progress: Progress = _silent,
) -> Restored:
    """Put a backup in a store's place; return what is there now and where the old store is.

    The backup is checked before anything is touched. A store that holds something is replaced only
    with *replace*, and is then kept beside the new one: as a file, or as a schema of PostgreSQL.
    Sessions, links to set a password and tokens (unless *keep_tokens*) of the backup open nothing
    any more; an event of the accounts says when the restore was, and from what.

    Raises:
        StoreError: the backup can't be read or isn't whole, there is a store already, or somebody
            works with it.

    """
    url = given if isinstance(given, URL) else url_of(given)
    target = file_of(url)
    if target is None and url.get_backend_name() == "sqlite":
        raise StoreError("A store in memory can't be restored; give --store PATH-OR-URL.")
    try:
        with path.open("rb") as file:
            magic = file.read(16)
        close = partial(close_all, source=source_of(path), keep_tokens=keep_tokens)
        if target is not None:
            return _to_file(target, path, magic, close, replace=replace, progress=progress)
        with told_of_backup(path, place_of(url)), _rows(path, magic) as rows, told(url):
            return _to_postgresql(url, path, rows, close, replace=replace, progress=progress)
    except OSError as error:
        raise StoreError(
            f"{error.filename or path}: {error.strerror}; expected a backup that can be "
            "read and a place that can be written, on a disk with room. The old store is as it was."
        ) from error


@contextmanager
def _rows(path: Path, magic: bytes) -> Iterator[tuple[str, Rows]]:
    """Give the rows of a backup of either kind."""
    if magic != SQLITE_MAGIC:
        yield read_dump(path)
        return
    with tempfile.TemporaryDirectory(prefix="leastwise-") as folder:  # that only its owner reads
        copy = Path(folder) / "copy.sqlite"
        shutil.copyfile(path, copy)
        store = Store.open(str(copy))  # which brings an older form to the newest
        try:
            with store.reading() as session:
                connection = session.connection()
                yield head(), ((one.name, rows_of(connection, one)) for one in tables())
        finally:
            store.engine.dispose()


# -- a file of SQLite


def _to_file(  # noqa: PLR0913 - what is put where, and how it is told
    target: Path, path: Path, magic: bytes, close: Close, *, replace: bool, progress: Progress
) -> Restored:
    if target.exists() and target.stat().st_size and not replace:
        raise StoreError(
            f"{target}: is there already and was not touched; with --replace it is put aside "
            "beside the restored one."
        )
    target.parent.mkdir(mode=0o700, parents=True, exist_ok=True)
    with _beside(target) as new:
        with told_of_backup(path, str(target)):
            if magic == SQLITE_MAGIC:
                shutil.copyfile(path, new)
            else:
                _load(new, path, progress)
            restored = _checked(new, path, close, progress)
        old = _put_aside(target)
        new.replace(target)
        _sync(target.parent)
    return replaced(restored, old=str(old) if old else "")


def _load(new: Path, path: Path, progress: Progress) -> None:
    revision, rows = read_dump(path)
    engine = make_engine(str(new))
    try:
        with told(engine.url), engine.execution_options(writes=True).begin() as connection:
            load(connection, revision, rows, progress)
    finally:
        engine.dispose()


def _checked(new: Path, path: Path, close: Close, progress: Progress) -> Restored:
    """Bring a restored file to the newest form, look whether it is whole, and end what was open."""
    store = Store.open(str(new))
    try:
        found = verify(store, progress)
        if found.faults:
            raise _damaged(path, found, store.place)
        with store.session() as session:
            restored = close(session, found)
    finally:
        store.engine.dispose()
    with closing(sqlite3.connect(new)) as connection:  # one file, without a log beside it
        connection.execute("PRAGMA journal_mode=DELETE")
    _sync(new)
    return restored


def _put_aside(target: Path) -> Path | None:
    """Give the old file another name, while nobody works with it."""
    if not target.exists():
        return None
    old = _free(target.with_name(f"{target.name}.before-restore-{_stamp()}"))
    with closing(sqlite3.connect(target, timeout=2, isolation_level=None)) as connection:
        try:
            # folds the log into the file; fails while anybody else has the store open
            connection.execute("PRAGMA journal_mode=DELETE")
            connection.execute("BEGIN EXCLUSIVE")
        except sqlite3.OperationalError as error:
            if error.sqlite_errorname.startswith(("SQLITE_BUSY", "SQLITE_LOCKED")):
                raise StoreError(
                    f"{target}: is in use; stop 'leastwise serve' and whatever else has it open, "
                    "and try again. Nothing was changed."
                ) from error
        except sqlite3.DatabaseError:  # damaged, which is what a restore is for
            pass
        if os.name == "nt":
            connection.close()  # an open file can't be renamed there
        for ending in ("-wal", "-shm"):  # left behind by a damaged one
            with suppress(FileNotFoundError):
                target.with_name(target.name + ending).rename(old.with_name(old.name + ending))
        target.rename(old)
    return old


def _free(path: Path) -> Path:
    found, number = path, 1
    while found.exists():
        found, number = path.with_name(f"{path.name}-{number}"), number + 1
    return found


def _copy(source: Path, new: Path) -> None:
    address = reading_address(source)
    with (
        closing(sqlite3.connect(address, uri=True, timeout=30)) as old,
        closing(sqlite3.connect(new)) as copy,
    ):
        old.backup(copy)  # in one go, so from one instant; in WAL nobody waits for it
        copy.execute("PRAGMA journal_mode=DELETE")


@contextmanager
def _beside(path: Path) -> Iterator[Path]:
    """Give an empty file in the same folder, taken away if it is not moved from there."""
    number, name = tempfile.mkstemp(prefix=f".{path.name}-", dir=path.parent)
    os.close(number)
    new = Path(name)
    try:
        yield new
    finally:
        for ending in ("", "-wal", "-shm", "-journal"):
            new.with_name(new.name + ending).unlink(missing_ok=True)


def _sync(path: Path) -> None:
    if os.name == "nt" and path.is_dir():
        return
    number = os.open(path, os.O_RDONLY)
    try:
        os.fsync(number)
    finally:
        os.close(number)


# -- a database of PostgreSQL


def _to_postgresql(  # noqa: PLR0913 - as above
    url: URL,
    path: Path,
    given: tuple[str, Rows],
    close: Close,
    *,
    replace: bool,
    progress: Progress,
) -> Restored:
    engine = make_engine(url)
    try:
        with engine.begin() as connection:
            old = _set_aside(connection, place_of(url), replace=replace)
            load(connection, *given, progress)
            session = Session(connection)
            found = verify_in(session, progress)
            if found.faults:  # nothing was kept so far
                raise _damaged(path, found)
            restored = close(session, found)
        return replaced(restored, old=old)
    finally:
        engine.dispose()


def _set_aside(connection: Connection, place: str, *, replace: bool) -> str:
    """Move the tables into a schema of their own, with what their triggers call."""
    there = set(inspect(connection).get_table_names())
    ours = [name for name in (*(one.name for one in tables()), "alembic_version") if name in there]
    if not ours:
        return ""
    is_empty = not connection.execute(text("SELECT 1 FROM events LIMIT 1")).first()
    if not replace and not is_empty:
        raise StoreError(
            f"{place}: holds records already and was not touched; with --replace they are put "
            "aside in a schema of their own."
        )
    schema = f"leastwise_before_{_stamp().lower()}"
    connection.execute(text(f'CREATE SCHEMA "{schema}"'))
    asked = text(
        "SELECT DISTINCT p.proname FROM pg_trigger t JOIN pg_proc p ON p.oid = t.tgfoid"
        " WHERE NOT t.tgisinternal AND t.tgrelid = ANY"
        " (SELECT c.oid FROM pg_class c WHERE c.relnamespace = current_schema()::regnamespace"
        "  AND c.relname = ANY(:names))"
    )
    functions = list(connection.execute(asked, {"names": ours}).scalars())
    for name in ours:
        connection.execute(text(f'ALTER TABLE "{name}" SET SCHEMA "{schema}"'))
    for name in functions:
        connection.execute(text(f'ALTER FUNCTION "{name}"() SET SCHEMA "{schema}"'))
    return f"schema {schema}"


def _damaged(path: Path, found: Found, place: str = "") -> StoreError:
    """Return what is wrong with a backup; *place* is the working copy, which nobody knows."""
    fault = found.faults[0]
    why = fault.what if fault.place == place else str(fault)
    return StoreError(f"{path}: this backup is damaged ({why}); nothing was changed.")


def _stamp() -> str:
    return datetime.now(UTC).strftime("%Y%m%dT%H%M%SZ")
