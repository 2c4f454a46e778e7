"""Everything in open formats: a folder a case, JSON, YAML and the photographs, with hashes.

The same store gives the same bytes every time, so that two exports can be compared.
"""

from __future__ import annotations

import hashlib
import json
from collections.abc import Callable
from datetime import UTC
from pathlib import Path
from typing import Any
from urllib.parse import quote

import yaml
from sqlalchemy import func, select
from sqlalchemy.orm import Session

from leastwise.api.store.faults import StoreError
from leastwise.api.store.ground import Ground
from leastwise.api.store.records.values import Body
from leastwise.api.store.tables import DocumentTable, EventTable, PictureTable
from leastwise.api.store.words import START, as_text
from leastwise.graph.case.record import Case

__all__ = ["FORMAT", "MANIFEST", "as_yaml", "export_all"]

FORMAT = 1
MANIFEST = "manifest.json"
ENDINGS = {"image/png": ".png", "image/jpeg": ".jpg", "image/webp": ".webp", "image/tiff": ".tif"}
README = """\
Records exported from Leastwise
===============================

cases/ID/record.json     the case record as it is now (JSON, UTF-8)
cases/ID/record.yaml     the same as YAML, to read and to edit
cases/ID/events.jsonl    every change of the case and of all that belongs to it, oldest first, one
                         JSON object a line: who, when (UTC), what, and the whole body from then on
cases/ID/records/        what else belongs to the case as it is now (words, reviews, log ...),
                         named by kind and id
cases/ID/pictures/       the photographs as they were kept; events.jsonl says which is which, under
                         kind "picture": name, stage, size, SHA-256
others/ID/               records that belong to no case, in the same form
manifest.json            SHA-256 and size of every file, and number and hash of the newest event

What was removed is here too: its newest event says "removed": true. Accounts, passwords and
signed-in browsers are not here.

All changes stand in one chain, numbered through all folders. The hash of an event is the SHA-256 of
the JSON text {"before": hash of the event before it, "fields": [number, document, case, kind,
version, at, who, what, title, owner, "removed" or "", body as JSON text]}; every field is a text,
and JSON text here has sorted keys, no spaces, and signs outside ASCII as themselves, in UTF-8. The
first event follows 64 zeros.

To read it all into an empty store: leastwise import-all FOLDER
"""
_FIRST = ("id", "name", "title")
_ORDER = {name: place for place, name in enumerate(Case.model_fields)}


def export_all(
    store: Ground,
    folder: Path,
    progress: Callable[[str, int, int], None] = lambda what, done, total: None,
) -> int:
    """Write all that a store holds into an empty folder; return how many files.

    Raises:
        StoreError: the folder isn't empty, or can't be written.

    """
    try:
        folder.mkdir(parents=True, exist_ok=True)
        if any(folder.iterdir()):
            raise StoreError(f"{folder}: is not empty; expected an empty or a new folder.")
        with store.reading() as session:
            return _Export(session, folder).run(progress)
    except OSError as error:
        raise StoreError(
            f"{folder}: {error.strerror}; expected a folder that can be written, with room."
        ) from error


def as_yaml(body: Body) -> str:
    """Return a body as YAML, in the order of the case record's fields."""
    return yaml.safe_dump(_in_order(body), allow_unicode=True, sort_keys=False, width=100)


class _Export:
    def __init__(self, session: Session, folder: Path) -> None:
        self.session, self.folder = session, folder
        self.files: dict[str, dict[str, object]] = {}

    def run(self, progress: Callable[[str, int, int], None]) -> int:
        """Write all files, the manifest last."""
        session = self.session
        cases = session.execute(
            select(DocumentTable.case_id, DocumentTable.kind)
            .where(DocumentTable.id == DocumentTable.case_id)
            .order_by(DocumentTable.id)
        ).all()
        self.write("README.txt", README.encode())
        for done, (case, kind) in enumerate(cases, 1):
            self.case(case, f"{'cases' if kind == 'case' else 'others'}/{_safe(case)}")
            progress("cases", done, len(cases))
        newest = select(EventTable.number, EventTable.hash).order_by(EventTable.number.desc())
        last = session.execute(newest.limit(1)).first()
        manifest = {
            "leastwise_export": FORMAT,
            "events": session.scalar(select(func.count()).select_from(EventTable)),
            "head": START if last is None else last.hash,
            "files": dict(sorted(self.files.items())),
        }
        (self.folder / MANIFEST).write_bytes(_json(manifest))
        return len(self.files) + 1

    def case(self, case: str, place: str) -> None:
        """Write what belongs to a case."""
        rows = select(DocumentTable).where(DocumentTable.case_id == case)
        for row in self.session.scalars(rows.order_by(DocumentTable.id)):
            body = json.loads(row.body)
            if row.id == case:
                self.write(f"{place}/record.json", _json(body))
                self.write(f"{place}/record.yaml", as_yaml(body).encode())
            else:
                name = f"{_safe(row.kind)}-{_safe(row.id)}.json"
                self.write(f"{place}/records/{name}", _json(body))
        events = select(EventTable).where(EventTable.case_id == case).order_by(EventTable.number)
        lines = (_line(row) for row in self.session.scalars(events.execution_options(yield_per=50)))
        self.write(f"{place}/events.jsonl", b"".join(lines))
        ids = select(PictureTable.id).where(PictureTable.case_id == case)
        for one in self.session.scalars(ids.order_by(PictureTable.id)).all():
            picture = self.session.get_one(PictureTable, one)
            ending = ENDINGS.get(picture.media_type, ".bin")
            self.write(f"{place}/pictures/{_safe(picture.id)}{ending}", picture.data)
            self.session.expunge(picture)
        self.session.expunge_all()

    def write(self, name: str, data: bytes) -> None:
        """Write one file and note its hash."""
        path = self.folder / name
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_bytes(data)
        self.files[name] = {"bytes": len(data), "sha256": hashlib.sha256(data).hexdigest()}


def _line(row: EventTable) -> bytes:
    said: dict[str, Any] = {
        "number": row.number,
        "document": row.document_id,
        "case": row.case_id,
        "kind": row.kind,
        "version": row.version,
        "at": row.at.astimezone(UTC).isoformat(),
        "who": row.who,
        "what": row.what,
        "title": row.title,
        "owner": row.owner,
        "removed": row.removed,
    }
    head = json.dumps(said, ensure_ascii=False)[:-1]
    tail = json.dumps({"before": row.before, "hash": row.hash})[1:]
    # the body's own text, untouched: the hash was made over it
    return f'{head}, "body": {row.body}, {tail}\n'.encode()


def _json(body: Body) -> bytes:
    return (as_text(body, indent=1) + "\n").encode()


def _safe(name: str) -> str:
    """Return an id as a name of a file on any system."""
    return quote(name, safe="").replace(".", "%2E").replace("~", "%7E")


def _in_order(value: object, *, top: bool = True) -> object:
    if isinstance(value, list):
        return [_in_order(one, top=False) for one in value]
    if not isinstance(value, dict):
        return value
    places = _ORDER if top else {name: place for place, name in enumerate(_FIRST)}
    keys = sorted(value, key=lambda key: (places.get(key, len(places)), key))
    return {key: _in_order(value[key], top=False) for key in keys}
