"""The tables of accounts: who may sign in, what they hold in their hands, and what they did."""

from __future__ import annotations

from datetime import datetime
from typing import Any

from sqlalchemy import (
    Boolean,
    ForeignKey,
    Index,
    Integer,
    ScalarSelect,
    Select,
    String,
    Text,
    select,
)
from sqlalchemy.orm import Mapped, aliased, mapped_column

from leastwise.api.store.tables import WIDE, Base, Utc

__all__ = [
    "AccountEventTable",
    "AccountTable",
    "FactorTable",
    "FailureTable",
    "IdentityTable",
    "LinkTable",
    "NewestAccountEventTable",
    "RecoveryTable",
    "SessionTable",
    "TokenTable",
    "owners_in_cohort",
]

NAME = String(64)
DIGEST = String(64)  # SHA-256 in hexadecimal


class AccountTable(Base):
    """Accounts; none is ever removed, since events name them."""

    __tablename__ = "accounts"

    name: Mapped[str] = mapped_column(NAME, primary_key=True)  # folded, so unique without case
    full_name: Mapped[str] = mapped_column(Text)
    role: Mapped[str] = mapped_column(String(32))
    cohort: Mapped[str] = mapped_column(NAME, default="")
    password: Mapped[str] = mapped_column(Text, default="")  # argon2id, empty: none was set
    active: Mapped[bool] = mapped_column(Boolean, default=True)
    created: Mapped[datetime] = mapped_column(Utc)

    __table_args__ = (Index("accounts_by_cohort", "cohort"),)


class SessionTable(Base):
    """Browsers that are signed in; the id itself is known to the browser only."""

    __tablename__ = "account_sessions"

    digest: Mapped[str] = mapped_column(DIGEST, primary_key=True)
    handle: Mapped[str] = mapped_column(String(32), unique=True)  # names it on the page
    account: Mapped[str] = mapped_column(ForeignKey("accounts.name"))
    begun: Mapped[datetime] = mapped_column(Utc)
    seen: Mapped[datetime] = mapped_column(Utc)
    browser: Mapped[str] = mapped_column(Text)
    address: Mapped[str] = mapped_column(NAME)

    __table_args__ = (Index("account_sessions_by_account", "account"),)


class TokenTable(Base):
    """Tokens for programs; the token itself is shown once and not kept."""

    __tablename__ = "account_tokens"

    digest: Mapped[str] = mapped_column(DIGEST, primary_key=True)
    handle: Mapped[str] = mapped_column(String(32), unique=True)
    account: Mapped[str] = mapped_column(ForeignKey("accounts.name"))
    label: Mapped[str] = mapped_column(Text)
    scopes: Mapped[str] = mapped_column(Text)  # names of actions, separated by spaces
    created: Mapped[datetime] = mapped_column(Utc)
    expires: Mapped[datetime] = mapped_column(Utc)
    used: Mapped[datetime | None] = mapped_column(Utc)

    __table_args__ = (Index("account_tokens_by_account", "account"),)


class LinkTable(Base):
    """Links to set a password once; only the digest of the secret in the link is kept."""

    __tablename__ = "account_links"

    digest: Mapped[str] = mapped_column(DIGEST, primary_key=True)
    account: Mapped[str] = mapped_column(ForeignKey("accounts.name"))
    expires: Mapped[datetime] = mapped_column(Utc)

    __table_args__ = (Index("account_links_by_account", "account"),)


class FailureTable(Base):
    """Failed attempts to sign in, counted by name, address and browser; names only as digests."""

    __tablename__ = "account_failures"

    key: Mapped[str] = mapped_column(String(80), primary_key=True)
    count: Mapped[int] = mapped_column(Integer)
    last: Mapped[datetime] = mapped_column(Utc)
    #: Random, so that the events, which stay, name the row and tell nobody its key once it is gone.
    salt: Mapped[str] = mapped_column(String(32))

    __table_args__ = (Index("account_failures_by_last", "last"),)


class IdentityTable(Base):
    """Which subject of which sign-in service belongs to which account."""

    __tablename__ = "account_identities"

    issuer: Mapped[str] = mapped_column(String(255), primary_key=True)
    subject: Mapped[str] = mapped_column(String(255), primary_key=True)
    account: Mapped[str] = mapped_column(ForeignKey("accounts.name"))
    linked: Mapped[datetime] = mapped_column(Utc)


class FactorTable(Base):
    """The second factor of an account: what its codes are worked out from (RFC 6238)."""

    __tablename__ = "account_factors"

    account: Mapped[str] = mapped_column(ForeignKey("accounts.name"), primary_key=True)
    #: In base 32, as the app of its person holds it; never exported, logged or told in events.
    secret: Mapped[str] = mapped_column(String(64))
    begun: Mapped[datetime] = mapped_column(Utc)
    since: Mapped[datetime | None] = mapped_column(Utc)  # none: no code of it was shown yet
    step: Mapped[int] = mapped_column(WIDE)  # of time, that of the last code accepted


class RecoveryTable(Base):
    """Codes that open an account once in place of the second factor; only digests are kept."""

    __tablename__ = "account_recovery_codes"

    digest: Mapped[str] = mapped_column(DIGEST, primary_key=True)
    account: Mapped[str] = mapped_column(ForeignKey("accounts.name"))

    __table_args__ = (Index("account_recovery_codes_by_account", "account"),)


class AccountEventTable(Base):
    """Every sign-in, failure and change of an account; rows are added and never altered."""

    __tablename__ = "account_events"

    number: Mapped[int] = mapped_column(WIDE, primary_key=True, autoincrement=False)
    at: Mapped[datetime] = mapped_column(Utc)
    who: Mapped[str] = mapped_column(NAME)
    account: Mapped[str] = mapped_column(NAME)
    what: Mapped[str] = mapped_column(Text)
    address: Mapped[str] = mapped_column(NAME)
    before: Mapped[str] = mapped_column(DIGEST)
    hash: Mapped[str] = mapped_column(DIGEST)
    #: What was afterwards, as JSON; empty where nothing changed. See ``state.py`` and ``held.py``.
    body: Mapped[str] = mapped_column(Text, default="", server_default="")

    __table_args__ = (Index("account_events_by_account", "account", "number"),)


class NewestAccountEventTable(Base):
    """One row: number and hash of the newest event, so that one cut off at the end is missed."""

    __tablename__ = "account_events_newest"

    only: Mapped[int] = mapped_column(Integer, primary_key=True, autoincrement=False)  # 1
    number: Mapped[int] = mapped_column(WIDE)
    hash: Mapped[str] = mapped_column(DIGEST)


def owners_in_cohort(account: str) -> Select[Any]:
    """Return the names of those whose cases a tutor sees: the members of the tutor's cohort."""
    tutor = aliased(AccountTable)
    cohort: ScalarSelect[str] = (
        select(tutor.cohort)
        .where(tutor.name == account, tutor.role == "tutor", tutor.cohort != "")
        .scalar_subquery()
    )
    return select(AccountTable.name).where(AccountTable.cohort == cohort)
