"""Accounts as a request sees them: cookies, tokens, addresses, and who asks."""

from __future__ import annotations

from datetime import timedelta
from typing import Literal, cast
from urllib.parse import urlsplit

from fastapi import HTTPException, Request, Response

from leastwise.api.http.state import settings_of, store_of
from leastwise.api.identity.people import NOBODY, Person
from leastwise.api.identity.second_factor import HALF_WAY_S
from leastwise.api.identity.secret import TOKEN_PREFIX, digest, form_token_of
from leastwise.api.identity.signing_in import Place
from leastwise.api.roles import Role
from leastwise.api.store.accounts.keys import LONGEST
from leastwise.api.store.accounts.records import Account, SignedIn
from leastwise.api.store.accounts.store import AccountStore

__all__ = [
    "accounts_of",
    "base_address",
    "cookie_name",
    "find_person",
    "forget_cookie",
    "forget_note",
    "give_cookie",
    "give_mark",
    "give_note",
    "local_path",
    "note_in",
    "place_of",
    "session_form_token",
    "session_of",
]

CHALLENGE = {"WWW-Authenticate": 'Bearer realm="leastwise"'}


def accounts_of(request: Request) -> AccountStore:
    """Return the accounts of the store."""
    return AccountStore(store_of(request))


def place_of(request: Request) -> Place:
    """Return from where a request comes; behind a proxy the server has put the address right."""
    address = request.client.host if request.client else ""
    mark = request.cookies.get(cookie_name(request, MARK), "")[:200]
    return Place(address[:64], request.headers.get("user-agent", "")[:200], mark)


def cookie_name(request: Request, name: str) -> str:
    """Return a cookie's name; the prefix binds it to this host and HTTPS (RFC 6265bis)."""
    return f"__Host-{name}" if settings_of(request).secure_cookies else name


SESSION, MARK, NOTE = "leastwise_session", "leastwise_known", "leastwise_half_way"
#: A browser in which nobody has signed in for so long is a stranger again.
KNOWN_FOR = timedelta(days=180)


def give_cookie(request: Request, answer: Response, secret: str) -> None:
    """Let the browser keep a session."""
    _give(request, answer, SESSION, secret, lasts=LONGEST, samesite="lax")


def give_mark(request: Request, answer: Response, mark: str) -> None:
    """Let the browser be known as one in which somebody has signed in; it opens nothing."""
    _give(request, answer, MARK, mark, lasts=KNOWN_FOR, samesite="strict")


def give_note(request: Request, answer: Response, note: str) -> None:
    """Let the browser say who has come half-way, until the code of the second factor is typed."""
    lasts = timedelta(seconds=HALF_WAY_S)
    _give(request, answer, NOTE, note, lasts=lasts, samesite="lax")


def note_in(request: Request) -> str:
    """Return what a browser says of who has come half-way; the seal in it decides."""
    return request.cookies.get(cookie_name(request, NOTE), "")[:400]


def _give(  # noqa: PLR0913 - what a cookie is told by
    request: Request,
    answer: Response,
    name: str,
    value: str,
    *,
    lasts: timedelta,
    samesite: Literal["lax", "strict"],
) -> None:
    answer.set_cookie(
        cookie_name(request, name),
        value,
        max_age=int(lasts.total_seconds()),
        path="/",
        httponly=True,
        samesite=samesite,
        secure=settings_of(request).secure_cookies,
    )


def forget_cookie(request: Request, answer: Response) -> None:
    """Let the browser forget its session."""
    _forget(request, answer, SESSION)


def forget_note(request: Request, answer: Response) -> None:
    """Let the browser forget who has come half-way."""
    _forget(request, answer, NOTE)


def _forget(request: Request, answer: Response, name: str) -> None:
    answer.delete_cookie(
        cookie_name(request, name),
        path="/",
        httponly=True,
        samesite="lax",
        secure=settings_of(request).secure_cookies,
    )


def session_of(request: Request) -> SignedIn | None:
    """Return the session of a request, if it came with one; the guard has found it."""
    return cast("SignedIn | None", getattr(request.state, "session", None))


def session_form_token(request: Request) -> str:
    """Return the token that forms of this session carry, or an empty text without a session."""
    return cast(str, getattr(request.state, "session_form_token", ""))


def find_person(request: Request) -> Person:
    """Return who asks where accounts are in use: by token, by session, or nobody.

    Raises:
        HTTPException: 401 for a token that isn't valid.

    """
    given = request.headers.get("authorization", "")
    if given:
        return _by_token(request, given)
    secret = request.cookies.get(cookie_name(request, SESSION), "")
    if not secret:
        return NOBODY
    accounts = accounts_of(request)
    session = accounts.session_of(digest(secret))
    account = accounts.account(session.account) if session else None
    if session is None or account is None or not account.active:
        return NOBODY
    request.state.session = session
    request.state.session_form_token = form_token_of(secret)
    return _person(account)


def _by_token(request: Request, given: str) -> Person:
    scheme, _, secret = given.partition(" ")
    secret = secret.strip()
    if scheme.casefold() == "bearer" and secret.startswith(TOKEN_PREFIX):
        accounts = accounts_of(request)
        token = accounts.token_of(digest(secret))
        account = accounts.account(token.account) if token else None
        if token and account and account.active:
            return _person(account, token.scopes)
    headers = {"WWW-Authenticate": CHALLENGE["WWW-Authenticate"] + ', error="invalid_token"'}
    raise HTTPException(401, "This token is not valid, was revoked or ran out.", headers)


def _person(account: Account, scopes: frozenset[str] | None = None) -> Person:
    return Person(
        account.name,
        account.full_name or account.name,
        Role(account.role),
        scopes=scopes,
        cohort=account.cohort,
    )


def local_path(given: object) -> str:
    r"""Return a path on this site to go on to, or ``/`` for anything else.

    >>> local_path("/cases/a?b=1"), local_path("//elsewhere.example"), local_path("/\\elsewhere")
    ('/cases/a?b=1', '/', '/')
    """
    if not isinstance(given, str) or not given.startswith("/") or len(given) > 2000:
        return "/"
    if any(ord(sign) < 33 or sign == "\\" or ord(sign) == 127 for sign in given):
        return "/"
    try:
        parts = urlsplit(given)
    except ValueError:
        return "/"
    is_local = not parts.scheme and not parts.netloc and not given.startswith("//")
    return given if is_local else "/"


def base_address(request: Request) -> str:
    """Return how the outside reaches this service, without a slash at the end."""
    return settings_of(request).address or str(request.base_url).rstrip("/")
