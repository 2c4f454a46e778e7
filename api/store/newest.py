"""The newest event of a chain, noted beside it, so that one cut off at the end is missed."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import TypeVar

from sqlalchemy.orm import Session

from leastwise.api.store.accounts.tables import NewestAccountEventTable
from leastwise.api.store.records.found import Fault
from leastwise.api.store.tables import NewestEventTable

__all__ = ["cut_off", "move_note"]

Note = TypeVar("Note", NewestAccountEventTable, NewestEventTable)

Place = tuple[int, str]  # number and hash of an event


def move_note(session: Session, table: type[Note], before: Place, now: Place) -> None:
    """Note the newest event of a chain.

    Where the note and the chain disagreed already an event was cut off, and the check of the store
    shall go on saying so.
    """
    newest = session.get(table, 1)
    if newest is None and not before[0]:
        session.add(table(only=1, number=now[0], hash=now[1]))
    elif newest is not None and (newest.number, newest.hash) == before:
        newest.number, newest.hash = now


def cut_off(
    place: str, noted: Note | None, number: int, hashes: Mapping[int, str]
) -> Iterator[Fault]:
    """Look whether the events reach as far as is noted beside them.

    *number* is that of the newest event that is there; *hashes* holds that of the one noted.
    """
    if noted is None:
        if number:
            yield Fault(place, "the note of the newest of them is missing")
        return
    if noted.number > number:
        yield Fault(place, f"those after event {number} are missing, up to {noted.number}")
    elif hashes.get(noted.number) != noted.hash:
        yield Fault(place, f"event {noted.number} is not the one that was noted as the newest")
    elif noted.number != number:
        yield Fault(place, f"those after event {noted.number} were added past the program")
