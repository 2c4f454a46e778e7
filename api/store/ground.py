"""What every part of the store stands on: sessions, the clock, rows by name, the chain."""

from __future__ import annotations

import secrets
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from datetime import UTC, datetime

from sqlalchemy.orm import Session

from leastwise.api.store.engine import Engine, can_write, lock_chain
from leastwise.api.store.faults import AlreadyStored, place_of, told
from leastwise.api.store.newest import move_note
from leastwise.api.store.records.rows import listed, seal
from leastwise.api.store.records.values import Body, NotStored
from leastwise.api.store.tables import DocumentTable, EventTable, NewestEventTable
from leastwise.api.store.words import as_text, plain

__all__ = ["Ground", "row_of"]

Chain = tuple[int, str]  # number and hash of the newest event


class Ground:
    """An engine and a clock, and how a change is kept."""

    def __init__(self, engine: Engine, clock: Callable[[], datetime] | None = None) -> None:
        self.engine = engine
        self._clock = clock or (lambda: datetime.now(UTC))
        self._writing = engine.execution_options(writes=True)
        self._snapshot = (
            engine
            if engine.dialect.name == "sqlite"  # every reading transaction is one there
            else engine.execution_options(isolation_level="REPEATABLE READ")
        )

    @property
    def place(self) -> str:
        """Return where the store is, as a person would say it."""
        return place_of(self.engine.url)

    @property
    def can_keep(self) -> bool:
        """Return whether anything can be kept here just now, as far as rights go."""
        return can_write(self.engine)

    @contextmanager
    def session(self) -> Iterator[Session]:
        """Give a session that may write; its work is kept as one, or not at all.

        On SQLite it waits for others that write, so one inside another would wait for itself.
        """
        with told(self.engine.url), Session(self._writing) as session, session.begin():
            yield session

    @contextmanager
    def reading(self) -> Iterator[Session]:
        """Give a session that only reads, all of it at one instant; it waits for nobody."""
        with told(self.engine.url), Session(self._snapshot) as session, session.begin():
            yield session

    def now(self) -> datetime:
        """Return the present instant, in UTC."""
        return self._clock().astimezone(UTC)

    def _add(  # noqa: PLR0913 - one argument for each thing that a record is told by
        self,
        session: Session,
        chain: Chain,
        kind: str,
        body: Body,
        *,
        who: str,
        what: str,
        case: str = "",
        title: str = "",
        owner: str = "",
        name: str = "",
    ) -> DocumentTable:
        now, new = self.now(), name or secrets.token_hex(6)
        if session.get(DocumentTable, new) is not None:
            raise AlreadyStored(new)
        if case and case != new:
            row_of(session, case)
        row = DocumentTable(
            id=new,
            kind=kind,
            case_id=case or new,
            title=plain(title),
            owner=plain(owner or who),
            version=1,
            body=as_text(body),
            removed=False,
            created=now,
            changed=now,
            changed_by=plain(who),
            **listed(kind, plain(title), body),
        )
        session.add(row)
        session.flush()
        self._note(session, row, what, chain)
        return row

    def _change(  # noqa: PLR0913 - as above
        self,
        session: Session,
        chain: Chain,
        row: DocumentTable,
        *,
        who: str,
        what: str,
        body: Body | None = None,
        title: str | None = None,
        removed: bool = False,
    ) -> None:
        """Put what is new into a row, as its next version."""
        row.version, row.removed = row.version + 1, removed
        row.changed, row.changed_by = self.now(), plain(who)
        row.title = row.title if title is None else plain(title)
        if body is not None:
            row.body = as_text(body)
            for key, value in listed(row.kind, row.title, body).items():
                setattr(row, key, value)
        session.flush()
        self._note(session, row, what, chain)

    def _note(self, session: Session, row: DocumentTable, what: str, chain: Chain) -> None:
        """Add the event that says what a row is from now on."""
        number, last = chain
        event = EventTable(
            number=number + 1,
            document_id=row.id,
            case_id=row.case_id,
            kind=row.kind,
            version=row.version,
            at=row.changed,
            who=row.changed_by,
            what=plain(what),
            title=row.title,
            owner=row.owner,
            removed=row.removed,
            body=row.body,
            before=last,
        )
        event.hash = seal(event)
        session.add(event)
        move_note(session, NewestEventTable, chain, (event.number, event.hash))
        session.flush()

    @staticmethod
    def _chain(session: Session) -> Chain:
        return lock_chain(session)


def row_of(session: Session, name: str, kind: str = "", *, removed: bool = False) -> DocumentTable:
    """Return the row of a record.

    Raises:
        NotStored: there is none of this name and kind, or it or its case is out of sight.

    """
    row = session.get(DocumentTable, name) if _fits(name) else None
    if row is None or (kind and row.kind != kind):
        raise NotStored(kind or "record", name)
    if not removed and (row.removed or _case_removed(session, row)):
        raise NotStored(kind or "record", name)
    return row


def _fits(name: str) -> bool:
    return plain(name) == name


def _case_removed(session: Session, row: DocumentTable) -> bool:
    if row.case_id == row.id:
        return False
    case = session.get(DocumentTable, row.case_id)
    return case is not None and case.removed
