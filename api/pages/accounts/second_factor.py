"""Pages: the second factor of one's own account: switched on, new recovery codes, switched off."""

from __future__ import annotations

from fastapi import APIRouter, Depends, Request, Response
from markupsafe import Markup

from leastwise.api.identity import codes, second_factor
from leastwise.api.identity.access import Access, Action
from leastwise.api.identity.errors import AccountError, TooManyError
from leastwise.api.identity.web import accounts_of, place_of, session_of
from leastwise.api.pages.accounts.forms import (
    Sent,
    confirmed,
    go,
    in_use,
    own_account,
    secret_text,
)
from leastwise.api.pages.accounts.own import show_account
from leastwise.api.pages.page import check_form, render
from leastwise.api.store.accounts.records import Factor

__all__ = ["ACCESS", "router"]

router = APIRouter(dependencies=[Depends(in_use)], include_in_schema=False)
ACCESS: Access = {
    "GET /account/second-factor": Action.OWN_ACCOUNT,
    "POST /account/second-factor": Action.OWN_ACCOUNT,
    "POST /account/second-factor/begin": Action.OWN_ACCOUNT,
    "POST /account/second-factor/recovery": Action.OWN_ACCOUNT,
    "POST /account/second-factor/off": Action.OWN_ACCOUNT,
}
#: Fields of an error -> the fields of the form on the page of the account.
FIELDS = {"old": "factor_password", "code": "factor_code"}


@router.post("/account/second-factor/begin")
def begin(request: Request, form: Sent) -> Response:
    """Make a secret, and go on to the page that shows it."""
    check_form(request, form.get("form_token"))
    if errors := confirmed(request, form):
        return show_account(
            request, {f"factor_{key}": said for key, said in errors.items()}, {}, 422
        )
    try:
        second_factor.offer(accounts_of(request), own_account(request).name, place_of(request))
    except AccountError as error:
        return show_account(request, {"factor_code": str(error)}, {}, 422)
    return go("/account/second-factor")


@router.get("/account/second-factor")
def offer_page(request: Request) -> Response:
    """Show the secret as a drawing and in letters, until a code of it was typed."""
    factor = accounts_of(request).factor(own_account(request).name)
    if factor is None or factor.since is not None:
        return go("/account#second-factor")
    return _offer(request, factor)


def _offer(request: Request, factor: Factor, error: str = "", status: int = 200) -> Response:
    address = codes.address_of(factor.secret, own_account(request).name)
    return render(
        request,
        "accounts-second-factor.html",
        title="Switch the second factor on",
        status=status,
        step="account",
        drawing=Markup(codes.drawing(address)),  # noqa: S704 - made of the address alone, escaped there
        secret=codes.grouped(factor.secret),
        errors={"code": error} if error else {},
    )


@router.post("/account/second-factor")
def switch_on(request: Request, form: Sent) -> Response:
    """Switch it on with a first code, and show the recovery codes, this once."""
    check_form(request, form.get("form_token"))
    accounts, account, session = accounts_of(request), own_account(request), session_of(request)
    try:
        made = second_factor.switch_on(
            accounts,
            account.name,
            secret_text(form, "code"),
            place_of(request),
            session=session.handle if session else "",
        )
    except (AccountError, TooManyError) as error:
        factor = accounts.factor(account.name)
        if factor is None or factor.since is not None:
            return show_account(request, {"factor_code": str(error)}, {}, 422)
        return _offer(request, factor, str(error), _status(error))
    return _once(request, made, "The second factor is on. Every other browser is signed out.")


@router.post("/account/second-factor/recovery")
def renew(request: Request, form: Sent) -> Response:
    """Make new recovery codes and show them, this once."""
    check_form(request, form.get("form_token"))
    try:
        made = second_factor.renew_recovery(
            accounts_of(request), own_account(request), *_both(form), place_of(request)
        )
    except (AccountError, TooManyError) as error:
        return _refused(request, error)
    return _once(request, made, "The earlier recovery codes no longer work.")


@router.post("/account/second-factor/off")
def switch_off(request: Request, form: Sent) -> Response:
    """Switch it off."""
    check_form(request, form.get("form_token"))
    try:
        second_factor.switch_off(
            accounts_of(request), own_account(request), *_both(form), place_of(request)
        )
    except (AccountError, TooManyError) as error:
        return _refused(request, error)
    return go("/account?done=factor-off")


def _both(form: Sent) -> tuple[str, str]:
    return secret_text(form, FIELDS["old"]), secret_text(form, FIELDS["code"])


def _refused(request: Request, error: AccountError | TooManyError) -> Response:
    field = error.field if isinstance(error, AccountError) else "code"
    return show_account(request, {FIELDS.get(field, field): str(error)}, {}, _status(error))


def _status(error: AccountError | TooManyError) -> int:
    return 429 if isinstance(error, TooManyError) else 422


def _once(request: Request, made: tuple[str, ...], said: str) -> Response:
    return render(
        request,
        "accounts-recovery.html",
        title="Recovery codes",
        step="account",
        codes=made,
        said=said,
    )
