"""Are the accounts what the events of accounts say? The chain, and each account against it."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field

from sqlalchemy import select
from sqlalchemy.orm import Session

from leastwise.api.store.accounts.events import seal_of
from leastwise.api.store.accounts.state import FIELDS, State, restored_in, state_in, state_of
from leastwise.api.store.accounts.tables import (
    AccountEventTable,
    AccountTable,
    IdentityTable,
    NewestAccountEventTable,
)
from leastwise.api.store.records.found import Fault, broken_link
from leastwise.api.store.words import START

__all__ = ["AccountWork", "check_accounts"]


@dataclass(slots=True)
class AccountWork:
    """What the walk along the chain has shown."""

    session: Session
    head: str = START
    number: int = 0
    restored: str = ""
    newest: dict[str, tuple[int, State]] = field(default_factory=dict)
    hashes: dict[int, str] = field(default_factory=dict)  # of the event that is noted as newest


def check_accounts(work: AccountWork) -> Iterator[Fault]:
    """Give what is wrong with the chain of accounts, and with accounts that differ from it."""
    noted = work.session.get(NewestAccountEventTable, 1)
    yield from _chain(work, noted.number if noted else 0)
    yield from _end(work, noted)
    yield from _rows(work)


def _chain(work: AccountWork, noted: int) -> Iterator[Fault]:
    wanted = select(AccountEventTable).order_by(AccountEventTable.number)
    rows = work.session.scalars(wanted.execution_options(yield_per=500))
    try:
        for number, row in enumerate(rows, 1):
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
    state = state_in(row.body)
    if state is not None:
        work.newest[row.account] = (row.number, state)
    if restored_in(row.body) is not None:
        work.restored = f"{row.at:%Y-%m-%d %H:%M:%S} UTC, {row.what}"


def _end(work: AccountWork, noted: NewestAccountEventTable | None) -> Iterator[Fault]:
    """Look whether the events reach as far as is noted beside them."""
    place = "the events of the accounts"
    if noted is None:
        if work.number:
            yield Fault(place, "the note of the newest of them is missing")
        return
    if noted.number > work.number:
        yield Fault(place, f"those after event {work.number} are missing, up to {noted.number}")
    elif work.hashes.get(noted.number) != noted.hash:
        yield Fault(place, f"event {noted.number} is not the one that was noted as the newest")
    elif noted.number != work.number:
        yield Fault(place, f"those after event {noted.number} were added past the program")


def _rows(work: AccountWork) -> Iterator[Fault]:
    """Compare each account with the newest event that tells its state."""
    held: dict[str, list[tuple[str, str]]] = {}
    for one in work.session.scalars(select(IdentityTable)):
        held.setdefault(one.account, []).append((one.issuer, one.subject))
    left = dict(work.newest)
    for row in work.session.scalars(select(AccountTable).order_by(AccountTable.name)):
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
