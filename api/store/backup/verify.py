"""Is a store whole? Its file, its chain of events, and that all else agrees with the events."""

from __future__ import annotations

import hashlib
import json
from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass, field
from datetime import datetime
from functools import partial
from itertools import islice
from typing import Any, TypeVar

from sqlalchemy import func, inspect, select, text
from sqlalchemy.orm import Session

from leastwise.api.store.accounts.tables import AccountEventTable
from leastwise.api.store.backup.verify_accounts import AccountWork, check_accounts
from leastwise.api.store.backup.verify_form import check_form_of
from leastwise.api.store.faults import StoreDamaged
from leastwise.api.store.ground import Ground
from leastwise.api.store.newest import cut_off
from leastwise.api.store.records.found import (
    Fault,
    Found,
    Noted,
    UnreadableRow,
    broken_link,
    readable,
)
from leastwise.api.store.records.rows import listed, seal
from leastwise.api.store.tables import (
    Base,
    DocumentTable,
    EventTable,
    NewestEventTable,
    PictureTable,
    ShareTable,
)
from leastwise.api.store.words import START

__all__ = ["Fault", "Found", "Noted", "Progress", "noted", "verify", "verify_in"]

Progress = Callable[[str, int, int], None]  # what is looked at, how many are done, of how many
State = tuple[object, ...]  # what an event says that its document is
T = TypeVar("T", EventTable, DocumentTable, PictureTable)
#: As many faults as are told; where one thing is torn, thousands may follow from it.
MOST = 20
BATCH = 200


@dataclass(slots=True)
class _Work:
    session: Session
    progress: Progress
    head: str = START
    begun: dict[str, tuple[datetime, str]] = field(default_factory=dict)  # when and by whom
    newest: dict[str, tuple[State, int]] = field(default_factory=dict)
    shares: dict[str, dict[str, str]] = field(default_factory=dict)
    #: id of a photograph -> what its first event says of it, and its SHA-256
    pictures: dict[str, tuple[State, str]] = field(default_factory=dict)

    def rows(self, table: type[T], what: str, order: Any) -> Iterator[T]:
        """Give the rows of a table a few at a time, and say how far one is."""
        total = self.session.scalar(select(func.count()).select_from(table)) or 0
        wanted = select(table).order_by(order)
        self.progress(what, 0, total)
        found = self.session.scalars(wanted.execution_options(yield_per=BATCH))
        try:
            for done, row in enumerate(readable(what, found), 1):
                yield row
                self.session.expunge(row)
                if done % BATCH == 0 or done == total:
                    self.progress(what, done, total)
        finally:
            found.close()  # where one has seen enough


def verify(store: Ground, progress: Progress = lambda what, done, total: None) -> Found:
    """Return what is wrong with a store, first what lies deepest.

    Reads all of it at one instant; others may go on working. The first 20 faults are told.
    """
    faults: list[Fault] = []
    try:
        with store.reading() as session:
            return verify_in(session, progress, faults)
    except StoreDamaged as error:  # so torn that it can't be read through
        why = getattr(error.__cause__, "orig", error)
        faults.append(Fault(store.place, f"the file is damaged ({why})"))
        return Found(0, 0, 0, "", tuple(faults), ())


def verify_in(
    session: Session,
    progress: Progress = lambda what, done, total: None,
    faults: list[Fault] | None = None,
) -> Found:
    """Return what is wrong with the store of a session, as far as the session sees it.

    *faults* is filled on the way, for one who wants them even if the reading breaks off.
    """
    work, found = _Work(session, progress), [] if faults is None else faults
    accounts = AccountWork(session)
    lacking = _lacking(session)
    of_records = [partial(one, work) for one in (_chain, _documents, _photographs, _shared)]
    checks: tuple[Callable[[], Iterator[Fault]], ...] = (
        partial(check_form_of, session),
        *(of_records if all(map(_of_accounts, lacking)) else ()),
        *(() if any(map(_of_accounts, lacking)) else (partial(check_accounts, accounts),)),
    )
    found += islice(_whole(work), MOST)
    if found:  # in a torn file, what the rest says would be no help
        checks = ()
    with _as_it_stands(session):
        for check in checks:
            found += islice(_readable(check()), MOST - len(found))
    events, records, pictures, happened = (
        0
        if table.__tablename__ in lacking
        else session.scalar(select(func.count()).select_from(table)) or 0
        for table in (EventTable, DocumentTable, PictureTable, AccountEventTable)
    )
    return Found(
        events,
        records,
        pictures,
        work.head,
        tuple(found),
        () if lacking else tuple(_warnings(session)),
        accounts.head if happened else "",
        happened,
        accounts.restored,
    )


