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
from leastwise.api.store.records.store import Store
from leastwise.api.store.records.values import (
    CaseRow,
    Conflict,
    Document,
    Event,
    NotStored,
    Picture,
)

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
