"""The engine: SQLite with a write-ahead log, foreign keys and full sync, or PostgreSQL."""

from __future__ import annotations

import os
import shutil
import sqlite3
import tempfile
import time
import weakref
from importlib.util import find_spec
from pathlib import Path
from typing import Any

from sqlalchemy import Engine, Pool, create_engine, event, select, text
from sqlalchemy.engine import URL, make_url
from sqlalchemy.exc import ArgumentError
from sqlalchemy.orm import Session

from leastwise.api.store.faults import (
    StoreDamaged,
    StoreError,
    StoreLogUnread,
    StoreReadOnly,
    StoreUnreachable,
    told,
)
from leastwise.api.store.tables import EventTable
from leastwise.api.store.words import START

__all__ = [
    "START",
    "Engine",
    "can_write",
    "file_of",
    "is_sqlite",
    "lock_chain",
    "make_engine",
    "may_write",
    "reading_address",
    "url_of",
]

#: Any fixed number; it names the lock under which the chain of events grows.
CHAIN_LOCK = 7_305_114
WAIT_S = 30
#: As many as the threads that answer requests; each needs one connection at a time.
#: What is kept is not told with an error: it would stand in the log.
CONNECTIONS = {"pool_size": 10, "max_overflow": 30, "hide_parameters": True}
_ACCEPTED = "expected a path, sqlite:///PATH or postgresql://USER@HOST/DATABASE"


def url_of(given: str) -> URL:
    """Return the URL of a store that was named by URL or by path.

    Raises:
        StoreError: it names another kind of database, or PostgreSQL's driver isn't installed.

    """
    if "://" not in given:
        return URL.create("sqlite", database=str(Path(given).absolute()))
    try:
        url = make_url(given)
    except (ArgumentError, ValueError) as error:
        raise StoreError(f"The address of the store can't be read; {_ACCEPTED}.") from error
    kind = url.drivername.split("+")[0]
    if kind == "sqlite":
        return url.set(drivername="sqlite")
    if kind not in ("postgresql", "postgres"):
        raise StoreError(f"{url.drivername}: no store can be kept there; {_ACCEPTED}.")
    if find_spec("psycopg") is None:
        raise StoreError(
            "The driver for PostgreSQL is not installed: pip install 'leastwise[postgresql]'."
        )
    return url.set(drivername="postgresql+psycopg")


def is_sqlite(engine: Engine) -> bool:
    """Say whether an engine is SQLite's."""
    return engine.dialect.name == "sqlite"


def file_of(url: URL) -> Path | None:
    """Return the file of a store, or None where it isn't in a file of its own."""
    if url.get_backend_name() != "sqlite" or url.database in (None, "", ":memory:"):
        return None
    return Path(str(url.database))


def may_write(path: Path) -> bool:
    """Say whether a file of SQLite can be written, and the log that belongs beside it."""
    return os.access(path, os.W_OK) and os.access(path.parent, os.W_OK)


def can_write(engine: Engine) -> bool:
    """Say whether a store can be written: file and folder, or what the server allows.

    Raises:
        StoreError: the store can't be reached.

    """
    path = file_of(engine.url)
    if path is not None:
        return may_write(path)
    if is_sqlite(engine):
        return True
    with told(engine.url), engine.connect() as connection:
        return bool(connection.scalar(text("SHOW transaction_read_only")) == "off")


def reading_address(path: Path) -> str:
    """Return the address under which SQLite only reads a file.

    Where the folder can't be written and no log lies there, nobody who works by our means can be
    writing, so the file is read as it is; else SQLite would begin a log and fail.

    Raises:
        StoreLogUnread: a log lies beside it, and what is needed to read it can't be made.

    """
    address = f"{path.absolute().as_uri()}?mode=ro"
    if os.access(path.parent, os.W_OK):
        return address
    log, shared = (path.with_name(path.name + ending) for ending in ("-wal", "-shm"))
    if not log.exists():
        return f"{address}&immutable=1"
    if not shared.exists():
        raise StoreLogUnread(str(path))
    return address


def make_engine(given: str | URL, *, make: bool = True, reading: bool = False) -> Engine:
    """Return the engine for a URL such as ``sqlite:////home/me/leastwise.sqlite``, or a path.

    ``sqlite://`` is a store that lasts as long as its engine, in a file of its own, since several
    threads can't share a database in memory. Without *make* a file has to be there; for *reading*
    it need not be one that can be written.

    Raises:
        StoreError: the file isn't there and can't be made, or the URL names no store.

    """
    url = given if isinstance(given, URL) else url_of(given)
    if url.get_backend_name() != "sqlite":
        return _postgresql(url)
    path = file_of(url)
    if path is not None:
        _make_file(path, make=make)
        if reading and not may_write(path):
            return _only_read(url, path)
        return _sqlite(url, lasting=True)
    folder = tempfile.mkdtemp(prefix="leastwise-")
    engine = _sqlite(url.set(database=str(Path(folder) / "store.sqlite")), lasting=False)
    weakref.finalize(engine, _forget, engine.pool, folder)
    return engine


