"""What the store holds, as frozen values; no row of the database leaves the room."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from typing import Any

from leastwise.graph.errors import LeastwiseError, NotFound

__all__ = ["CaseRow", "Conflict", "Document", "Event", "NotStored", "Picture"]

Body = dict[str, Any]


@dataclass(frozen=True, slots=True)
class Document:
    """One record in its newest version, or in the version asked for.

    *kind* says what the body is: ``case`` (the case record as far as it is filled in), ``words``
    (a proposal's own words), and so on. *case* is the id of the case a record belongs to, its own
    id for a case. *version* counts from 1.
    """

    id: str
    kind: str
    case: str
    title: str
    owner: str
    version: int
    body: Body
    created: datetime
    changed: datetime
    changed_by: str


@dataclass(frozen=True, slots=True)
class Event:
    """One change, never altered: who, when, what, and the body as it was from then on."""

    number: int
    document: str
    kind: str
    case: str
    version: int
    at: datetime
    who: str
    what: str
    body: Body
    before: str  # hash of the event before it
    hash: str
    title: str = ""
    owner: str = ""
    removed: bool = False  # whether this change took the record out of sight


@dataclass(frozen=True, slots=True)
class CaseRow:
    """A case as a list shows it."""

    id: str
    title: str
    owner: str
    object: str
    purpose: str
    demo: bool
    version: int
    changed: datetime
    changed_by: str


@dataclass(frozen=True, slots=True)
class Picture:
    """A photograph beside a case, checked and without its place; *data* is the file."""

    id: str
    case: str
    name: str
    stage: str  # before, during, after
    media_type: str
    width: int
    height: int
    data: bytes
    added: datetime
    added_by: str
    sha256: str = ""


class NotStored(NotFound):
    """There is no such record, or it isn't this person's to see."""

    def __init__(self, kind: str, name: str) -> None:
        LeastwiseError.__init__(self, f"There is no {kind} {name!r}.")


class Conflict(LeastwiseError):  # noqa: N818 - as above
    """Somebody saved in between; carries all three so that nothing is lost."""

    def __init__(self, base: Document, theirs: Document, mine: Body) -> None:
        self.base, self.theirs, self.mine = base, theirs, mine
        super().__init__(
            f"{theirs.title or theirs.id}: {theirs.changed_by} saved version {theirs.version} "
            f"while you worked on version {base.version}; put the two together and save again."
        )
