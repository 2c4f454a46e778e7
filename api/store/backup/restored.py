"""What a restore does beside putting records back: it ends what was open, and says so in the chain.

A backup holds sessions, links, recovery codes, counts of failures and tokens as they were. Sessions
that were ended since, links and recovery codes that were used, and tokens that were taken away
would open an account again.
"""

from __future__ import annotations

import hashlib
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path

from sqlalchemy import select
from sqlalchemy.orm import Session

from leastwise.api.store.accounts.events import add_event
from leastwise.api.store.accounts.held import Changes
from leastwise.api.store.accounts.tables import (
    FailureTable,
    LinkTable,
    RecoveryTable,
    SessionTable,
    TokenTable,
)
from leastwise.api.store.faults import (
    StoreDamaged,
    StoreError,
    StoreFull,
    StoreNewer,
    StoreReadOnly,
)
from leastwise.api.store.records.found import Found
from leastwise.api.store.words import as_text

__all__ = ["Restored", "Source", "close_all", "source_of", "told_of_backup"]

#: Who did it, in the events; a restore is done on the command line.
CONSOLE = "console"


@dataclass(frozen=True, slots=True)
class Source:
    """The file that a store is restored from."""

    name: str
    sha256: str


@dataclass(frozen=True, slots=True)
class Restored:
    """What is there after a restore: what a check found, what was ended, where the old store is."""

    found: Found
    sessions: int
    links: int
    tokens: int  # revoked
    tokens_kept: int
    recovery_codes: int = 0
    old: str = ""


def source_of(path: Path) -> Source:
    """Return name and SHA-256 of a backup."""
    with path.open("rb") as file:
        return Source(path.name, hashlib.file_digest(file, "sha256").hexdigest())


def close_all(session: Session, found: Found, source: Source, *, keep_tokens: bool) -> Restored:
    """End all that was open, and add the event of the restore; *session* has the right to write."""
    now = datetime.now(UTC)
    keys = Changes(session)
    sessions, links, codes, _ = (
        keys.take(session.scalars(select(table)))
        for table in (SessionTable, LinkTable, RecoveryTable, FailureTable)
    )
    wanted = select(TokenTable.account, TokenTable.label).order_by(TokenTable.account)
    tokens = session.execute(wanted.order_by(TokenTable.created, TokenTable.handle)).all()
    revoked = 0 if keep_tokens else len(tokens)
    if revoked:
        keys.take(session.scalars(select(TokenTable)))
        for account, label in tokens:
            add_event(session, now, CONSOLE, account, f"token revoked: {label} (restore)")
    said = {
        "file": source.name,
        "sha256": source.sha256,
        "head": found.head,
        "events": found.events,
        "sessions_ended": sessions,
        "links_ended": links,
        "recovery_codes_ended": codes,
        "tokens_revoked": revoked,
        "tokens_kept": len(tokens) - revoked,
    }
    what = f"restored from {source.name}, up to event {found.events} of the records"
    add_event(session, now, CONSOLE, "", what, body=as_text({"keys": keys.told, "restored": said}))
    session.flush()
    return Restored(found, sessions, links, revoked, len(tokens) - revoked, codes)


@contextmanager
def told_of_backup(path: Path, target: str) -> Iterator[None]:
    """Name the backup that was given, and the store, where a working copy between the two failed.

    Raises:
        StoreError: as the one inside, in words about the backup or about the store's place.

    """
    kept = "Nothing was changed."
    try:
        yield
    except StoreDamaged as error:
        inside = error.place.removeprefix(f"{path}, ")  # a table of a dump
        where = f"{path}, {inside}" if inside.endswith(".jsonl") else str(path)
        raise StoreDamaged(
            str(path),
            f"{where}: this backup can't be read; it is damaged, or no backup of Leastwise. "
            f"Expected a file that 'leastwise backup' has written. {kept}",
        ) from error
    except StoreNewer as error:
        raise StoreNewer(str(path), error.found, error.known) from error
    except StoreFull as error:
        raise StoreError(
            f"{target}: the disk is full, so {path} was not restored. {kept} Make room on the "
            "disk, and try again."
        ) from error
    except StoreReadOnly as error:
        raise StoreError(
            f"{target}: the place can't be written, so {path} was not restored. {kept} Give the "
            "right to write there, or name another place with --store."
        ) from error
