"""Every table of a store as JSON lines in a zip: how a store on PostgreSQL is backed up.

An open form: ``head.json`` names the revision and the SHA-256 of each table, ``TABLE.jsonl`` holds
a row a line; instants as ISO 8601, files as base64. Unlike an export it holds the accounts too.
"""

from __future__ import annotations

import base64
import hashlib
import json
import zipfile
from collections.abc import Callable, Iterator
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

from sqlalchemy import Column, Connection, DateTime, LargeBinary, MetaData, Table, func, select

from leastwise.api.store.accounts import tables as _accounts  # noqa: F401 - puts its tables on Base
from leastwise.api.store.faults import StoreDamaged, StoreNewer
from leastwise.api.store.migrate import head, knows, move_to, revision_of
from leastwise.api.store.tables import Base

__all__ = ["Rows", "load", "read_dump", "rows_of", "tables", "write_dump"]

Row = dict[str, Any]
Rows = Iterator[tuple[str, Iterator[Row]]]
Progress = Callable[[str, int, int], None]
BATCH = 200
HEAD = "head.json"


def tables() -> list[Table]:
    """Return all tables, each after those it refers to."""
    return list(Base.metadata.sorted_tables)


def rows_of(connection: Connection, table: Table) -> Iterator[Row]:
    """Give the rows of a table, a row after the one it refers to."""
    own = [
        column != next(iter(table.primary_key))
        for column in table.c
        if any(key.column.table is table for key in column.foreign_keys)
    ]
    wanted = select(table).order_by(*own, *table.primary_key)
    found = connection.execute(wanted, execution_options={"yield_per": BATCH})
    try:
        for row in found:
            yield dict(row._mapping)
    finally:
        found.close()


def write_dump(connection: Connection, path: Path, progress: Progress) -> None:
    """Write all tables, as the connection's transaction sees them, into a zip."""
    hashes: dict[str, str] = {}
    with zipfile.ZipFile(path, "w", zipfile.ZIP_DEFLATED) as file:
        for table in tables():
            total = connection.scalar(select(func.count()).select_from(table)) or 0
            digest = hashlib.sha256()
            with file.open(_entry(table.name), "w", force_zip64=True) as lines:
                for done, row in enumerate(rows_of(connection, table), 1):
                    line = json.dumps({k: _out(v) for k, v in row.items()}).encode() + b"\n"
                    digest.update(line)
                    lines.write(line)
                    progress(table.name, done, total)
            hashes[table.name] = digest.hexdigest()
        said = {"leastwise_dump": 1, "revision": revision_of(connection), "tables": hashes}
        file.writestr(_entry(HEAD), json.dumps(said, indent=1))


def read_dump(path: Path) -> tuple[str, Rows]:
    """Return the revision of a dump and its rows, once every table has the hash in its head.

    Raises:
        StoreDamaged: it is no dump, or not as it was written.
        StoreNewer: a newer program wrote it.

    """
    try:
        with zipfile.ZipFile(path) as file:
            said = json.loads(file.read(HEAD))
            revision, hashes = str(said["revision"]), dict(said["tables"])
            for name, digest in hashes.items():
                with file.open(f"{name}.jsonl") as lines:
                    if hashlib.file_digest(lines, "sha256").hexdigest() != digest:  # type: ignore[arg-type]
                        raise StoreDamaged(f"{path}, {name}.jsonl")
    except (zipfile.BadZipFile, ValueError, TypeError, KeyError) as error:
        raise StoreDamaged(str(path)) from error
    if not knows(revision):
        raise StoreNewer(str(path), revision, head())
    return revision, _dumped(path, list(hashes))


def load(connection: Connection, revision: str, rows: Rows, progress: Progress) -> None:
    """Put rows into an empty database, whose tables are made as they were at *revision*."""
    move_to(connection, revision)
    found = MetaData()
    found.reflect(connection)
    for name, given in rows:
        if name not in found.tables:
            raise StoreDamaged(f"{name}.jsonl")
        table, batch, done = found.tables[name], [], 0
        for row in given:
            batch.append({key: _in(table.c[key], value) for key, value in row.items()})
            done += 1
            if len(batch) == BATCH:
                connection.execute(table.insert(), batch)
                batch = []
                progress(name, done, 0)
        if batch:
            connection.execute(table.insert(), batch)
        progress(name, done, done)
    move_to(connection, "head")


def _dumped(path: Path, names: list[str]) -> Rows:
    with zipfile.ZipFile(path) as file:
        for name in names:
            with file.open(f"{name}.jsonl") as lines:
                yield name, (json.loads(line) for line in lines)


def _entry(name: str) -> zipfile.ZipInfo:
    """Return an entry without a date, so that the same store gives the same bytes."""
    return zipfile.ZipInfo(name if name == HEAD else f"{name}.jsonl", (1980, 1, 1, 0, 0, 0))


def _out(value: object) -> object:
    if isinstance(value, datetime):
        return value.astimezone(UTC).isoformat()
    if isinstance(value, bytes | memoryview):
        return base64.b64encode(value).decode()
    return value


def _in(column: Column[Any], value: object) -> object:
    if isinstance(value, str) and isinstance(column.type, DateTime):
        return datetime.fromisoformat(value)
    if isinstance(value, str) and isinstance(column.type, LargeBinary):
        return base64.b64decode(value)
    return value
