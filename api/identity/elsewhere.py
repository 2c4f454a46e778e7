"""Which account somebody opens who has signed in at the institution.

Issuer and subject decide, never the address of e-mail or a name: those can be given anew.
"""

from __future__ import annotations

import re
import unicodedata

from leastwise.api.identity.errors import SignInError
from leastwise.api.identity.oidc import Identity
from leastwise.api.identity.rules import TAKEN
from leastwise.api.roles import Role
from leastwise.api.store.accounts.records import Account
from leastwise.api.store.accounts.store import AccountStore

__all__ = ["account_for", "connect"]

#: Where a claim names several roles the one furthest down counts.
ORDER = tuple(role for role in Role if role is not Role.NOBODY)


def account_for(
    accounts: AccountStore, identity: Identity, *, first_role: str, by_claim: bool, address: str
) -> Account:
    """Return the account of an identity, made at its first sign-in.

    With *by_claim* the role is what the service says, at each sign-in anew.

    Raises:
        SignInError: the account is switched off, or none is made for people unknown here.

    """
    said = [role for role in ORDER if role in identity.roles]
    role = (said[-1] if said else None) if by_claim else None
    name = accounts.identity(identity.issuer, identity.subject)
    if name is None:
        return _made(accounts, identity, role or _first(first_role), address)
    account = accounts.account(name)
    if account is None or not account.active:
        raise SignInError("This account is switched off; ask an administrator.")
    if role and role != account.role:
        accounts.change(
            name,
            full_name=account.full_name,
            role=role,
            cohort=account.cohort,
            who=name,
            address=address,
        )
        account = accounts.account(name) or account
    return account


def connect(accounts: AccountStore, identity: Identity, account: str, address: str) -> None:
    """Let an identity open an account that is there already and signed in.

    Raises:
        SignInError: it opens another account.

    """
    key = (identity.issuer, identity.subject)
    if not accounts.link_identity(key, account, address=address):
        raise SignInError("This identity already opens another account.")


def _first(given: str) -> Role:
    for role in ORDER:
        if role == given.replace("-", " "):
            return role
    raise SignInError("Nobody here knows you yet; ask an administrator for an account.")


def _made(accounts: AccountStore, identity: Identity, role: Role, address: str) -> Account:
    wanted = _name(identity)
    for number in range(1, 1000):
        name = wanted if number == 1 else f"{wanted[:43]}-{number}"
        if name in TAKEN:
            continue
        made = accounts.add(
            name,
            full_name=identity.full_name or wanted,
            role=role,
            who=name,
            address=address,
            identity=(identity.issuer, identity.subject),
        )
        if made is not None:
            return made
    raise SignInError("No name is free for your account; ask an administrator.")


def _name(identity: Identity) -> str:
    """Return a name of the accepted kind, from what the service calls the account."""
    given = (identity.name or identity.full_name).partition("@")[0]
    letters = unicodedata.normalize("NFKD", given).encode("ascii", "ignore").decode().lower()
    name = re.sub(r"[^a-z0-9]+", "-", letters).strip("-")[:48]
    return name if len(name) > 1 else "colleague"
