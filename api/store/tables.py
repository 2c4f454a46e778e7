"""The tables, for SQLite and PostgreSQL alike."""

from __future__ import annotations

from datetime import UTC, datetime

from sqlalchemy import (
    BigInteger,
    Boolean,
    DateTime,
    ForeignKey,
    Index,
    Integer,
    LargeBinary,
    String,
    Text,
    TypeDecorator,
    UniqueConstraint,
)
from sqlalchemy.engine import Dialect
from sqlalchemy.orm import DeclarativeBase, Mapped, mapped_column

__all__ = [
    "Base",
    "DocumentTable",
    "EventTable",
    "NewestEventTable",
    "PictureTable",
    "ShareTable",
    "Utc",
]

WIDE = BigInteger().with_variant(Integer, "sqlite")


class Utc(TypeDecorator[datetime]):
    """An instant, kept in UTC; SQLite forgets the zone, so it is put back on reading."""

    impl = DateTime(timezone=True)
    cache_ok = True

    def process_bind_param(self, value: datetime | None, dialect: Dialect) -> datetime | None:
        """Turn an instant to UTC."""
        return None if value is None else value.astimezone(UTC)

    def process_result_value(self, value: datetime | None, dialect: Dialect) -> datetime | None:
        """Say of an instant that it is in UTC."""
        if value is None or value.tzinfo is not None:
            return value and value.astimezone(UTC)
        return value.replace(tzinfo=UTC)


class Base(DeclarativeBase):
    """The tables of the store."""


class DocumentTable(Base):
    """Records in their newest version."""

    __tablename__ = "documents"

    id: Mapped[str] = mapped_column(String(32), primary_key=True)
    kind: Mapped[str] = mapped_column(String(32))
    case_id: Mapped[str] = mapped_column(ForeignKey("documents.id"))
    title: Mapped[str] = mapped_column(Text)
    owner: Mapped[str] = mapped_column(String(64))
    version: Mapped[int] = mapped_column(Integer)
    search: Mapped[str] = mapped_column(Text, default="")
    object: Mapped[str] = mapped_column(Text, default="")
    purpose: Mapped[str] = mapped_column(String(32), default="")
    demo: Mapped[bool] = mapped_column(Boolean, default=False)
    removed: Mapped[bool] = mapped_column(Boolean, default=False)
    created: Mapped[datetime] = mapped_column(Utc)
    changed: Mapped[datetime] = mapped_column(Utc)
    changed_by: Mapped[str] = mapped_column(String(64))
    # last: SQLite reads a row from its start, and a list needs what stands before the body
    body: Mapped[str] = mapped_column(Text)

    __table_args__ = (
        Index("documents_by_case", "case_id", "kind"),
        Index("documents_by_kind", "kind", "removed", "changed"),
        Index("documents_by_owner", "owner", "kind"),
    )


class EventTable(Base):
    """Every change; rows are added, and triggers refuse to alter or delete them.

    An event holds all that its document then was, so that documents could be made anew from it.
    """

    __tablename__ = "events"

    number: Mapped[int] = mapped_column(WIDE, primary_key=True, autoincrement=False)
    document_id: Mapped[str] = mapped_column(ForeignKey("documents.id"))
    case_id: Mapped[str] = mapped_column(String(32))
    kind: Mapped[str] = mapped_column(String(32))
    version: Mapped[int] = mapped_column(Integer)
    at: Mapped[datetime] = mapped_column(Utc)
    who: Mapped[str] = mapped_column(String(64))
    what: Mapped[str] = mapped_column(Text)
    title: Mapped[str] = mapped_column(Text)
    owner: Mapped[str] = mapped_column(String(64))
    removed: Mapped[bool] = mapped_column(Boolean)
    body: Mapped[str] = mapped_column(Text)
    before: Mapped[str] = mapped_column(String(64))
    hash: Mapped[str] = mapped_column(String(64))

    __table_args__ = (
        UniqueConstraint("document_id", "version", name="events_once"),
        Index("events_by_case", "case_id", "number"),
    )


class NewestEventTable(Base):
    """One row: number and hash of the newest event, so that one cut off at the end is missed."""

    __tablename__ = "events_newest"

    only: Mapped[int] = mapped_column(Integer, primary_key=True, autoincrement=False)  # 1
    number: Mapped[int] = mapped_column(WIDE)
    hash: Mapped[str] = mapped_column(String(64))


class PictureTable(Base):
    """Photographs, as checked files; beside each lies a document of kind picture with its hash."""

    __tablename__ = "pictures"

    id: Mapped[str] = mapped_column(ForeignKey("documents.id"), primary_key=True)
    case_id: Mapped[str] = mapped_column(ForeignKey("documents.id"))
    name: Mapped[str] = mapped_column(Text)
    stage: Mapped[str] = mapped_column(String(16))
    media_type: Mapped[str] = mapped_column(String(64))
    width: Mapped[int] = mapped_column(Integer)
    height: Mapped[int] = mapped_column(Integer)
    sha256: Mapped[str] = mapped_column(String(64))
    added: Mapped[datetime] = mapped_column(Utc)
    added_by: Mapped[str] = mapped_column(String(64))
    data: Mapped[bytes] = mapped_column(LargeBinary)

    __table_args__ = (Index("pictures_by_case", "case_id"),)


class ShareTable(Base):
    """Who else may see or change a case, as the case's document of kind shares says it."""

    __tablename__ = "shares"

    case_id: Mapped[str] = mapped_column(ForeignKey("documents.id"), primary_key=True)
    account: Mapped[str] = mapped_column(String(64), primary_key=True)
    right: Mapped[str] = mapped_column(String(16))  # read, review, write
