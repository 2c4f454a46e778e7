"""The store: records by id, each change an event in one chain, versions checked on saving."""

from __future__ import annotations

import hashlib
import json
import secrets
from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager
from datetime import UTC, datetime
from typing import Any

from sqlalchemy import ColumnElement, Select, func, or_, select
from sqlalchemy.orm import Session

from leastwise.api.store.engine import Engine, lock_chain, make_engine
from leastwise.api.store.records import (
    Body,
    CaseRow,
    Conflict,
    Document,
    Event,
    NotStored,
    Picture,
)
from leastwise.api.store.tables import (
    Base,
    DocumentTable,
    EventTable,
    PictureTable,
    ShareTable,
)

__all__ = ["Store", "as_text", "event_hash"]

START = "0" * 64


def as_text(body: Body) -> str:
    """Return a body as canonical JSON: sorted, without spaces."""
    return json.dumps(body, ensure_ascii=False, sort_keys=True, separators=(",", ":"))


def event_hash(before: str, fields: Sequence[str]) -> str:
    """Return the hash of an event: SHA-256 over the hash before it and its own fields."""
    return hashlib.sha256(as_text({"before": before, "fields": list(fields)}).encode()).hexdigest()


class Store:
    """Cases and what belongs to them, on SQLite or PostgreSQL."""

    def __init__(self, engine: Engine, clock: Callable[[], datetime] | None = None) -> None:
        self.engine = engine
        self._clock = clock or (lambda: datetime.now(UTC))

    @classmethod
    def open(cls, url: str, clock: Callable[[], datetime] | None = None) -> Store:
        """Return the store at *url* (SQLAlchemy's form), made if it isn't there yet."""
        engine = make_engine(url)
        Base.metadata.create_all(engine)
        return cls(engine, clock)

    @contextmanager
    def session(self) -> Iterator[Session]:
        """Give a session whose work is kept as one, or not at all."""
        with Session(self.engine) as session, session.begin():
            yield session

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
        """Keep a new record; a case belongs to itself."""
        now, name = self._clock(), record_id or secrets.token_hex(6)
        row = DocumentTable(
            id=name,
            kind=kind,
            case_id=case or name,
            title=title,
            owner=owner or who,
            version=1,
            body=as_text(body),
            removed=False,
            created=now,
            changed=now,
            changed_by=who,
            **_listed(kind, title, body),
        )
        with self.session() as session:
            before = lock_chain(session)
            session.add(row)
            session.flush()
            self._note(session, row, what, before)
            return _document(row)

    def read(self, name: str, kind: str = "") -> Document:
        """Return a record.

        Raises:
            NotStored: there is none of this name and kind.

        """
        with self.session() as session:
            return _document(_row(session, name, kind))

    def save(
        self, name: str, base: int, body: Body, *, who: str, what: str, title: str | None = None
    ) -> Document:
        """Keep a new version of a record that was read in version *base*.

        The same body again is no change and keeps the version.

        Raises:
            NotStored: there is no such record.
            Conflict: somebody saved another body in between.

        """
        with self.session() as session:
            before = lock_chain(session)
            row = _row(session, name)
            text = as_text(body)
            named = row.title if title is None else title
            if text == row.body and named == row.title:
                return _document(row)
            if row.version != base:
                raise Conflict(self._version(session, row, base), _document(row), body)
            row.version, row.body, row.title = base + 1, text, named
            row.changed, row.changed_by = self._clock(), who
            for key, value in _listed(row.kind, named, body).items():
                setattr(row, key, value)
            session.flush()
            self._note(session, row, what, before)
            return _document(row)

    def remove(self, name: str, *, who: str, what: str = "removed") -> None:
        """Take a record out of sight; its history stays."""
        with self.session() as session:
            before = lock_chain(session)
            row = _row(session, name)
            row.removed, row.version = True, row.version + 1
            row.changed, row.changed_by = self._clock(), who
            session.flush()
            self._note(session, row, what, before)

    def of_case(self, case: str, kind: str) -> list[Document]:
        """Return the records of one kind that belong to a case, oldest first."""
        wanted = (
            select(DocumentTable)
            .where(DocumentTable.case_id == case, DocumentTable.kind == kind)
            .where(DocumentTable.removed.is_(False))
            .order_by(DocumentTable.created, DocumentTable.id)
        )
        with self.session() as session:
            return [_document(row) for row in session.scalars(wanted)]

    # -- history

    def history(self, name: str) -> list[Event]:
        """Return every change of a record, oldest first."""
        wanted = select(EventTable).where(EventTable.document_id == name)
        with self.session() as session:
            return [_event(row) for row in session.scalars(wanted.order_by(EventTable.version))]

    def events_of_case(self, case: str, limit: int = 500) -> list[Event]:
        """Return the newest changes of all that belongs to a case, newest first."""
        wanted = select(EventTable).where(EventTable.case_id == case)
        newest = wanted.order_by(EventTable.number.desc()).limit(limit)
        with self.session() as session:
            return [_event(row) for row in session.scalars(newest)]

    def as_of(self, name: str, *, version: int = 0, when: datetime | None = None) -> Document:
        """Return a record as it was in a version, or at an instant.

        Raises:
            NotStored: it had no such version, or didn't exist yet.

        """
        with self.session() as session:
            row = _row(session, name, removed=True)
            if when is None:
                return self._version(session, row, version)
            wanted = select(func.max(EventTable.version)).where(
                EventTable.document_id == name, EventTable.at <= when
            )
            return self._version(session, row, session.scalar(wanted) or 0)

    def _version(self, session: Session, row: DocumentTable, version: int) -> Document:
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
            row.title,
            row.owner,
            version,
            json.loads(event.body),
            row.created,
            event.at,
            event.who,
        )

    def _note(
        self, session: Session, row: DocumentTable, what: str, before: tuple[int, str]
    ) -> None:
        number, last = before
        fields = [
            str(number + 1),
            row.id,
            row.case_id,
            row.kind,
            str(row.version),
            row.changed.isoformat(),
            row.changed_by,
            what,
            row.body,
        ]
        session.add(
            EventTable(
                number=number + 1,
                document_id=row.id,
                case_id=row.case_id,
                kind=row.kind,
                version=row.version,
                at=row.changed,
                who=row.changed_by,
                what=what,
                body=row.body,
                before=last,
                hash=event_hash(last, fields),
            )
        )

    # -- lists of cases

    def cases(
        self, *, account: str | None = None, query: str = "", limit: int = 50, offset: int = 0
    ) -> tuple[list[CaseRow], int]:
        """Return cases, newest change first, and how many there are in all.

        With *account* only its own and those shared with it; *query* looks for each of its words
        in title, object, number and keeper.
        """
        wanted = _visible(select(DocumentTable), account, query)
        ordered = wanted.order_by(DocumentTable.changed.desc(), DocumentTable.id)
        with self.session() as session:
            total = session.scalar(_visible(select(func.count()), account, query)) or 0
            rows = session.scalars(ordered.limit(limit).offset(offset))
            return [_case_row(row) for row in rows], total

    # -- sharing

    def shares(self, case: str) -> dict[str, str]:
        """Return account -> right (read, review, write) for a case."""
        with self.session() as session:
            rows = session.scalars(select(ShareTable).where(ShareTable.case_id == case))
            return {row.account: row.right for row in rows}

    def share(self, case: str, account: str, right: str) -> None:
        """Give an account a right to a case; an empty right takes it away."""
        with self.session() as session:
            row = session.get(ShareTable, (case, account))
            if row is not None:
                session.delete(row)
                session.flush()
            if right:
                session.add(ShareTable(case_id=case, account=account, right=right))

    # -- photographs

    def add_picture(  # noqa: PLR0913 - one argument for each thing that a picture is told by
        self,
        case: str,
        data: bytes,
        *,
        name: str,
        media_type: str,
        size: tuple[int, int],
        who: str,
        stage: str = "before",
    ) -> Picture:
        """Keep a photograph that was checked; the caller has checked and cleaned it."""
        row = PictureTable(
            id=secrets.token_hex(6),
            case_id=case,
            name=name,
            stage=stage,
            media_type=media_type,
            width=size[0],
            height=size[1],
            sha256=hashlib.sha256(data).hexdigest(),
            data=data,
            added=self._clock(),
            added_by=who,
        )
        with self.session() as session:
            session.add(row)
            session.flush()
            return _picture(row)

    def picture(self, case: str, name: str) -> Picture:
        """Return a photograph of a case.

        Raises:
            NotStored: the case has no such photograph.

        """
        with self.session() as session:
            row = session.get(PictureTable, name)
            if row is None or row.case_id != case:
                raise NotStored("photograph", name)
            return _picture(row)

    def pictures(self, case: str) -> list[Picture]:
        """Return the photographs of a case without their data, oldest first."""
        wanted = (
            select(*(c for c in PictureTable.__table__.c if c.name not in ("data", "sha256")))
            .where(PictureTable.case_id == case)
            .order_by(PictureTable.added, PictureTable.id)
        )
        with self.session() as session:
            return [
                Picture(
                    r.id,
                    r.case_id,
                    r.name,
                    r.stage,
                    r.media_type,
                    r.width,
                    r.height,
                    b"",
                    r.added,
                    r.added_by,
                )
                for r in session.execute(wanted)
            ]

    def remove_picture(self, case: str, name: str) -> None:
        """Take a photograph away."""
        with self.session() as session:
            row = session.get(PictureTable, name)
            if row is None or row.case_id != case:
                raise NotStored("photograph", name)
            session.delete(row)


