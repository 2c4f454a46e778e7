"""Records that last: the only room that knows SQL."""

from __future__ import annotations

from leastwise.api.store.faults import (
    AlreadyStored,
    StoreBusy,
    StoreDamaged,
    StoreError,
    StoreFull,
    StoreNewer,
    StoreReadOnly,
    StoreUnreachable,
)
from leastwise.api.store.records import CaseRow, Conflict, Document, Event, NotStored, Picture
from leastwise.api.store.store import Store

__all__ = [
    "AlreadyStored",
    "CaseRow",
    "Conflict",
    "Document",
    "Event",
    "NotStored",
    "Picture",
    "Store",
    "StoreBusy",
    "StoreDamaged",
    "StoreError",
    "StoreFull",
    "StoreNewer",
    "StoreReadOnly",
    "StoreUnreachable",
]
