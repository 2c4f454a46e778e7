"""What a check of a store finds, as frozen values."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from datetime import datetime
from typing import Protocol, TypeVar

from leastwise.api.store.words import START

__all__ = ["Fault", "Found", "Link", "Noted", "UnreadableRow", "broken_link", "readable"]

T = TypeVar("T")


@dataclass(frozen=True, slots=True)
class Fault:
    """One thing that isn't as it was kept: where, and what is wrong."""

    place: str
    what: str

    def __str__(self) -> str:
        return f"{self.place}: {self.what}"


class UnreadableRow(Exception):  # noqa: N818 - reads as what it is
    """A row of a table that can't be read: *what* it is one of, and *why*."""

    def __init__(self, what: str, why: str) -> None:
        self.what, self.why = what, why
        super().__init__(f"{what}: {why}")


def readable(what: str, rows: Iterable[T]) -> Iterator[T]:
    """Give rows of a table as they are read.

    Raises:
        UnreadableRow: one of them can't be read; *what* names it in the plural.

    """
    found = iter(rows)
    while True:
        try:
            row = next(found)
        except StopIteration:
            return
        except (ValueError, TypeError) as error:  # a date or a number that is none any more
            raise UnreadableRow(what, str(error)) from error
        yield row


class Link(Protocol):
    """What ties an event to the one before it."""

    @property
    def before(self) -> str:
        """Return the hash of the event before it, as it is kept with this one."""

    @property
    def hash(self) -> str:
        """Return the hash that is kept of it."""


def broken_link(place: str, row: Link, head: str, sealed: str) -> Iterator[Fault]:
    """Give what is wrong with one link of a chain.

    *head* is the hash of the event before it, *sealed* the hash that what it says would have.
    """
    if row.before != head:
        yield Fault(place, "does not follow from the event before it")
    if sealed != row.hash:
        yield Fault(place, "was altered: its hash does not fit what it says")


@dataclass(frozen=True, slots=True)
class Noted:
    """A hash that was noted earlier: the event that has it, or number 0 where none has."""

    hash: str
    chain: str = ""  # records, accounts
    number: int = 0
    at: datetime | None = None

    @property
    def is_there(self) -> bool:
        """Return whether it is still there; before the first event there was nothing to lose."""
        return self.at is not None or self.hash == START

    def __str__(self) -> str:
        if self.hash == START:
            return f"{self.hash}: was noted before there was any event."
        if self.at is None:
            return (
                f"{self.hash}: is in neither chain. What was kept when it was noted is gone or was "
                "altered, an older backup was restored, or it is of another store."
            )
        when = f"{self.at:%Y-%m-%d %H:%M:%S} UTC"
        return f"{self.hash}: event {self.number} of the {self.chain}, {when}."


@dataclass(frozen=True, slots=True)
class Found:
    """What a check has found; *head* is the hash of the newest event, for keeping elsewhere.

    *accounts_head* is that of the other chain, of what happened to accounts; empty where nothing
    has. *restored* is what the newest event of a restore says, with its date.
    """

    events: int
    records: int
    pictures: int
    head: str
    faults: tuple[Fault, ...]
    warnings: tuple[str, ...]
    accounts_head: str = ""
    account_events: int = 0
    restored: str = ""
