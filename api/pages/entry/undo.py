"""What was removed from a page of the record a moment ago, and the version that still has it."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import UTC, datetime, timedelta
from typing import Any, Final

from leastwise.api.store import Document, Store

__all__ = ["FOR", "before_removal"]

#: So long after a removal the page offers to undo it; the history does so for good.
FOR: Final = timedelta(minutes=1)


def before_removal(store: Store, document: Document, keys: Sequence[str]) -> int:
    """Return the version before the newest one took a row from a page away, 0 where it didn't.

    *keys* are the lists of the record that the page holds.
    """
    if document.version < 2 or datetime.now(UTC) - document.changed > FOR:
        return 0
    before = store.as_of(document.id, version=document.version - 1).body
    gone = any(_rows_in(before.get(key)) > _rows_in(document.body.get(key)) for key in keys)
    return document.version - 1 if gone else 0


def _rows_in(value: Any) -> int:
    """Return how many rows a list holds, with the rows within them."""
    if isinstance(value, list):
        return sum(isinstance(one, Mapping) + _rows_in(one) for one in value)
    return sum(_rows_in(one) for one in value.values()) if isinstance(value, Mapping) else 0
