"""Checks that a store has the tables and triggers of this program, no others, and sound dates."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Final

from sqlalchemy import (
    ColumnElement,
    String,
    Table,
    func,
    literal_column,
    select,
    text,
    type_coerce,
)
from sqlalchemy.orm import Session

from leastwise.api.store.records.found import Fault
from leastwise.api.store.tables import Base, Utc

__all__ = ["check_form_of"]

#: Guarded table -> what its triggers say when somebody would alter it, and what is in it.
GUARDED: Final = {
    "events": ("events are never altered", "events"),
    "account_events": ("events of accounts are never altered", "events of accounts"),
}
#: How a date begins as SQLite keeps it.
DATE: Final = "[0-9][0-9][0-9][0-9]-[0-9][0-9]-[0-9][0-9] [0-9][0-9]:[0-9][0-9]:[0-9][0-9]*"
#: What the triggers refuse.
DEEDS: Final = {"sqlite": ("delete", "update"), "postgresql": ("delete", "truncate", "update")}
#: Tables of the program that brings a store to its newest form, and of SQLite itself.
BESIDE: Final = frozenset(("alembic_version", "sqlite_sequence", "sqlite_stat1", "sqlite_stat4"))


def check_form_of(session: Session) -> Iterator[Fault]:
    """Give what is missing, was altered or is none of ours among tables, views and triggers.

    A database of PostgreSQL may serve others too, so only triggers on our tables count there.
    """
    if session.get_bind().dialect.name == "sqlite":
        yield from _sqlite(session)
    else:
        yield from _postgresql(session)


def _sqlite(session: Session) -> Iterator[Fault]:
    asked = text("SELECT type, name, sql FROM sqlite_master WHERE type <> 'index'")
    there = {(kind, name): sql for kind, name, sql in session.execute(asked)}
    for table, (refusal, words) in GUARDED.items():
        for deed in DEEDS["sqlite"]:
            name = f"{table}_no_{deed}"
            made = (
                f"CREATE TRIGGER {name} BEFORE {deed.upper()} ON {table} "
                f"BEGIN SELECT RAISE(ABORT, '{refusal}'); END"
            )
            yield from _compared(name, words, made, there.pop(("trigger", name), None))
    ours = {*Base.metadata.tables, *BESIDE}
    for kind, name in sorted(there):
        if kind != "table" or name not in ours:
            yield Fault(f"{kind} {name}", "is none of this program, and could alter what is kept")
    for name in sorted(Base.metadata.tables):
        if ("table", name) not in there:
            yield Fault(f"table {name}", "is missing")
        else:
            yield from _dates(session, Base.metadata.tables[name])


def _dates(session: Session, table: Table) -> Iterator[Fault]:
    """Name the rows of SQLite, which keeps dates as text, that can't be read for their dates."""
    row: ColumnElement[int] = literal_column("rowid")
    for column in table.columns:
        if isinstance(column.type, Utc):
            kept = type_coerce(column, String)
            unsound = func.julianday(kept).is_(None) | kept.op("NOT GLOB")(DATE)
            wanted = select(row).select_from(table).where(kept.is_not(None), unsound)
            for number in session.scalars(wanted.order_by(row)):
                yield Fault(f"table {table.name}, row {number}", f"{column.name} is no date")


def _postgresql(session: Session) -> Iterator[Fault]:
    asked = text(
        "SELECT tgname, prosrc FROM pg_trigger JOIN pg_proc ON pg_proc.oid = tgfoid"
        " WHERE tgenabled = 'O' AND NOT tgisinternal AND tgrelid = CAST(:table AS regclass)"
    )
    for table in sorted(Base.metadata.tables):
        there: dict[str, str] = {
            one.tgname: one.prosrc for one in session.execute(asked, {"table": table})
        }
        if table in GUARDED:
            refusal, words = GUARDED[table]
            made = f"BEGIN RAISE EXCEPTION '{refusal}'; END"
            for deed in DEEDS["postgresql"]:
                name = f"{table}_no_{deed}"
                yield from _compared(name, words, made, there.pop(name, None))
        for name in sorted(there):
            place = f"trigger {name} of table {table}"
            yield Fault(place, "is none of this program, and could alter what is kept")


def _compared(name: str, words: str, made: str, found: str | None) -> Iterator[Fault]:
    if found is None:
        yield Fault(f"trigger {name}", f"is missing, so that {words} could be altered")
    elif found.split() != made.split():
        yield Fault(f"trigger {name}", f"was altered, so that {words} could be altered too")
