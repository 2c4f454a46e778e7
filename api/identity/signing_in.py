"""Signing in, changing a password, and the link with which one is set."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime, timedelta

from leastwise.api.identity import attempts
from leastwise.api.identity.errors import AccountError, CodeNeededError, SignInError
from leastwise.api.identity.passwords import hashed, is_outdated, matches
from leastwise.api.identity.rules import checked_password, plain
from leastwise.api.identity.secret import digest, new_handle, new_secret, new_token
from leastwise.api.store.accounts.records import Account, Token
from leastwise.api.store.accounts.store import AccountStore

__all__ = [
    "LINK_LASTS",
    "Place",
    "begin",
    "change_password",
    "folded",
    "let_in",
    "make_link",
    "make_token",
    "password_fits",
    "set_by_link",
    "sign_in",
]

LINK_LASTS = timedelta(days=3)
REFUSED = "Name and password don't fit together, or the account is switched off."


@dataclass(frozen=True, slots=True)
class Place:
    """From where somebody asks: the address, what the browser calls itself, and its mark."""

    address: str = ""
    browser: str = ""
    mark: str = ""


def sign_in(accounts: AccountStore, name: str, password: str, place: Place) -> str:
    """Return the secret of a new session.

    Raises:
        TooManyError: too many attempts failed; this one was not tried.
        CodeNeededError: name and password fit, and the account asks for a code beside.
        SignInError: name and password don't fit; the same for a name that isn't there.

    """
    account = folded(name)
    if not password_fits(accounts, account, password, place):
        raise SignInError(REFUSED)
    return let_in(accounts, account, place, "password")


def let_in(accounts: AccountStore, name: str, place: Place, how: str) -> str:
    """Return the secret of a new session of an account that asks for no code beside.

    Raises:
        CodeNeededError: it asks for one.

    """
    if accounts.has_factor(name):
        raise CodeNeededError(name, how)
    return begin(accounts, name, place, how)


def folded(name: str) -> str:
    """Return the name of the account that somebody means by what was typed."""
    return plain(name).strip().casefold()[:200]


def password_fits(accounts: AccountStore, name: str, password: str, place: Place) -> bool:
    """Return whether a password opens an account, and count the attempt if it doesn't.

    Raises:
        TooManyError: too many attempts failed; this one was not tried.

    """
    attempts.claim(accounts, name, place.address, place.mark)
    kept = accounts.password(name)
    if not matches(password, kept):
        known = name if accounts.account(name) else ""
        accounts.tell(known, known, _failed(accounts, name, known), place.address)
        return False
    attempts.succeed(accounts, name, place.address, place.mark)
    if is_outdated(kept):
        accounts.rehash(name, kept, hashed(password))
    return True


def _failed(accounts: AccountStore, name: str, known: str) -> str:
    wait = attempts.wait_of(accounts, name)
    what = "sign-in failed" if known else "sign-in failed: no account of that name"
    return what + (f"; locked for {wait} seconds" if wait else "")


def begin(accounts: AccountStore, name: str, place: Place, how: str) -> str:
    """Return the secret of a new session of an account that has shown who it is."""
    secret = new_secret()
    accounts.begin_session(
        digest(secret), new_handle(), name, browser=place.browser, address=place.address, how=how
    )
    return secret


def change_password(  # noqa: PLR0913 - one argument for each thing that is told
    accounts: AccountStore,
    account: Account,
    old: str,
    new: str,
    place: Place,
    *,
    revoke: bool = False,
) -> None:
    """Set a new password; every session of the account ends, with *revoke* every token too.

    Raises:
        TooManyError: too many attempts failed.
        AccountError: the old password is wrong, or the new one isn't accepted.

    """
    good = checked_password(new, account.name, account.full_name)
    if account.has_password and not password_fits(accounts, account.name, old, place):
        raise AccountError("old", "This is not the password that you have now.")
    if plain(old) == good:
        raise AccountError("password", "Choose another password than the one you have.")
    accounts.set_password(
        account.name, hashed(good), who=account.name, address=place.address, revoke=revoke
    )


def make_link(accounts: AccountStore, name: str, *, who: str, address: str = "") -> str:
    """Return the secret of a link with which *name* sets a password once, within three days."""
    secret = new_secret()
    expires = accounts.now() + LINK_LASTS
    accounts.add_link(digest(secret), name, expires, who=who, address=address)
    return secret


def set_by_link(accounts: AccountStore, secret: str, password: str, place: Place) -> str:
    """Set a password by a link, lift the lock, and return the account's name.

    Raises:
        AccountError: the link was used or ran out, or the password isn't accepted.

    """
    over = AccountError("link", "This link was used, ran out or was replaced; ask for a new one.")
    name = accounts.link_of(digest(secret))
    account = accounts.account(name) if name else None
    if account is None or not account.active:
        raise over
    good = checked_password(password, account.name, account.full_name)
    kept = hashed(good)
    if not accounts.set_password(
        account.name, kept, who=account.name, address=place.address, link=digest(secret)
    ):
        raise over
    attempts.lift(accounts, account.name)
    return account.name


def make_token(  # noqa: PLR0913 - one argument for each thing that a token is told by
    accounts: AccountStore,
    account: str,
    *,
    label: str,
    scopes: frozenset[str],
    expires: datetime,
    address: str = "",
) -> str:
    """Return a token for a program; it is not kept and can't be shown again."""
    secret = new_token()
    token = Token(new_handle(), account, label, scopes, accounts.now(), expires, None)
    accounts.add_token(digest(secret), token, who=account, address=address)
    return secret
