"""What the store holds of accounts, as frozen values; no row leaves the room."""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import datetime

__all__ = ["Account", "AccountEvent", "Factor", "SignedIn", "Token"]


@dataclass(frozen=True, slots=True)
class Account:
    """Somebody who may sign in. *name* is folded; *role* is one of ``people.Role``."""

    name: str
    full_name: str
    role: str
    cohort: str
    active: bool
    has_password: bool
    created: datetime


@dataclass(frozen=True, slots=True)
class SignedIn:
    """One browser that is signed in; *handle* names it on a page and opens nothing."""

    handle: str
    account: str
    begun: datetime
    seen: datetime
    browser: str
    address: str


@dataclass(frozen=True, slots=True)
class Factor:
    """A second factor. *secret* opens an account beside its password, so it isn't shown in a repr.

    *since* is when it was switched on, none before a code of it was shown; *step* is the step of
    time of the last code that was accepted; *recovery* is how many recovery codes are left.
    """

    secret: str = field(repr=False)
    since: datetime | None
    step: int
    recovery: int


@dataclass(frozen=True, slots=True)
class Token:
    """A token for a program, without the token itself."""

    handle: str
    account: str
    label: str
    scopes: frozenset[str]
    created: datetime
    expires: datetime
    used: datetime | None


@dataclass(frozen=True, slots=True)
class AccountEvent:
    """One sign-in, failure or change: who did it, to which account, what, from where."""

    number: int
    at: datetime
    who: str
    account: str
    what: str
    address: str
    before: str
    hash: str
