"""Are the accounts what the events of accounts say? The chain, and each account against it."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from typing import Final

from sqlalchemy import select
from sqlalchemy.orm import Session

from leastwise.api.store.accounts.events import seal_of
from leastwise.api.store.accounts.held import HELD, Keys, follow, name_of, said_of
from leastwise.api.store.accounts.state import FIELDS, State, restored_in, state_in, state_of
from leastwise.api.store.accounts.tables import (
    AccountEventTable,
    AccountTable,
    IdentityTable,
    NewestAccountEventTable,
)
from leastwise.api.store.newest import cut_off
from leastwise.api.store.records.found import Fault, broken_link, readable
from leastwise.api.store.words import START

__all__ = ["AccountWork", "check_accounts"]

#: Table -> what a person calls a row of it.
KEYS: Final = {
    "account_sessions": "session",
    "account_tokens": "token",
    "account_links": "link to set a password",
    "account_identities": "sign-in elsewhere",
    "account_failures": "count of failed attempts",
    "account_factors": "second factor",
    "account_recovery_codes": "recovery code",
}


@dataclass(slots=True)
class AccountWork:
    """What the walk along the chain has shown."""

    session: Session
    head: str = START
    number: int = 0
    restored: str = ""
    newest: dict[str, tuple[int, State]] = field(default_factory=dict)
    keys: Keys = field(default_factory=dict)
    hashes: dict[int, str] = field(default_factory=dict)  # of the event that is noted as newest


def check_accounts(work: AccountWork) -> Iterator[Fault]:
    """Give what is wrong with the chain of accounts, and with accounts that differ from it."""
    noted = work.session.get(NewestAccountEventTable, 1)
    yield from _chain(work, noted.number if noted else 0)
    place = "the events of the accounts"
    yield from cut_off(place, noted, work.number, work.hashes)
    yield from _rows(work)
    yield from _keys(work)


def _chain(work: AccountWork, noted: int) -> Iterator[Fault]:
    wanted = select(AccountEventTable).order_by(AccountEventTable.number)
    rows = work.session.scalars(wanted.execution_options(yield_per=500))
    try:
        for number, row in enumerate(readable("events of the accounts", rows), 1):
            place = f"event {row.number} of the accounts"
            if row.number != number:
                yield Fault(place, f"event {number} is missing before it")
                return
            yield from broken_link(place, row, work.head, seal_of(row))
            _remember(work, row)
            if number == noted:
                work.hashes[number] = row.hash
            work.session.expunge(row)
    finally:
        rows.close()


def _remember(work: AccountWork, row: AccountEventTable) -> None:
    work.head, work.number = row.hash, row.number
    follow(work.keys, row.body)
    state = state_in(row.body)
    if state is not None:
        work.newest[row.account] = (row.number, state)
    if restored_in(row.body) is not None:
        work.restored = f"{row.at:%Y-%m-%d %H:%M:%S} UTC, {row.what}"


def _rows(work: AccountWork) -> Iterator[Fault]:
    """Compare each account with the newest event that tells its state."""
    held: dict[str, list[tuple[str, str]]] = {}
    identities = work.session.scalars(select(IdentityTable))
    for one in readable("sign-ins elsewhere", identities):
        held.setdefault(one.account, []).append((one.issuer, one.subject))
    left = dict(work.newest)
    rows = work.session.scalars(select(AccountTable).order_by(AccountTable.name))
    for row in readable("accounts", rows):
        place, said = f"account {row.name}", left.pop(row.name, None)
        if said is None:
            yield Fault(place, "has no event that says how it came about")
            continue
        number, state = said
        now = state_of(row, held.pop(row.name, []))
        other = [words for key, words in FIELDS.items() if now[key] != state.get(key)]
        if other:
            yield Fault(
                place, f"is not what event {number} of the accounts says: {', '.join(other)}"
            )
    for name in left:
        yield Fault(f"account {name}", "is missing, though there are events of it")


def _keys(work: AccountWork) -> Iterator[Fault]:
    """Compare what opens accounts, and the counts of attempts, with what the events tell of it."""
    for table in HELD:
        left = work.keys.pop(table.__tablename__, {})
        words = KEYS[table.__tablename__]
        rows = work.session.scalars(select(table))
        for row in readable(f"rows of {table.__tablename__}", rows):
            name, now = name_of(row), said_of(row)
            place, said = _place(words, name, now), left.pop(name, None)
            if said is None:
                yield Fault(place, "has no event of the accounts that says how it came about")
            elif other := sorted(key for key in now if now[key] != said.get(key)):
                yield Fault(
                    place, f"is not what the events of the accounts say: {', '.join(other)}"
                )
        for name, said in left.items():
            place = _place(words, name, said)
            yield Fault(place, "is missing, though the events of the accounts tell of it")


def _place(words: str, name: str, row: Mapping[str, object]) -> str:
    whose = f" of {row['account']}" if row.get("account") else ""
    return f"{words} {row.get('handle') or name[:12]}{whose}"