def _lacking(session: Session) -> set[str]:
    """Return the tables of ours that are not there; what reads them can't be compared."""
    return {*Base.metadata.tables} - {*inspect(session.connection()).get_table_names()}


def _of_accounts(table: str) -> bool:
    return table.startswith("account")


def _readable(faults: Iterator[Fault]) -> Iterator[Fault]:
    """Give faults up to a row that can't be read, and that row as the last of them."""
    try:
        yield from faults
    except UnreadableRow as error:
        yield Fault(f"one of the {error.what}", f"can't be read ({error.why})")


@contextmanager
def _as_it_stands(session: Session) -> Iterator[None]:
    """Read damaged text with a sign in place of what is no text, so that its row is named.

    The hash of such a row doesn't fit, and the rest can be looked at all the same.
    """
    if _dialect(session) != "sqlite":
        yield
        return
    driver: Any = session.connection().connection.driver_connection
    as_before = driver.text_factory
    driver.text_factory = partial(str, encoding="utf-8", errors="replace")
    try:
        yield
    finally:
        driver.text_factory = as_before


def noted(store: Ground, hashes: Sequence[str]) -> list[Noted]:
    """Look for hashes that were noted earlier, in the chain of records and in that of accounts.

    That an event has the hash means something only where the store is whole.
    """
    found: dict[str, Noted] = {}
    with store.reading() as session:
        for chain, table in (("records", EventTable), ("accounts", AccountEventTable)):
            wanted = select(table.hash, table.number, table.at).where(table.hash.in_(hashes))
            for row in session.execute(wanted):
                found[row.hash] = Noted(row.hash, chain, row.number, row.at)
    return [found.get(one, Noted(one)) for one in hashes]


def _whole(work: _Work) -> Iterator[Fault]:
    """Ask the database itself whether its file is whole."""
    if _dialect(work.session) != "sqlite":
        return
    work.progress("file", 0, 1)
    for line in work.session.execute(text("PRAGMA integrity_check")).scalars():
        if line != "ok":
            yield Fault("the file", str(line))
    for row in work.session.execute(text("PRAGMA foreign_key_check")):
        yield Fault(f"table {row[0]}, row {row[1]}", f"names what is not in {row[2]}")
    work.progress("file", 1, 1)


def _chain(work: _Work) -> Iterator[Fault]:
    """Go along the chain: numbers and versions without a gap, each hash over the one before."""
    noted, hashes, number = work.session.get(NewestEventTable, 1), {}, 0
    for number, row in enumerate(work.rows(EventTable, "events", EventTable.number), 1):
        place = f"event {row.number} ({row.kind} {row.document_id}, version {row.version})"
        if row.number != number:
            yield Fault(place, f"event {number} is missing before it")
            return
        yield from broken_link(place, row, work.head, seal(row))
        _, version = work.newest.get(row.document_id, ((), 0))
        if row.version != version + 1:
            yield Fault(place, f"version {version + 1} is missing before it")
        work.head = row.hash
        if noted is not None and number == noted.number:
            hashes[number] = row.hash
        _remember(work, row)
    yield from cut_off("the events", noted, number, hashes)


def _remember(work: _Work, row: EventTable) -> None:
    work.begun.setdefault(row.document_id, (row.at, row.who))
    text_hash = hashlib.sha256(row.body.encode()).hexdigest()
    work.newest[row.document_id] = (
        (row.case_id, row.kind, row.title, row.owner, row.removed, row.at, row.who, text_hash),
        row.version,
    )
    if row.kind == "picture":
        said = _read(row.body)
        about = tuple(said.get(name) for name in ("name", "stage", "media_type", "width", "height"))
        begun = (row.case_id, *work.begun[row.document_id])
        work.pictures[row.document_id] = ((*begun, *about), str(said.get("sha256", "")))
    elif row.kind == "shares":
        work.shares[row.case_id] = _read(row.body)