def _row(session: Session, name: str, kind: str = "", *, removed: bool = False) -> DocumentTable:
    row = session.get(DocumentTable, name)
    if row is None or (row.removed and not removed) or (kind and row.kind != kind):
        raise NotStored(kind or "record", name)
    return row


def _visible(wanted: Select[Any], account: str | None, query: str) -> Select[Any]:
    found = wanted.select_from(DocumentTable).where(
        DocumentTable.kind == "case", DocumentTable.removed.is_(False)
    )
    if account is not None:
        shared = select(ShareTable.case_id).where(ShareTable.account == account)
        mine: ColumnElement[bool] = or_(
            DocumentTable.owner == account, DocumentTable.id.in_(shared)
        )
        found = found.where(mine)
    for word in query.casefold().split():
        found = found.where(DocumentTable.search.contains(word, autoescape=True))
    return found


def _listed(kind: str, title: str, body: Body) -> dict[str, object]:
    """Return what the list of cases shows and searches; a draft may hold anything."""
    if kind != "case":
        return {"search": "", "object": "", "purpose": "", "demo": False}
    thing, aim = _inner(body, "object"), _inner(body, "aim")
    said = [title, *(str(thing.get(key, "")) for key in ("name", "identifier", "keeper"))]
    return {
        "search": " ".join(said).casefold(),
        "object": str(thing.get("name", "")),
        "purpose": str(aim.get("purpose", ""))[:32],
        "demo": body.get("demo") is True,
    }


def _inner(body: Body, key: str) -> Body:
    value = body.get(key)
    return value if isinstance(value, dict) else {}


def _document(row: DocumentTable) -> Document:
    return Document(
        row.id,
        row.kind,
        row.case_id,
        row.title,
        row.owner,
        row.version,
        json.loads(row.body),
        row.created,
        row.changed,
        row.changed_by,
    )


def _event(row: EventTable) -> Event:
    return Event(
        row.number,
        row.document_id,
        row.kind,
        row.case_id,
        row.version,
        row.at,
        row.who,
        row.what,
        json.loads(row.body),
        row.before,
        row.hash,
    )


def _case_row(row: DocumentTable) -> CaseRow:
    return CaseRow(
        row.id,
        row.title,
        row.owner,
        row.object,
        row.purpose,
        row.demo,
        row.version,
        row.changed,
        row.changed_by,
    )


def _picture(row: PictureTable) -> Picture:
    return Picture(
        row.id,
        row.case_id,
        row.name,
        row.stage,
        row.media_type,
        row.width,
        row.height,
        row.data,
        row.added,
        row.added_by,
    )
