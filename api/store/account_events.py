"""The ledger of accounts: what happened, in a chain of hashes of its own."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from datetime import datetime
from typing import TYPE_CHECKING

from sqlalchemy import func, select
from sqlalchemy.orm import Session

from leastwise.api.store.account_records import AccountEvent
from leastwise.api.store.account_tables import AccountEventTable
from leastwise.api.store.engine import lock_chain
from leastwise.api.store.words import START, event_hash

if TYPE_CHECKING:
    from leastwise.api.store.store import Store

__all__ = ["Ledger", "broken_account_event"]


class Ledger:
    """Work on accounts that is kept as one with the event that tells of it."""

    def __init__(self, store: Store) -> None:
        self.store = store

    def now(self) -> datetime:
        """Return the instant by the store's clock."""
        return self.store.now()

    @contextmanager
    def writing(self) -> Iterator[Session]:
        """Give a session that has the right to write from its start."""
        with self.store.session() as session:
            lock_chain(session)
            yield session

    def note(self, session: Session, who: str, account: str, what: str, address: str = "") -> None:
        """Add an event; *session* has the right to write."""
        session.flush()
        wanted = select(AccountEventTable).order_by(AccountEventTable.number.desc()).limit(1)
        last = session.scalar(wanted)
        number, before = (last.number, last.hash) if last else (0, START)
        row = AccountEventTable(
            number=number + 1,
            at=self.now(),
            who=who,
            account=account,
            what=what,
            address=address[:64],
            before=before,
        )
        row.hash = _hash(row)
        session.add(row)
        session.flush()

    def tell(self, who: str, account: str, what: str, address: str = "") -> None:
        """Add an event that no other change goes with."""
        with self.writing() as session:
            self.note(session, who, account, what, address)

    def events(self, account: str = "", limit: int = 100, offset: int = 0) -> list[AccountEvent]:
        """Return events, newest first; with *account* those about it or done by it."""
        table = AccountEventTable
        wanted = select(table).order_by(table.number.desc()).limit(limit).offset(offset)
        if account:
            wanted = wanted.where((table.account == account) | (table.who == account))
        with self.store.reading() as session:
            return [_event(row) for row in session.scalars(wanted)]

    def count_events(self) -> int:
        """Return how many events there are."""
        with self.store.reading() as session:
            return session.scalar(select(func.count()).select_from(AccountEventTable)) or 0

    def broken_at(self) -> int:
        """Return the number of the first event whose chain doesn't hold, or 0."""
        with self.store.reading() as session:
            return broken_account_event(session)


def broken_account_event(session: Session) -> int:
    """Return the number of the first event of accounts whose chain doesn't hold, or 0."""
    wanted = select(AccountEventTable).order_by(AccountEventTable.number)
    before = START
    rows = session.scalars(wanted.execution_options(yield_per=500))
    for number, row in enumerate(rows, 1):
        if (row.number, row.before, row.hash) != (number, before, _hash(row)):
            return number
        before = row.hash
    return 0


def _hash(row: AccountEventTable) -> str:
    fields = [str(row.number), row.at.isoformat(), row.who, row.account, row.what, row.address]
    return event_hash(row.before, fields)


def _event(row: AccountEventTable) -> AccountEvent:
    return AccountEvent(
        row.number, row.at, row.who, row.account, row.what, row.address, row.before, row.hash
    )
