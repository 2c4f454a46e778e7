"""The ledger of accounts: what happened, in a chain of hashes of its own."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from datetime import datetime
from typing import TYPE_CHECKING, Final

from sqlalchemy import func, select
from sqlalchemy.orm import Session

from leastwise.api.store.accounts.held import Changes
from leastwise.api.store.accounts.records import AccountEvent
from leastwise.api.store.accounts.state import State, state_in
from leastwise.api.store.accounts.tables import AccountEventTable, NewestAccountEventTable
from leastwise.api.store.engine import lock_chain
from leastwise.api.store.newest import move_note
from leastwise.api.store.words import START, as_text, event_hash

if TYPE_CHECKING:
    from leastwise.api.store.records.store import Store

__all__ = [
    "COUNTED",
    "FORGIVEN",
    "USED",
    "Ledger",
    "add_event",
    "broken_account_event",
    "newest_state",
    "seal_of",
]

#: Words of events that nobody looks for: a key was used, an attempt was counted.
USED, COUNTED, FORGIVEN = "key used", "attempt counted", "attempts forgiven"
QUIET: Final = (USED, COUNTED, FORGIVEN)


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

    def note(  # noqa: PLR0913 - one argument for each thing that is told
        self,
        session: Session,
        who: str,
        account: str,
        what: str,
        address: str = "",
        *,
        changed: Mapping[str, object] | None = None,
        keys: Changes | None = None,
    ) -> None:
        """Add an event; *session* has the right to write.

        *keys* are the rows that changed of what opens accounts, *changed* is what changed of the
        account itself. The state that the event then holds is the one of
        the event before with that in it, never the row as it stands: what was altered past the
        program would otherwise be vouched for at the next change.
        """
        session.flush()
        said: dict[str, object] = {}
        if changed is not None:
            said["account"] = {**(newest_state(session, account) or {}), **changed}
        if keys is not None and keys.told:
            said["keys"] = keys.told
        body = as_text(said) if said else ""
        add_event(session, self.now(), who, account, what, address=address, body=body)

    def tell(self, who: str, account: str, what: str, address: str = "") -> None:
        """Add an event that no other change goes with."""
        with self.writing() as session:
            self.note(session, who, account, what, address)

    def events(self, account: str = "", limit: int = 100, offset: int = 0) -> list[AccountEvent]:
        """Return events, newest first; with *account* those about it or done by it.

        Left out are those that only keep the use of keys and the count of attempts.
        """
        table = AccountEventTable
        wanted = select(table).where(table.what.not_in(QUIET))
        wanted = wanted.order_by(table.number.desc()).limit(limit).offset(offset)
        if account:
            wanted = wanted.where((table.account == account) | (table.who == account))
        with self.store.reading() as session:
            return [_event(row) for row in session.scalars(wanted)]

    def count_events(self) -> int:
        """Return how many events there are, but for those that :meth:`events` leaves out."""
        with self.store.reading() as session:
            table = AccountEventTable
            wanted = select(func.count()).select_from(table).where(table.what.not_in(QUIET))
            return session.scalar(wanted) or 0

    def broken_at(self) -> int:
        """Return the number of the first event whose chain doesn't hold, or 0."""
        with self.store.reading() as session:
            return broken_account_event(session)


def broken_account_event(session: Session) -> int:
    """Return the number of the first event of accounts whose chain doesn't hold, or 0."""
    wanted = select(AccountEventTable).order_by(AccountEventTable.number)
    before = START
    rows = session.scalars(wanted.execution_options(yield_per=500))
    try:
        for number, row in enumerate(rows, 1):
            if (row.number, row.before, row.hash) != (number, before, seal_of(row)):
                return number
            before = row.hash
    finally:
        rows.close()
    return 0


def add_event(  # noqa: PLR0913 - one argument for each thing that is told
    session: Session,
    at: datetime,
    who: str,
    account: str,
    what: str,
    *,
    address: str = "",
    body: str = "",
) -> None:
    """Put an event at the end of the chain; *session* has the right to write."""
    wanted = select(AccountEventTable).order_by(AccountEventTable.number.desc()).limit(1)
    last = session.scalar(wanted)
    number, before = (last.number, last.hash) if last else (0, START)
    row = AccountEventTable(
        number=number + 1,
        at=at,
        who=who,
        account=account,
        what=what,
        address=address[:64],
        before=before,
        body=body,
    )
    row.hash = seal_of(row)
    session.add(row)
    move_note(session, NewestAccountEventTable, (number, before), (row.number, row.hash))
    session.flush()


def newest_state(session: Session, account: str) -> State | None:
    """Return what an account is by its events, or None where they don't say."""
    table = AccountEventTable
    wanted = (
        select(table.body)
        .where(table.account == account, table.body.startswith('{"account":'))
        .order_by(table.number.desc())
    )
    return next(filter(None, map(state_in, session.scalars(wanted.limit(1)))), None)


def seal_of(row: AccountEventTable) -> str:
    """Return the hash of an event; the body counts from the form 0003 on, where there is one."""
    fields = [str(row.number), row.at.isoformat(), row.who, row.account, row.what, row.address]
    return event_hash(row.before, [*fields, row.body] if row.body else fields)


def _event(row: AccountEventTable) -> AccountEvent:
    return AccountEvent(
        row.number, row.at, row.who, row.account, row.what, row.address, row.before, row.hash
    )
