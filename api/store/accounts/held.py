"""What opens accounts, as the events of accounts tell it: to compare the tables with later.

The body of an event may hold ``{"keys": {TABLE: {NAME: ROW}}}`` for sessions, tokens, links,
identities, second factors, recovery codes and counts of failed attempts. Of a row that is new ROW
says every column, of one that was changed what changed, and null that it is gone. A session, token,
link or recovery code is named by its digest, an identity by issuer and subject, a second factor by
its account; of its secret the SHA-256 is told. Of a count the name is a digest of its key with the
salt in its row: where the row has gone, nobody can guess any more what was typed as a name.
"""

from __future__ import annotations

import hashlib
import json
from collections.abc import Iterable, Mapping
from datetime import datetime
from typing import Any, Final

from sqlalchemy.orm import Session

from leastwise.api.store.accounts.tables import (
    FactorTable,
    FailureTable,
    IdentityTable,
    LinkTable,
    RecoveryTable,
    SessionTable,
    TokenTable,
)
from leastwise.api.store.tables import Base

__all__ = ["HELD", "MORE", "Changes", "Keys", "follow", "keys_in", "name_of", "said_of"]

Row = dict[str, Any]
Keys = dict[str, dict[str, Row]]
#: Tables that the events tell in whole.
HELD: Final[tuple[type[Base], ...]] = (
    SessionTable,
    TokenTable,
    LinkTable,
    IdentityTable,
    FailureTable,
    FactorTable,
    RecoveryTable,
)
#: Says of a count by how much it grew; it never falls below 0.
MORE: Final = "more"


class Changes:
    """Rows that one piece of work adds, changes and takes away, gathered for its event.

    Only what the program changes is told, never the row as it stands: what was altered past the
    program would otherwise be vouched for at the next change.
    """

    def __init__(self, session: Session) -> None:
        self._session = session
        self.told: dict[str, dict[str, Row | None]] = {}

    def add(self, row: Base) -> None:
        """Add a row."""
        self._session.add(row)
        self._session.flush()
        self._of(row)[name_of(row)] = said_of(row)

    def alter(self, row: Base, **new: datetime | int) -> None:
        """Change columns of a row."""
        for column, value in new.items():
            setattr(row, column, value)
        self._of(row)[name_of(row)] = {key: _plain(value) for key, value in new.items()}

    def count(self, row: FailureTable, more: int, last: datetime | None = None) -> None:
        """Let a count grow, or fall."""
        row.count = max(row.count + more, 0)
        said: Row = {MORE: more}
        if last is not None:
            row.last, said["last"] = last, _plain(last)
        self._of(row)[name_of(row)] = said

    def take(self, rows: Iterable[Base]) -> int:
        """Take rows away; return how many there were."""
        number = 0
        for number, row in enumerate(list(rows), 1):  # noqa: B007 - how many there were
            self._of(row)[name_of(row)] = None
            self._session.delete(row)
        self._session.flush()
        return number

    def _of(self, row: Base) -> dict[str, Row | None]:
        return self.told.setdefault(row.__tablename__, {})


def name_of(row: Base) -> str:
    """Return the name of a row in the events."""
    if isinstance(row, FailureTable):
        return hashlib.sha256(f"{row.salt} {row.key}".encode()).hexdigest()
    if isinstance(row, IdentityTable):
        return f"{row.issuer} {row.subject}"
    if isinstance(row, FactorTable):
        return row.account
    return str(getattr(row, "digest", ""))


def said_of(row: Base) -> Row:
    """Return what the events say of a whole row."""
    if isinstance(row, FailureTable):
        return {"count": row.count, "last": _plain(row.last)}
    if isinstance(row, FactorTable):  # 160 random bits: nothing can be guessed from the SHA-256
        secret = hashlib.sha256(row.secret.encode()).hexdigest()
        times = {"begun": _plain(row.begun), "since": _plain(row.since)}
        return {"account": row.account, "secret_sha256": secret, **times, "step": row.step}
    columns = (column.key for column in row.__table__.columns)
    return {key: _plain(getattr(row, key)) for key in columns if key != "digest"}


def keys_in(body: str) -> Mapping[str, Mapping[str, Row | None]]:
    """Return what the body of an event tells of keys; nothing where it tells nothing."""
    try:
        said = json.loads(body) if body else None
    except ValueError:  # altered by hand
        return {}
    found = said.get("keys") if isinstance(said, dict) else None
    return found if isinstance(found, dict) else {}


def follow(keys: Keys, body: str) -> None:
    """Take into *keys* what the body of an event tells."""
    for table, rows in keys_in(body).items():
        held = keys.setdefault(table, {})
        for name, said in rows.items():
            if said is None:
                held.pop(name, None)
                continue
            row = held.setdefault(name, {})
            if MORE in said:
                row["count"] = max(row.get("count", 0) + said[MORE], 0)
            row |= {key: value for key, value in said.items() if key != MORE}


def _plain(value: object) -> object:
    return value.isoformat() if isinstance(value, datetime) else value
