"""Pages: sign in, sign out, set a password by a link."""

from __future__ import annotations

from urllib.parse import quote

from fastapi import APIRouter, Depends, Request, Response

from leastwise.api.http.state import settings_of
from leastwise.api.identity import second_factor, signing_in
from leastwise.api.identity.access import Access, Action
from leastwise.api.identity.attempts import mark_of
from leastwise.api.identity.errors import AccountError, CodeNeededError, SignInError, TooManyError
from leastwise.api.identity.people import person_of
from leastwise.api.identity.rules import LONGEST, SHORTEST
from leastwise.api.identity.secret import digest
from leastwise.api.identity.web import (
    accounts_of,
    forget_cookie,
    forget_note,
    give_cookie,
    give_mark,
    give_note,
    local_path,
    note_in,
    place_of,
    session_of,
)
from leastwise.api.pages.accounts.forms import Sent, go, in_use, one_line, secret_text
from leastwise.api.pages.page import check_form, render

__all__ = ["ACCESS", "ask_for_code", "router", "show_sign_in"]

router = APIRouter(dependencies=[Depends(in_use)], include_in_schema=False)
ACCESS: Access = {
    "GET /sign-in": Action.OPEN,
    "POST /sign-in": Action.OPEN,
    "GET /sign-in/code": Action.OPEN,
    "POST /sign-in/code": Action.OPEN,
    "POST /sign-out": Action.OPEN,
    "GET /set-password/{link}": Action.OPEN,
    "POST /set-password/{link}": Action.OPEN,
}
SAID = {
    "set": "The password is set. Sign in with it.",
    "out": "You are signed out.",
}


def show_sign_in(
    request: Request, *, next_path: str, name: str = "", error: str = "", status: int = 200
) -> Response:
    """Return the page to sign in, with what went wrong the last time."""
    settings = settings_of(request)
    return render(
        request,
        "sign-in.html",
        title="Sign in",
        status=status,
        step="sign-in",
        next_path=next_path,
        name=name,
        error=error,
        said=SAID.get(request.query_params.get("done", ""), ""),
        elsewhere=settings.oidc is not None,
        needs_https=settings.secure_cookies and request.url.scheme != "https",
    )


@router.get("/sign-in")
def sign_in_page(request: Request) -> Response:
    """Show the form, or go on if somebody is signed in."""
    next_path = local_path(request.query_params.get("next", "/"))
    return (
        go(next_path) if person_of(request).account else show_sign_in(request, next_path=next_path)
    )


@router.post("/sign-in")
def sign_in(request: Request, form: Sent) -> Response:
    """Sign in, or go on to the code; a session that the browser had before ends with it."""
    check_form(request, form.get("form_token"))
    next_path, name = local_path(form.get("next")), one_line(form, "name")
    accounts, place = accounts_of(request), place_of(request)
    try:
        secret = signing_in.sign_in(accounts, name, secret_text(form, "password"), place)
    except CodeNeededError as error:
        return ask_for_code(request, error, next_path)
    except SignInError as error:
        status = 429 if isinstance(error, TooManyError) else 422
        answer = show_sign_in(
            request, next_path=next_path, name=name, error=str(error), status=status
        )
        return _paused(answer, error)
    return _let_in(request, secret, signing_in.folded(name), next_path)


def _paused(answer: Response, error: SignInError) -> Response:
    """Say in a header how long to wait, where there were too many attempts."""
    if isinstance(error, TooManyError):
        answer.headers["retry-after"] = str(error.seconds)
    return answer


def _let_in(request: Request, secret: str, name: str, next_path: str) -> Response:
    """Give the browser its session, and a mark that somebody has signed in with it."""
    _end(request, "ended by a new sign-in")
    done = go(next_path)
    give_cookie(request, done, secret)
    give_mark(request, done, mark_of(accounts_of(request), name))
    return done


def ask_for_code(request: Request, needed: CodeNeededError, next_path: str) -> Response:
    """Send somebody who has come half-way on to the page for the code."""
    come = second_factor.HalfWay(needed.account, needed.how)
    done = go(f"/sign-in/code?next={quote(next_path, safe='/')}")
    give_note(request, done, second_factor.note_of(accounts_of(request), come))
    return done


@router.get("/sign-in/code")
def code_page(request: Request) -> Response:
    """Show the form for the code to somebody who has come half-way, else the one to begin."""
    next_path = local_path(request.query_params.get("next", "/"))
    if second_factor.half_way(accounts_of(request), note_in(request)) is None:
        return show_sign_in(request, next_path=next_path)
    return _show_code(request, next_path)


def _show_code(request: Request, next_path: str, *, error: str = "", status: int = 200) -> Response:
    errors = {"code": error} if error else {}
    return render(
        request,
        "accounts-code.html",
        title="Type the code",
        status=status,
        step="sign-in",
        next_path=next_path,
        errors=errors,
    )


@router.post("/sign-in/code")
def type_code(request: Request, form: Sent) -> Response:
    """Sign in with the code of the second factor, or with a recovery code."""
    check_form(request, form.get("form_token"))
    next_path, note = local_path(form.get("next")), note_in(request)
    accounts, place = accounts_of(request), place_of(request)
    come = second_factor.half_way(accounts, note)
    try:
        secret = second_factor.sign_in_with_code(accounts, note, secret_text(form, "code"), place)
    except SignInError as error:
        status = 429 if isinstance(error, TooManyError) else 422
        answer = _show_code(request, next_path, error=str(error), status=status)
        return _paused(answer, error)
    except AccountError as error:
        if error.field == "note" or come is None:
            return show_sign_in(request, next_path=next_path, error=str(error), status=422)
        return _show_code(request, next_path, error=str(error), status=422)
    done = _let_in(request, secret, come.account if come else "", next_path)
    forget_note(request, done)
    return done


@router.post("/sign-out")
def sign_out(request: Request, form: Sent) -> Response:
    """End the session of this browser."""
    if session_of(request) is not None:
        check_form(request, form.get("form_token"))
        _end(request, "signed out")
    done = go("/sign-in?done=out")
    forget_cookie(request, done)
    return done


def _end(request: Request, what: str) -> None:
    session = session_of(request)
    if session is not None:
        address = place_of(request).address
        accounts_of(request).end_session(
            session.account, session.handle, who=session.account, what=what, address=address
        )


@router.get("/set-password/{link}")
def set_password_page(request: Request, link: str) -> Response:
    """Show the form to set a password, if the link still works."""
    name = accounts_of(request).link_of(digest(link))
    return _set_password(request, name, {}, 200 if name else 404)


@router.post("/set-password/{link}")
def set_password(request: Request, link: str, form: Sent) -> Response:
    """Set a password once."""
    check_form(request, form.get("form_token"))
    accounts = accounts_of(request)
    name = accounts.link_of(digest(link))
    password = secret_text(form, "password")
    if name and password != secret_text(form, "again"):
        return _set_password(request, name, {"again": "The two are not the same."}, 422)
    try:
        signing_in.set_by_link(accounts, link, password, place_of(request))
    except AccountError as error:
        is_over = error.field == "link"
        return _set_password(
            request,
            None if is_over else name,
            {error.field: str(error)},
            404 if is_over else 422,
        )
    return go("/sign-in?done=set")


def _set_password(
    request: Request, name: str | None, errors: dict[str, str], status: int
) -> Response:
    return render(
        request,
        "accounts-set-password.html",
        title="Set your password",
        status=status,
        step="sign-in",
        name=name,
        errors=errors,
        shortest=SHORTEST,
        longest=LONGEST,
    )
