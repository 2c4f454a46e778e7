"""Records of one kind over all cases that an account may see."""

from __future__ import annotations

from sqlalchemy import or_, select
from sqlalchemy.orm import aliased

from leastwise.api.store.account_tables import owners_in_cohort
from leastwise.api.store.records import Document
from leastwise.api.store.rows import as_document
from leastwise.api.store.store import Store
from leastwise.api.store.tables import DocumentTable, ShareTable

__all__ = ["documents_of_kind"]


def documents_of_kind(store: Store, kind: str, account: str | None = None) -> list[Document]:
    """Return the records of *kind*, oldest first; with *account* only those of cases it may see.

    What belongs to a removed case is left out.
    """
    case = aliased(DocumentTable)
    wanted = (
        select(DocumentTable)
        .join(case, case.id == DocumentTable.case_id)
        .where(DocumentTable.kind == kind)
        .where(DocumentTable.removed.is_(False), case.removed.is_(False))
        .order_by(DocumentTable.created, DocumentTable.id)
    )
    if account is not None:
        shared = select(ShareTable.case_id).where(ShareTable.account == account)
        cohort = case.owner.in_(owners_in_cohort(account))
        wanted = wanted.where(or_(case.owner == account, case.id.in_(shared), cohort))
    with store.reading() as session:
        return [as_document(row) for row in session.scalars(wanted)]
