"""Pages: one's own account: password, browsers that are signed in, tokens for programs."""

from __future__ import annotations

from datetime import timedelta

from fastapi import APIRouter, Depends, HTTPException, Request, Response
from starlette.datastructures import FormData

from leastwise.api.http.state import settings_of
from leastwise.api.identity import signing_in
from leastwise.api.identity.access import ALLOWED, SCOPES, Access, Action
from leastwise.api.identity.errors import AccountError, TooManyError
from leastwise.api.identity.people import person_of
from leastwise.api.identity.rules import LONGEST, SHORTEST
from leastwise.api.identity.web import accounts_of, give_cookie, place_of, session_of
from leastwise.api.pages.accounts.forms import (
    Sent,
    confirmed,
    go,
    in_use,
    is_handle,
    is_recent,
    one_line,
    own_account,
    secret_text,
)
from leastwise.api.pages.page import check_form, render

__all__ = ["ACCESS", "router", "show_account"]

router = APIRouter(dependencies=[Depends(in_use)], include_in_schema=False)
ACCESS: Access = {
    "GET /account": Action.OWN_ACCOUNT,
    "POST /account/password": Action.OWN_ACCOUNT,
    "POST /account/sessions/end-others": Action.OWN_ACCOUNT,
    "POST /account/sessions/{session}/end": Action.OWN_ACCOUNT,
    "POST /account/tokens": Action.OWN_ACCOUNT,
    "POST /account/tokens/{token}/revoke": Action.OWN_ACCOUNT,
}
SAID = {
    "password": "The new password is set. Every other browser is signed out.",
    "ended": "Signed out there.",
    "revoked": "The token no longer works.",
    "factor-off": "The second factor is off. Your password alone opens the account.",
    "connected": "Your sign-in at the institution opens this account from now on.",
}
LASTS = (("30", "30 days"), ("90", "90 days"), ("365", "a year"))


@router.get("/account")
def account_page(request: Request) -> Response:
    """Show one's own account."""
    return show_account(request, {}, {})


def show_account(
    request: Request, errors: dict[str, str], typed: dict[str, object], status: int = 200
) -> Response:
    """Return the page of one's own account, with what went wrong the last time."""
    accounts, account = accounts_of(request), own_account(request)
    session = session_of(request)
    return render(
        request,
        "account.html",
        title="Your account",
        status=status,
        step="account",
        account=account,
        sessions=accounts.sessions(account.name),
        here=session.handle if session else "",
        tokens=accounts.tokens(account.name),
        factor=accounts.factor(account.name),
        now=accounts.now(),
        scopes=_scopes(request),
        lasts=LASTS,
        errors=errors,
        typed=typed,
        said=SAID.get(request.query_params.get("done", ""), ""),
        elsewhere=settings_of(request).oidc is not None,
        shortest=SHORTEST,
        longest=LONGEST,
        confirm=account.has_password and not is_recent(request),
    )


def _scopes(request: Request) -> list[Action]:
    """Return what a token of this person can be made for."""
    allowed = ALLOWED[person_of(request).role]
    return [action for action in Action if action in allowed and action in SCOPES]


@router.post("/account/password")
def change_password(request: Request, form: Sent) -> Response:
    """Change the password; this browser gets a new session, all others are signed out."""
    check_form(request, form.get("form_token"))
    accounts, account, place = accounts_of(request), own_account(request), place_of(request)
    new = secret_text(form, "password")
    if new != secret_text(form, "again"):
        return show_account(request, {"again": "The two are not the same."}, {}, 422)
    try:
        signing_in.change_password(
            accounts,
            account,
            secret_text(form, "old"),
            new,
            place,
            revoke=form.get("revoke") == "yes",
        )
    except TooManyError as error:
        return show_account(request, {"old": str(error)}, {}, 429)
    except AccountError as error:
        return show_account(request, {error.field: str(error)}, {}, 422)
    done = go("/account?done=password")
    give_cookie(request, done, signing_in.begin(accounts, account.name, place, "new password"))
    return done


@router.post("/account/sessions/end-others")
def end_others(request: Request, form: Sent) -> Response:
    """Sign out everywhere but here."""
    check_form(request, form.get("form_token"))
    account, session = own_account(request), session_of(request)
    accounts_of(request).end_sessions(
        account.name,
        who=account.name,
        address=place_of(request).address,
        but=session.handle if session else "",
    )
    return go("/account?done=ended")


@router.post("/account/sessions/{session}/end")
def end_session(request: Request, session: str, form: Sent) -> Response:
    """Sign out one of one's own browsers."""
    check_form(request, form.get("form_token"))
    account = own_account(request)
    if not is_handle(session) or not accounts_of(request).end_session(
        account.name,
        session,
        who=account.name,
        what="session ended",
        address=place_of(request).address,
    ):
        raise HTTPException(404, "There is no such session of yours.")
    return go("/account?done=ended")


@router.post("/account/tokens")
def make_token(request: Request, form: Sent) -> Response:
    """Make a token for a program and show it, this once."""
    check_form(request, form.get("form_token"))
    account, accounts = own_account(request), accounts_of(request)
    label, lasts, scopes = one_line(form, "label", 80), one_line(form, "lasts"), _chosen(form)
    allowed = {action.name for action in _scopes(request)}
    errors = {}
    if not label:
        errors["label"] = "Say what it is for, such as: import from the collection system."
    if not scopes or not scopes <= allowed:
        errors["scopes"] = "Choose at least one of these."
    if lasts not in dict(LASTS):
        errors["lasts"] = "Choose how long it shall work."
    errors = errors or confirmed(request, form)
    if errors:
        typed: dict[str, object] = {"label": label, "lasts": lasts, "scopes": scopes}
        return show_account(request, errors, typed, 422)
    secret = signing_in.make_token(
        accounts,
        account.name,
        label=label,
        scopes=scopes,
        expires=accounts.now() + timedelta(days=int(lasts)),
        address=place_of(request).address,
    )
    return render(
        request,
        "accounts-once.html",
        title="A token for a program",
        step="account",
        secret=secret,
        what="token",
        about=label,
        back="/account",
    )


def _chosen(form: FormData) -> frozenset[str]:
    return frozenset(one for one in form.getlist("scopes") if isinstance(one, str))


@router.post("/account/tokens/{token}/revoke")
def revoke_token(request: Request, token: str, form: Sent) -> Response:
    """Take one of one's own tokens away."""
    check_form(request, form.get("form_token"))
    account = own_account(request)
    if not is_handle(token) or not accounts_of(request).revoke_token(
        account.name, token, who=account.name, address=place_of(request).address
    ):
        raise HTTPException(404, "There is no such token of yours.")
    return go("/account?done=revoked")
