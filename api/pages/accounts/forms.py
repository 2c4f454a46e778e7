"""What the pages of accounts share: the form that was sent, clean texts, who it is about."""

from __future__ import annotations

import re
import unicodedata
from collections.abc import AsyncIterator
from datetime import timedelta
from typing import Annotated

from fastapi import Depends, HTTPException, Request
from fastapi.responses import RedirectResponse
from starlette.datastructures import FormData

from leastwise.api.http.state import settings_of
from leastwise.api.identity.errors import TooManyError
from leastwise.api.identity.people import person_of
from leastwise.api.identity.rules import NAME
from leastwise.api.identity.signing_in import password_fits
from leastwise.api.identity.web import accounts_of, place_of, session_of
from leastwise.api.store.accounts.records import Account

__all__ = [
    "ROLES",
    "Sent",
    "account_named",
    "confirmed",
    "go",
    "in_use",
    "is_handle",
    "is_recent",
    "one_line",
    "own_account",
    "secret_text",
]

#: Role -> what it is for, in words.
ROLES: tuple[tuple[str, str], ...] = (
    ("reader", "Reader: reads cases that were shared"),
    ("contributor", "Contributor: keeps cases of their own"),
    ("reviewer", "Reviewer: also reviews and signs off"),
    ("tutor", "Tutor: also sees the cases of the cohort"),
    ("knowledge editor", "Knowledge editor: also edits the knowledge"),
    ("administrator", "Administrator: also manages accounts"),
)


#: So long after signing in nobody is asked again.
RECENT = timedelta(minutes=15)
#: The field that holds one's password where one is asked again.
CONFIRM = "confirm"


async def _sent(request: Request) -> AsyncIterator[FormData]:
    """Give the form; it is read after the guard has let the request pass."""
    async with request.form(max_files=2, max_fields=200) as form:
        yield form


#: The form of a request; files in it are of no use here and count as nothing.
Sent = Annotated[FormData, Depends(_sent)]


def one_line(form: FormData, name: str, most: int = 120) -> str:
    """Return a field as one line of text without signs that don't show."""
    given = form.get(name)
    if not isinstance(given, str):
        return ""
    text = unicodedata.normalize("NFC", given.encode("utf-8", "replace").decode())
    shown = (" " if sign.isspace() else sign for sign in text if _is_shown(sign))
    return " ".join("".join(shown).split())[:most]


def _is_shown(sign: str) -> bool:
    return sign.isspace() or unicodedata.category(sign) not in ("Cc", "Cf", "Cs", "Co", "Cn")


def secret_text(form: FormData, name: str) -> str:
    """Return a field as it was typed, such as a password."""
    given = form.get(name)
    return given if isinstance(given, str) else ""


def in_use(request: Request) -> None:
    """Refuse pages of accounts where nobody signs in.

    Raises:
        HTTPException: 404 on a personal machine.

    """
    if not settings_of(request).shared:
        raise HTTPException(
            404,
            "No accounts are in use on a personal machine; leastwise serve --shared needs them.",
        )


def own_account(request: Request) -> Account:
    """Return the account of the person who asks."""
    return account_named(request, person_of(request).account)


def account_named(request: Request, name: str) -> Account:
    """Return an account by its name in an address.

    Raises:
        HTTPException: 404, there is none.

    """
    found = accounts_of(request).account(name) if NAME.fullmatch(name) else None
    if found is None:
        raise HTTPException(404, "There is no account of that name.")
    return found


def is_handle(given: str) -> bool:
    """Return whether a text in an address can name a session or a token."""
    return re.fullmatch("[0-9a-f]{16}", given) is not None


def is_recent(request: Request) -> bool:
    """Return whether somebody signed in a short while ago in this browser."""
    session = session_of(request)
    return session is not None and accounts_of(request).now() - session.begun < RECENT


def confirmed(request: Request, form: FormData) -> dict[str, str]:
    """Return what is wrong where a person has to show again who it is; nothing if it has.

    A browser that was left open, or a session that was stolen, must not make new ways in.
    """
    if is_recent(request):
        return {}
    account, given = own_account(request), secret_text(form, CONFIRM)
    if not account.has_password:
        return {CONFIRM: "Sign out and in again first; your last sign-in is a while ago."}
    if not given:
        return {CONFIRM: "Type your password; your last sign-in is a while ago."}
    try:
        fits = password_fits(accounts_of(request), account.name, given, place_of(request))
    except TooManyError as error:
        return {CONFIRM: str(error)}
    return {} if fits else {CONFIRM: "This is not your password."}


def go(path: str) -> RedirectResponse:
    """Return the way to a page after a form was done."""
    return RedirectResponse(path, 303)