def _forget(pool: Pool, folder: str) -> None:
    pool.dispose()
    shutil.rmtree(folder, ignore_errors=True)


def _make_file(path: Path, *, make: bool) -> None:
    """Make an empty file that only its owner may read; records name people and places."""
    if path.is_file():
        if not make and not path.stat().st_size and not Path(f"{path}-wal").exists():
            raise StoreDamaged(
                str(path),
                f"{path}: the file is empty: nothing was ever kept in it, or what was is gone. "
                "Name another store with --store, or put a backup in its place with "
                "'leastwise restore'.",
            )
        return
    if not make or path.exists():
        raise StoreUnreachable(str(path), "there is no such file" if not path.exists() else "")
    try:
        path.parent.mkdir(mode=0o700, parents=True, exist_ok=True)
        os.close(os.open(path, os.O_CREAT | os.O_WRONLY, 0o600))
    except OSError as error:
        raise StoreReadOnly(str(path)) from error


def _sqlite(url: URL, *, lasting: bool) -> Engine:
    engine = create_engine(
        url, connect_args={"check_same_thread": False, "timeout": WAIT_S}, **CONNECTIONS
    )

    @event.listens_for(engine, "connect")
    def _set_up(connection: Any, _: object) -> None:
        connection.isolation_level = None  # SQLAlchemy begins; see _begin
        _write_ahead(connection)
        connection.execute(f"PRAGMA synchronous={'FULL' if lasting else 'OFF'}")
        connection.execute("PRAGMA foreign_keys=ON")
        connection.execute("PRAGMA recursive_triggers=ON")  # else REPLACE deletes past triggers

    _begin_ourselves(engine)
    return engine


def _only_read(url: URL, path: Path) -> Engine:
    """Return the engine of a store that can't be written; nothing is made beside its file."""
    address = reading_address(path)

    def connect() -> sqlite3.Connection:
        return sqlite3.connect(address, uri=True, check_same_thread=False, timeout=WAIT_S)

    engine = create_engine(url, creator=connect, **CONNECTIONS)

    @event.listens_for(engine, "connect")
    def _set_up(connection: Any, _: object) -> None:
        connection.isolation_level = None
        connection.execute("PRAGMA query_only=ON")

    _begin_ourselves(engine)
    return engine


def _begin_ourselves(engine: Engine) -> None:
    @event.listens_for(engine, "begin")
    def _begin(connection: Any) -> None:
        # a read that turns into a write fails at once if another writes; so write from the start
        writes = connection.get_execution_options().get("writes", False)
        connection.exec_driver_sql("BEGIN IMMEDIATE" if writes else "BEGIN")


def _write_ahead(connection: sqlite3.Connection) -> None:
    """Switch to the write-ahead log; SQLite doesn't wait here while another does the same."""
    until = time.monotonic() + WAIT_S
    while connection.execute("PRAGMA journal_mode").fetchone()[0] != "wal":
        try:
            connection.execute("PRAGMA journal_mode=WAL")
        except sqlite3.OperationalError as error:
            if error.sqlite_errorcode != sqlite3.SQLITE_BUSY or time.monotonic() > until:
                raise
            time.sleep(0.02)


def _postgresql(url: URL) -> Engine:
    engine = create_engine(
        url,
        pool_pre_ping=True,
        connect_args={"connect_timeout": 10, "application_name": "leastwise"},
        **CONNECTIONS,
    )

    @event.listens_for(engine, "connect")
    def _set_up(connection: Any, _: object) -> None:
        connection.autocommit = True
        connection.execute("SELECT set_config('TimeZone', 'UTC', false)")
        connection.execute(f"SELECT set_config('lock_timeout', '{WAIT_S}s', false)")
        connection.execute(  # an acknowledged change is on the disk, whatever the server's default
            "SELECT set_config('synchronous_commit', 'on', false)"
            " WHERE current_setting('synchronous_commit') = 'off'"
        )
        connection.autocommit = False

    return engine


def lock_chain(session: Session) -> tuple[int, str]:
    """Take the right to write and return number and hash of the newest event.

    On SQLite the session's transaction has that right from its start. On PostgreSQL what is read
    afterwards is what the holder before has committed, since each statement sees its own instant.
    """
    if session.get_bind().dialect.name != "sqlite":
        session.execute(text("SELECT pg_advisory_xact_lock(:lock)"), {"lock": CHAIN_LOCK})
    wanted = select(EventTable.number, EventTable.hash).order_by(EventTable.number.desc()).limit(1)
    newest = session.execute(wanted).first()
    return (newest.number, newest.hash) if newest else (0, START)
