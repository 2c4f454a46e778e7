"""From rows to values and back: what a list shows, what an event's hash covers."""

from __future__ import annotations

import json
from datetime import UTC
from typing import Any

from sqlalchemy import ColumnElement, Row

from leastwise.api.store.records.values import Body, CaseRow, Document, Event, Picture
from leastwise.api.store.tables import DocumentTable, EventTable, PictureTable
from leastwise.api.store.words import event_hash, fold

__all__ = [
    "CASE_COLUMNS",
    "PICTURE_COLUMNS",
    "as_case_row",
    "as_document",
    "as_event",
    "as_picture",
    "listed",
    "seal",
]

#: What a list of cases shows, in the order of CaseRow; the body isn't among it.
CASE_COLUMNS: tuple[ColumnElement[Any], ...] = tuple(
    DocumentTable.__table__.c[name]
    for name in (
        "id", "title", "owner", "object", "purpose", "demo", "version", "changed", "changed_by",
    )
)  # fmt: skip
#: What a list of photographs shows; the file isn't among it.
PICTURE_COLUMNS: tuple[ColumnElement[Any], ...] = tuple(
    column for column in PictureTable.__table__.c if column.name != "data"
)


def listed(kind: str, title: str, body: Body) -> dict[str, object]:
    """Return what the list of cases shows and searches; a draft may hold anything."""
    if kind != "case":
        return {"search": "", "object": "", "purpose": "", "demo": False}
    thing, aim = _inner(body, "object"), _inner(body, "aim")
    said = [title, *(_said(thing.get(key, "")) for key in ("name", "identifier", "keeper"))]
    return {
        "search": fold(" ".join(said)),
        "object": _said(thing.get("name", "")),
        "purpose": _said(aim.get("purpose", ""))[:32],
        "demo": body.get("demo") is True,
    }


def seal(row: EventTable) -> str:
    """Return the hash of an event, over all its fields and the hash before it."""
    fields = [
        str(row.number),
        row.document_id,
        row.case_id,
        row.kind,
        str(row.version),
        row.at.astimezone(UTC).isoformat(),
        row.who,
        row.what,
        row.title,
        row.owner,
        "removed" if row.removed else "",
        row.body,
    ]
    return event_hash(row.before, fields)


def as_document(row: DocumentTable) -> Document:
    """Return a record in its newest version."""
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


def as_event(row: EventTable) -> Event:
    """Return a change."""
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
        row.title,
        row.owner,
        row.removed,
    )


def as_case_row(row: Row[Any]) -> CaseRow:
    """Return a line of the list of cases, from CASE_COLUMNS."""
    said: tuple[Any, ...] = tuple(row)
    return CaseRow(*said)


def as_picture(row: PictureTable | Row[Any]) -> Picture:
    """Return a photograph; from PICTURE_COLUMNS without its file."""
    return Picture(
        row.id,
        row.case_id,
        row.name,
        row.stage,
        row.media_type,
        row.width,
        row.height,
        getattr(row, "data", b""),
        row.added,
        row.added_by,
        row.sha256,
    )


def _said(value: object) -> str:
    return str(value).replace("\0", "").encode("utf-8", "replace").decode()


def _inner(body: Body, key: str) -> Body:
    value = body.get(key)
    return value if isinstance(value, dict) else {}
