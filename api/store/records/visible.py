"""Records of one kind over all cases that an account may see."""

from __future__ import annotations

import hashlib
from typing import Any

from sqlalchemy import Select, or_, select
from sqlalchemy.orm import aliased

from leastwise.api.store.accounts.tables import owners_in_cohort
from leastwise.api.store.records.rows import as_document
from leastwise.api.store.records.store import Store
from leastwise.api.store.records.values import Document
from leastwise.api.store.tables import DocumentTable, EventTable, ShareTable

__all__ = ["documents_of_kind", "origin_of", "versions_of_kind"]


def documents_of_kind(store: Store, kind: str, account: str | None = None) -> list[Document]:
    """Return the records of *kind*, oldest first; with *account* only those of cases it may see.

    What belongs to a removed case is left out.
    """
    case = aliased(DocumentTable)
    with store.reading() as session:
        rows = session.scalars(_of_kind((DocumentTable,), case, kind, account))
        return [as_document(row) for row in rows]


def versions_of_kind(
    store: Store, kind: str, account: str | None = None
) -> tuple[tuple[str, int, int], ...]:
    """Return (id, version, version of its case) of the same records, without their bodies."""
    case = aliased(DocumentTable)
    columns = (DocumentTable.id, DocumentTable.version, case.version)
    with store.reading() as session:
        found = session.execute(_of_kind(columns, case, kind, account))
        return tuple((name, version, of_case) for name, version, of_case in found)


def origin_of(store: Store) -> str:
    """Return a hash that stands for this store for good, from its first change; "" if it is new."""
    first = select(EventTable.hash).order_by(EventTable.number).limit(1)
    with store.reading() as session:
        found = session.scalar(first)
    return hashlib.sha256(f"giver {found}".encode()).hexdigest() if found else ""


def _of_kind(
    columns: tuple[Any, ...], case: type[DocumentTable], kind: str, account: str | None
) -> Select[Any]:
    wanted = (
        select(*columns)
        .join(case, case.id == DocumentTable.case_id)
        .where(DocumentTable.kind == kind)
        .where(DocumentTable.removed.is_(False), case.removed.is_(False))
        .order_by(DocumentTable.created, DocumentTable.id)
    )
    if account is None:
        return wanted
    shared = select(ShareTable.case_id).where(ShareTable.account == account)
    cohort = case.owner.in_(owners_in_cohort(account))
    return wanted.where(or_(case.owner == account, case.id.in_(shared), cohort))
