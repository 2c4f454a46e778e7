"""Who else may see or change a case; each giving and taking is an event.

A document of kind shares holds the rights of a case, for the history; the table ``shares`` holds
the same, for the list of cases.
"""

from __future__ import annotations

import json

from sqlalchemy import select
from sqlalchemy.orm import Session

from leastwise.api.store.ground import Ground, row_of
from leastwise.api.store.tables import DocumentTable, ShareTable
from leastwise.api.store.words import plain

__all__ = ["Sharing"]

KIND = "shares"


class Sharing(Ground):
    """The shares of the store."""

    def shares(self, case: str) -> dict[str, str]:
        """Return account -> right (read, review, write) for a case."""
        wanted = (
            select(ShareTable)
            .join(DocumentTable, DocumentTable.id == ShareTable.case_id)
            .where(ShareTable.case_id == plain(case), DocumentTable.removed.is_(False))
            .order_by(ShareTable.account)
        )
        with self.reading() as session:
            return {row.account: row.right for row in session.scalars(wanted)}

    def share(self, case: str, account: str, right: str, *, who: str = "") -> None:
        """Give an account a right to a case; an empty right takes it away.

        Without *who* it was the keeper of the case.

        Raises:
            NotStored: there is no such case.

        """
        with self.session() as session:
            chain = self._chain(session)
            by = who or row_of(session, case).owner
            row_of(session, case)
            document = _document(session, case)
            held: dict[str, str] = {} if document is None else json.loads(document.body)
            if held.get(account, "") == right:
                return
            new = {name: kept for name, kept in held.items() if name != account}
            what = f"no longer shared with {account}"
            if right:
                new[account], what = right, f"shared with {account}: {right}"
            if document is None:
                self._add(session, chain, KIND, dict(new), who=by, what=what, case=case)
            else:
                self._change(session, chain, document, body=dict(new), who=by, what=what)
            _put(session, case, account, right)

    def hand_over(self, case: str, to: str, *, who: str) -> None:
        """Make *to* the keeper of a case.

        Raises:
            NotStored: there is no such case.

        """
        with self.session() as session:
            chain = self._chain(session)
            row = row_of(session, case, "case")
            if row.owner == to:
                return
            before, row.owner = row.owner, to
            self._change(session, chain, row, who=who, what=f"handed over from {before} to {to}")


def _document(session: Session, case: str) -> DocumentTable | None:
    wanted = select(DocumentTable).where(DocumentTable.case_id == case, DocumentTable.kind == KIND)
    return session.scalar(wanted)


def _put(session: Session, case: str, account: str, right: str) -> None:
    row = session.get(ShareTable, (case, account))
    if row is not None and not right:
        session.delete(row)
    elif row is not None:
        row.right = right
    elif right:
        session.add(ShareTable(case_id=case, account=account, right=right))
