"""Pages: sign in at the institution's own service (OpenID Connect), and come back."""

from __future__ import annotations

import base64
import binascii
import hmac
import json

from fastapi import APIRouter, Depends, HTTPException, Response
from fastapi import Request as Asked

from leastwise.api.http.state import settings_of
from leastwise.api.identity import elsewhere, signing_in
from leastwise.api.identity.access import Access, Action
from leastwise.api.identity.errors import CodeNeededError, SignInError
from leastwise.api.identity.oidc import Provider, Request, Unreachable
from leastwise.api.identity.people import person_of
from leastwise.api.identity.web import (
    accounts_of,
    base_address,
    cookie_name,
    give_cookie,
    local_path,
    place_of,
    session_of,
)
from leastwise.api.pages.accounts.forms import Sent, go, in_use
from leastwise.api.pages.accounts.signing_in import ask_for_code, show_sign_in
from leastwise.api.pages.page import check_form, render

__all__ = ["ACCESS", "router"]

router = APIRouter(dependencies=[Depends(in_use)], include_in_schema=False)
ACCESS: Access = {
    "GET /sign-in/elsewhere": Action.OPEN,
    "GET /sign-in/elsewhere/back": Action.OPEN,
    "POST /account/connect": Action.OWN_ACCOUNT,
}
COOKIE, LASTS = "leastwise_elsewhere", 600
BACK = "/sign-in/elsewhere/back"


@router.get("/sign-in/elsewhere")
def leave(request: Asked) -> Response:
    """Send the browser to the service; what comes back has to fit what is kept here."""
    provider = _provider(request)
    next_path = local_path(request.query_params.get("next", "/"))
    try:
        wanted = provider.request(base_address(request) + BACK)
    except Unreachable as error:
        return show_sign_in(request, next_path=next_path, error=str(error), status=503)
    answer = go(wanted.url)
    _keep(request, answer, wanted, next_path, "")
    return answer


@router.post("/account/connect")
def connect(request: Asked, form: Sent) -> Response:
    """Show the way to the service, whose identity shall open this account from then on."""
    check_form(request, form.get("form_token"))
    provider = _provider(request)
    try:
        wanted = provider.request(base_address(request) + BACK)
    except Unreachable as error:
        raise HTTPException(503, str(error)) from error
    answer = render(
        request,
        "accounts-go.html",
        title="Connect your sign-in at the institution",
        step="account",
        url=wanted.url,
        issuer=provider.settings.issuer,
    )
    _keep(request, answer, wanted, "/account?done=connected", person_of(request).account)
    return answer


@router.get("/sign-in/elsewhere/back")
def come_back(request: Asked) -> Response:
    """Believe what the service says, or say why not."""
    provider, kept = _provider(request), _kept(request)
    next_path = local_path(kept.get("next", "/"))
    try:
        secret = _opened(request, provider, kept)
    except CodeNeededError as error:
        answer = ask_for_code(request, error, next_path)
    except SignInError as error:
        accounts_of(request).tell("", "", "sign-in elsewhere failed", place_of(request).address)
        status = 503 if isinstance(error, Unreachable) else 403
        answer = show_sign_in(request, next_path=next_path, error=str(error), status=status)
    else:
        answer = go(next_path)
        if secret:
            give_cookie(request, answer, secret)
    answer.delete_cookie(cookie_name(request, COOKIE), secure=_is_secure(request), httponly=True)
    return answer


def _opened(request: Asked, provider: Provider, kept: dict[str, str]) -> str:
    """Return the secret of a new session; empty if an identity was connected to an account."""
    asked = request.query_params
    wanted = Request("", *(kept.get(name, "") for name in ("state", "nonce", "verifier")))
    state = asked.get("state", "")
    if not wanted.state or not hmac.compare_digest(wanted.state.encode(), state.encode()):
        raise SignInError("This sign-in was not begun here, or took too long; begin again.")
    if "error" in asked or not asked.get("code"):
        raise SignInError("The sign-in service let nobody in.")
    identity = provider.identity(
        asked["code"], asked.get("iss", ""), wanted, base_address(request) + BACK
    )
    accounts, place = accounts_of(request), place_of(request)
    if kept.get("account"):
        if person_of(request).account != kept["account"]:
            raise SignInError("You were signed out meanwhile; begin again.")
        elsewhere.connect(accounts, identity, kept["account"], place.address)
        return ""
    account = elsewhere.account_for(
        accounts,
        identity,
        first_role=provider.settings.first_role,
        by_claim=bool(provider.settings.role_claim),
        address=place.address,
    )
    session = session_of(request)
    if session is not None:
        what = "ended by a new sign-in"
        accounts.end_session(
            session.account, session.handle, who=session.account, what=what, address=place.address
        )
    return signing_in.let_in(accounts, account.name, place, "sign-in service")


def _provider(request: Asked) -> Provider:
    settings = settings_of(request).oidc
    if settings is None:
        raise HTTPException(404, "No other sign-in service is set up here.")
    state = request.app.state
    if getattr(state, "provider", None) is None:
        state.provider = Provider(settings)
    return state.provider  # type: ignore[no-any-return]


def _keep(request: Asked, answer: Response, wanted: Request, next_path: str, account: str) -> None:
    kept = {
        "state": wanted.state,
        "nonce": wanted.nonce,
        "verifier": wanted.verifier,
        "next": next_path,
        "account": account,
    }
    answer.set_cookie(
        cookie_name(request, COOKIE),
        base64.urlsafe_b64encode(json.dumps(kept).encode()).decode(),
        max_age=LASTS,
        httponly=True,
        samesite="lax",
        secure=_is_secure(request),
    )


def _kept(request: Asked) -> dict[str, str]:
    given = request.cookies.get(cookie_name(request, COOKIE), "")
    try:
        found = json.loads(base64.urlsafe_b64decode(given))
    except (ValueError, binascii.Error, RecursionError):
        return {}
    if not isinstance(found, dict):
        return {}
    return {name: value for name, value in found.items() if isinstance(value, str)}


def _is_secure(request: Asked) -> bool:
    return settings_of(request).secure_cookies
