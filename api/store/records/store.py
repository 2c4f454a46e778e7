"""The store: records by id, each change an event in one chain, versions checked on saving."""

from __future__ import annotations

import json
from collections.abc import Callable
from datetime import UTC, datetime
from typing import Any

from sqlalchemy import ColumnElement, Select, exists, func, or_, select
from sqlalchemy.orm import Session, aliased

from leastwise.api.store.accounts.tables import owners_in_cohort
from leastwise.api.store.engine import can_write, make_engine
from leastwise.api.store.ground import row_of
from leastwise.api.store.migrate import check_form, migrate
from leastwise.api.store.records.pictures import Pictures
from leastwise.api.store.records.rows import CASE_COLUMNS, as_case_row, as_document, as_event
from leastwise.api.store.records.sharing import Sharing
from leastwise.api.store.records.values import Body, CaseRow, Conflict, Document, Event, NotStored
from leastwise.api.store.tables import DocumentTable, EventTable, ShareTable
from leastwise.api.store.words import as_text, event_hash, fold, plain

__all__ = ["Store", "as_text", "event_hash"]


class Store(Pictures, Sharing):
    """Cases and what belongs to them, on SQLite or PostgreSQL."""

    @classmethod
    def open(
        cls,
        url: str,
        clock: Callable[[], datetime] | None = None,
        *,
        make: bool = True,
        reading: bool = False,
    ) -> Store:
        """Return the store at *url* (SQLAlchemy's form, or a path), in the newest form.

        It is made if it isn't there yet; with *make* false it has to be there. For *reading* a
        store will do that can't be written, if it has the newest form already.

        Raises:
            StoreError: it can't be made, reached or used; StoreNewer where a newer program made it.

        """
        engine = make_engine(url, make=make, reading=reading)
        try:
            if reading and not can_write(engine):
                check_form(engine)
            else:
                migrate(engine)
        except BaseException:
            engine.dispose()
            raise
        return cls(engine, clock)

    # -- records

    def create(  # noqa: PLR0913 - one argument for each thing that a record is told by
        self,
        kind: str,
        body: Body,
        *,
        who: str,
        what: str,
        case: str = "",
        title: str = "",
        owner: str = "",
        record_id: str = "",
    ) -> Document:
        """Keep a new record; a case belongs to itself.

        Raises:
            NotStored: there is no such case.
            AlreadyStored: there is a record of this id already.

        """
        with self.session() as session:
            row = self._add(
                session,
                self._chain(session),
                kind,
                body,
                who=who,
                what=what,
                case=case,
                title=title,
                owner=owner,
                name=record_id,
            )
            return as_document(row)

    def read(self, name: str, kind: str = "") -> Document:
        """Return a record.

        Raises:
            NotStored: there is none of this name and kind, or it or its case was removed.

        """
        with self.reading() as session:
            return as_document(row_of(session, name, kind))

    def save(  # noqa: PLR0913 - as above
        self, name: str, base: int, body: Body, *, who: str, what: str, title: str | None = None
    ) -> Document:
        """Keep a new version of a record that was read in version *base*.

        The same body again is no change and keeps the version.

        Raises:
            NotStored: there is no such record.
            Conflict: somebody saved another body in between.

        """
        with self.session() as session:
            chain = self._chain(session)
            row = row_of(session, name)
            named = row.title if title is None else plain(title)
            if as_text(body) == row.body and named == row.title:
                return as_document(row)
            if row.version != base:
                raise Conflict(_version(session, row, base), as_document(row), body)
            self._change(session, chain, row, who=who, what=what, body=body, title=named)
            return as_document(row)

    def remove(self, name: str, *, who: str, what: str = "removed") -> None:
        """Take a record out of sight, and with a case all that belongs to it; history stays."""
        with self.session() as session:
            chain = self._chain(session)
            self._change(session, chain, row_of(session, name), who=who, what=what, removed=True)

    def bring_back(self, name: str, *, who: str, what: str = "brought back") -> Document:
        """Put a removed record, and with a case all that belongs to it, in sight again."""
        with self.session() as session:
            chain = self._chain(session)
            row = row_of(session, name, removed=True)
            if row.removed:
                self._change(session, chain, row, who=who, what=what)
            return as_document(row)

    def of_case(self, case: str, kind: str) -> list[Document]:
        """Return the records of one kind that belong to a case, oldest first."""
        owner = aliased(DocumentTable)
        wanted = (
            select(DocumentTable)
            .join(owner, owner.id == DocumentTable.case_id)
            .where(DocumentTable.case_id == plain(case), DocumentTable.kind == kind)
            .where(DocumentTable.removed.is_(False), owner.removed.is_(False))
            .order_by(DocumentTable.created, DocumentTable.id)
        )
        with self.reading() as session:
            return [as_document(row) for row in session.scalars(wanted)]

    # -- history

    def history(self, name: str) -> list[Event]:
        """Return every change of a record, oldest first."""
        wanted = select(EventTable).where(EventTable.document_id == plain(name))
        with self.reading() as session:
            return [as_event(row) for row in session.scalars(wanted.order_by(EventTable.version))]

    def events_of_case(self, case: str, limit: int = 500) -> list[Event]:
        """Return the newest changes of all that belongs to a case, newest first."""
        wanted = select(EventTable).where(EventTable.case_id == plain(case))
        newest = wanted.order_by(EventTable.number.desc()).limit(limit)
        with self.reading() as session:
            return [as_event(row) for row in session.scalars(newest)]

    def as_of(self, name: str, *, version: int = 0, when: datetime | None = None) -> Document:
        """Return a record as it was in a version, or at an instant.

        Raises:
            NotStored: it had no such version, or didn't exist yet.

        """
        with self.reading() as session:
            row = row_of(session, name, removed=True)
            if when is not None:
                wanted = select(func.max(EventTable.version)).where(
                    EventTable.document_id == name, EventTable.at <= when
                )
                version = session.scalar(wanted) or 0
                if not version:
                    said = f"{when.astimezone(UTC):%Y-%m-%d %H:%M:%S} UTC"
                    raise NotStored(row.kind, f"{name} as of {said}")
            return _version(session, row, version)

    # -- lists of cases

    def cases(
        self, *, account: str | None = None, query: str = "", limit: int = 50, offset: int = 0
    ) -> tuple[list[CaseRow], int]:
        """Return cases, newest change first, and how many there are in all.

        With *account* only its own and those shared with it; *query* looks for each of its words
        in title, object, number and keeper, whatever the case and the marks of the letters.
        """
        listed: Select[Any] = select(*CASE_COLUMNS)
        newest = _visible(listed, account, query).order_by(
            DocumentTable.changed.desc(), DocumentTable.id
        )
        with self.reading() as session:
            total = session.scalar(_visible(select(func.count()), account, query)) or 0
            rows = session.execute(newest.limit(limit).offset(offset))
            return [as_case_row(row) for row in rows], total


def _version(session: Session, row: DocumentTable, version: int) -> Document:
    wanted = select(EventTable).where(
        EventTable.document_id == row.id, EventTable.version == version
    )
    event = session.scalar(wanted)
    if event is None:
        raise NotStored("version", f"{row.id} {version}")
    return Document(
        row.id,
        row.kind,
        row.case_id,
        event.title,
        event.owner,
        version,
        json.loads(event.body),
        row.created,
        event.at,
        event.who,
    )


def _visible(wanted: Select[Any], account: str | None, query: str) -> Select[Any]:
    found = wanted.select_from(DocumentTable).where(
        DocumentTable.kind == "case", DocumentTable.removed.is_(False)
    )
    if account is not None:
        shared = exists().where(
            ShareTable.case_id == DocumentTable.id, ShareTable.account == account
        )
        cohort = DocumentTable.owner.in_(owners_in_cohort(account))
        mine: ColumnElement[bool] = or_(DocumentTable.owner == account, shared, cohort)
        found = found.where(mine)
    for word in fold(plain(query)).split():
        found = found.where(DocumentTable.search.contains(word, autoescape=True))
    return found
