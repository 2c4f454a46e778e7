"""The cases of an account, for its page: titles only, and handing them over."""

from __future__ import annotations

from typing import TYPE_CHECKING

from sqlalchemy import select

from leastwise.api.store.tables import DocumentTable

if TYPE_CHECKING:
    from leastwise.api.store.accounts.store import AccountStore

__all__ = ["cases_owned_by", "hand_over"]


def cases_owned_by(accounts: AccountStore, name: str) -> list[tuple[str, str]]:
    """Return id and title of the cases that an account owns, by title."""
    wanted = (
        select(DocumentTable.id, DocumentTable.title)
        .where(
            DocumentTable.kind == "case",
            DocumentTable.owner == name,
            DocumentTable.removed.is_(False),
        )
        .order_by(DocumentTable.title, DocumentTable.id)
    )
    with accounts.store.reading() as session:
        return [(row.id, row.title) for row in session.execute(wanted)]


def hand_over(
    accounts: AccountStore, cases: list[str], to: str, *, who: str, address: str = ""
) -> None:
    """Give cases to another owner."""
    for case in cases:
        before = accounts.store.read(case, "case").owner
        accounts.store.share(case, to, "", who=who)  # an owner needs no right beside
        accounts.store.hand_over(case, to, who=who)
        accounts.tell(who, to, f"case {case} handed over by {before or 'nobody'}", address)
