"""Accounts in the store: added, changed, switched off, never removed."""

from __future__ import annotations

from sqlalchemy import func, or_, select
from sqlalchemy.orm import Session

from leastwise.api.store.accounts.events import newest_state
from leastwise.api.store.accounts.factors import Factors
from leastwise.api.store.accounts.held import Changes
from leastwise.api.store.accounts.keys import Keys
from leastwise.api.store.accounts.records import Account
from leastwise.api.store.accounts.state import secret_of, state_of
from leastwise.api.store.accounts.tables import AccountTable, IdentityTable, LinkTable, TokenTable

__all__ = ["AccountStore"]

ADMINISTRATOR = "administrator"
_CALLED = {"full_name": "name"}


class AccountStore(Keys, Factors):
    """Accounts, beside what opens them and what was done with them."""

    def add(  # noqa: PLR0913 - one argument for each thing that an account is told by
        self,
        name: str,
        *,
        full_name: str,
        role: str,
        who: str,
        cohort: str = "",
        password: str = "",
        address: str = "",
        identity: tuple[str, str] | None = None,
    ) -> Account | None:
        """Keep a new account, or return None if the name is taken. *password* is its hash."""
        with self.writing() as session:
            if session.get(AccountTable, name) is not None:
                return None
            row = AccountTable(
                name=name,
                full_name=full_name,
                role=role,
                cohort=cohort,
                password=password,
                active=True,
                created=self.now(),
            )
            session.add(row)
            session.flush()
            keys = Changes(session)
            if identity:
                self._link(keys, identity, name)
            state = state_of(row, [identity] if identity else [])
            self.note(
                session, who, name, f"account made, {role}", address, changed=state, keys=keys
            )
            return _account(row)

    def account(self, name: str) -> Account | None:
        """Return an account by its folded name."""
        with self.store.reading() as session:
            row = session.get(AccountTable, name)
            return _account(row) if row is not None else None

    def accounts(self, query: str = "") -> list[Account]:
        """Return the accounts by name; with *query* those with it in a name, role or cohort."""
        wanted = select(AccountTable).order_by(AccountTable.name)
        for word in query.casefold().split():
            wanted = wanted.where(
                or_(
                    *(
                        func.lower(column).contains(word, autoescape=True)
                        for column in (
                            AccountTable.name,
                            AccountTable.full_name,
                            AccountTable.role,
                            AccountTable.cohort,
                        )
                    )
                )
            )
        with self.store.reading() as session:
            return [_account(row) for row in session.scalars(wanted)]

    def has_administrator(self) -> bool:
        """Return whether somebody can manage the accounts."""
        with self.store.reading() as session:
            return self._administrators(session) > 0

    @staticmethod
    def _administrators(session: Session) -> int:
        wanted = select(func.count()).where(
            AccountTable.role == ADMINISTRATOR, AccountTable.active.is_(True)
        )
        return session.scalar(wanted) or 0

    def cohort_of(self, name: str) -> str:
        """Return the cohort of an account, or an empty text."""
        with self.store.reading() as session:
            wanted = select(AccountTable.cohort).where(AccountTable.name == name)
            return session.scalar(wanted) or ""

    # -- changes

    def change(  # noqa: PLR0913 - one argument for each thing that is told
        self, name: str, *, full_name: str, role: str, cohort: str, who: str, address: str = ""
    ) -> bool:
        """Change an account; False if nobody would be left to manage accounts."""
        with self.writing() as session:
            row = session.get_one(AccountTable, name)
            is_last = row.active and row.role == ADMINISTRATOR != role
            if is_last and self._administrators(session) < 2:
                return False
            new = {"full_name": full_name, "role": role, "cohort": cohort}
            changed = {key: value for key, value in new.items() if getattr(row, key) != value}
            told = [
                f"{_CALLED.get(key, key)} {getattr(row, key) or 'none'} -> {value or 'none'}"
                for key, value in changed.items()
            ]
            row.full_name, row.role, row.cohort = full_name, role, cohort
            if told:
                what = "changed: " + ", ".join(told)
                self.note(session, who, name, what, address, changed=changed)
            return True

    def set_active(self, name: str, *, active: bool, who: str, address: str = "") -> bool:
        """Switch an account on or off; False if nobody would be left to manage accounts.

        Off ends its sessions and takes its tokens and links away.
        """
        with self.writing() as session:
            row = session.get_one(AccountTable, name)
            if row.active == active:
                return True
            if not active and row.role == ADMINISTRATOR and self._administrators(session) < 2:
                return False
            row.active, keys = active, Changes(session)
            if not active:
                self._end_sessions(session, keys, name)
                for table in (TokenTable, LinkTable):
                    keys.take(session.scalars(select(table).where(table.account == name)))
            what = "switched on" if active else "switched off"
            self.note(session, who, name, what, address, changed={"active": active}, keys=keys)
            return True

    # -- passwords

    def password(self, name: str) -> str:
        """Return the hash of an account's password, or an empty text."""
        with self.store.reading() as session:
            row = session.get(AccountTable, name)
            return row.password if row is not None and row.active else ""

    def set_password(  # noqa: PLR0913 - one argument for each thing that is told
        self,
        name: str,
        password: str,
        *,
        who: str,
        address: str = "",
        link: str = "",
        revoke: bool = False,
    ) -> bool:
        """Keep a new hash; all sessions and links end, with *revoke* all tokens, as one.

        False if *link* was used meanwhile.
        """
        with self.writing() as session:
            if link:
                held = session.get(LinkTable, link)
                if held is None or held.account != name or self.now() >= held.expires:
                    return False
            session.get_one(AccountTable, name).password = password
            keys = Changes(session)
            self._end_sessions(session, keys, name)
            keys.take(session.scalars(select(LinkTable).where(LinkTable.account == name)))
            what = "password set" + " by link" * bool(link)
            if revoke:
                tokens = select(TokenTable).where(TokenTable.account == name)
                what += f"; {keys.take(session.scalars(tokens))} tokens revoked"
            changed = {"password_sha256": secret_of(password)}
            self.note(session, who, name, what, address, changed=changed, keys=keys)
            return True

    def rehash(self, name: str, old: str, new: str) -> None:
        """Keep a stronger hash of the same password, unless it was changed meanwhile."""
        with self.writing() as session:
            row = session.get_one(AccountTable, name)
            if row.password == old:
                row.password = new
                what = "password kept by a stronger hash"
                changed = {"password_sha256": secret_of(new)}
                self.note(session, name, name, what, changed=changed)

    # -- sign-in elsewhere

    def identity(self, issuer: str, subject: str) -> str | None:
        """Return the account that a subject of a sign-in service belongs to."""
        with self.store.reading() as session:
            row = session.get(IdentityTable, (issuer, subject))
            return row.account if row is not None else None

    def link_identity(self, identity: tuple[str, str], name: str, *, address: str) -> bool:
        """Let a subject of a sign-in service open an account; False if it opens another."""
        with self.writing() as session:
            row = session.get(IdentityTable, identity)
            if row is not None:
                return row.account == name
            keys = Changes(session)
            self._link(keys, identity, name)
            held = (newest_state(session, name) or {}).get("identities", [])
            changed = {"identities": sorted([*held, list(identity)])}
            what = f"sign-in of {identity[0]} connected"
            self.note(session, name, name, what, address, changed=changed, keys=keys)
            return True

    def _link(self, keys: Changes, identity: tuple[str, str], name: str) -> None:
        keys.add(
            IdentityTable(issuer=identity[0], subject=identity[1], account=name, linked=self.now())
        )


def _account(row: AccountTable) -> Account:
    return Account(
        row.name,
        row.full_name,
        row.role,
        row.cohort,
        row.active,
        bool(row.password),
        row.created,
    )
