"""Versions of a case that met another and wait for a decision."""

from __future__ import annotations

from leastwise.api.store import Conflict, Document, NotStored, Store

__all__ = ["ASIDE", "aside_of", "let_go", "set_aside"]

ASIDE = "aside"


def set_aside(store: Store, conflict: Conflict, what: str, who: str) -> str:
    """Keep a version that clashes with another, once; return its id."""
    body = {"mine": conflict.mine, "base": conflict.base.version, "what": what}
    case = conflict.theirs.id
    for known in aside_of(store, case, who):
        if known.body == body:
            return known.id
    made = store.create(
        ASIDE, body, who=who, what="set aside until it is decided", case=case, title=what[:80]
    )
    return made.id


def aside_of(store: Store, case: str, who: str | None) -> list[Document]:
    """Return the versions of a case that were set aside, by *who* if given, oldest first."""
    return [one for one in store.of_case(case, ASIDE) if who in (None, one.owner)]


def let_go(store: Store, case: str, record: str, who: str) -> None:
    """Take a version that has been decided out of sight; one that isn't there is no matter."""
    try:
        if store.read(record, ASIDE).case == case:
            store.remove(record, who=who, what="decided")
    except NotStored:
        return