def _documents(work: _Work) -> Iterator[Fault]:
    """Compare each record with its newest event."""
    left = dict(work.newest)
    for row in work.rows(DocumentTable, "records", DocumentTable.id):
        said = left.pop(row.id, None)
        place = f"{row.kind} {row.id}"
        text_hash = hashlib.sha256(row.body.encode()).hexdigest()
        is_now = (
            (
                row.case_id,
                row.kind,
                row.title,
                row.owner,
                row.removed,
                row.changed,
                row.changed_by,
                text_hash,
            ),
            row.version,
        )
        if said is None:
            yield Fault(place, "has no event that says how it came about")
        elif said != is_now or work.begun[row.id][0] != row.created:
            yield Fault(place, "is not what its newest event says")
        else:
            yield from _derived(row, place)
    for name in left:
        yield Fault(f"record {name}", "is missing, though there are events of it")


def _derived(row: DocumentTable, place: str) -> Iterator[Fault]:
    """Compare what the list of cases shows and searches with what the record says."""
    try:
        derived = listed(row.kind, row.title, _read(row.body))
    except (TypeError, AttributeError):
        derived = {}
    if other := [key for key, value in derived.items() if getattr(row, key) != value]:
        yield Fault(
            place, f"what the list shows or searches differs from its record: {', '.join(other)}"
        )


def _read(body: str) -> dict[str, Any]:
    """Return a body; an empty one where somebody has put in what is none."""
    try:
        said = json.loads(body)
    except ValueError:
        return {}
    return said if isinstance(said, dict) else {}


def _photographs(work: _Work) -> Iterator[Fault]:
    """Compare each file of a photograph with the hash that its event holds."""
    left = dict(work.pictures)
    for row in work.rows(PictureTable, "photographs", PictureTable.id):
        said = left.pop(row.id, None)
        place = f"photograph {row.id} of case {row.case_id}"
        if said is None:
            yield Fault(place, "has no event that says how it came about")
            continue
        about, digest = said
        if hashlib.sha256(row.data).hexdigest() != digest or row.sha256 != digest:
            yield Fault(place, "is not the file that was added: its SHA-256 differs")
        if (
            row.case_id, row.added, row.added_by,
            row.name, row.stage, row.media_type, row.width, row.height,
        ) != about:  # fmt: skip
            yield Fault(place, "name, stage, size, date or person are not what its event says")
    for name in left:
        yield Fault(f"photograph {name}", "its file is missing")


def _shared(work: _Work) -> Iterator[Fault]:
    """Compare who may see a case with what the events say."""
    held: dict[str, dict[str, str]] = {}
    for row in work.session.scalars(select(ShareTable)):
        held.setdefault(row.case_id, {})[row.account] = row.right
    said = {case: rights for case, rights in work.shares.items() if rights}
    for case in sorted(held.keys() | said.keys()):
        if held.get(case) != said.get(case):
            yield Fault(f"case {case}", "is not shared as its events say")


def _warnings(session: Session) -> Iterator[str]:
    """Say which settings of the server put what was acknowledged at risk."""
    if _dialect(session) == "sqlite":
        return
    risks = {
        "fsync": "a failure of power can damage all that is kept; turn it on",
        "full_page_writes": "a failure of power can damage all that is kept; turn it on",
        "synchronous_commit": "a failure of power can lose what others have acknowledged; "
        "Leastwise turns it on for what it writes itself",
    }
    asked = text("SELECT name, reset_val FROM pg_settings WHERE name = ANY(:names)")
    for name, value in session.execute(asked, {"names": list(risks)}):
        if value == "off":
            yield f"The server has {name} off: {risks[name]}."


def _dialect(session: Session) -> str:
    return session.get_bind().dialect.name
