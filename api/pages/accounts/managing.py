"""Pages: for administrators, the accounts, what happened with them, and whose the cases are."""

from __future__ import annotations

from fastapi import APIRouter, Depends, HTTPException, Request, Response
from starlette.datastructures import FormData

from leastwise.api.identity import attempts, signing_in
from leastwise.api.identity.access import Access, Action
from leastwise.api.identity.errors import AccountError
from leastwise.api.identity.people import person_of
from leastwise.api.identity.rules import checked_name, checked_role
from leastwise.api.identity.web import accounts_of, base_address, place_of
from leastwise.api.pages.accounts.forms import (
    ROLES,
    Sent,
    account_named,
    confirmed,
    go,
    in_use,
    is_recent,
    one_line,
    own_account,
)
from leastwise.api.pages.page import check_form, render
from leastwise.api.store.accounts.cases import cases_owned_by, hand_over
from leastwise.api.store.accounts.records import Account
from leastwise.api.store.accounts.store import AccountStore

__all__ = ["ACCESS", "router"]

router = APIRouter(dependencies=[Depends(in_use)], include_in_schema=False)
ACCESS: Access = {
    "GET /accounts": Action.ADMINISTER,
    "POST /accounts": Action.ADMINISTER,
    "GET /accounts/-/events": Action.ADMINISTER,
    "GET /accounts/{name}": Action.ADMINISTER,
    "POST /accounts/{name}": Action.ADMINISTER,
    "POST /accounts/{name}/{deed}": Action.ADMINISTER,
}
SAID = {
    "changed": "Changed.",
    "off": "The account is switched off: its sessions are ended, its tokens are gone.",
    "on": "The account is switched on again. Tokens have to be made anew.",
    "unlock": "The lock is lifted.",
    "factor-off": "The second factor is off: the password alone opens the account.",
    "end": "All sessions are ended.",
    "handed": "The cases have a new owner.",
}
LAST = "Somebody has to manage the accounts: make another account administrator first."
PAGE = 100


@router.get("/accounts")
def list_page(request: Request) -> Response:
    """Show the accounts, and the form for a new one."""
    return _list(request, {}, {})


def _list(
    request: Request, errors: dict[str, str], typed: dict[str, str], status: int = 200
) -> Response:
    accounts = accounts_of(request)
    query = one_line(FormData([("q", request.query_params.get("q", ""))]), "q")
    found = accounts.accounts(query)
    return render(
        request,
        "accounts.html",
        title="Accounts",
        status=status,
        step="accounts",
        accounts=found,
        query=query,
        roles=ROLES,
        errors=errors,
        typed=typed,
        confirm=_asks_again(request),
    )


@router.post("/accounts")
def make(request: Request, form: Sent) -> Response:
    """Make an account, and show the link with which its person sets a password."""
    check_form(request, form.get("form_token"))
    typed = {key: one_line(form, key) for key in ("name", "full_name", "role", "cohort")}
    accounts, who, address = _by(request)
    if errors := confirmed(request, form):
        return _list(request, errors, typed, 422)
    try:
        name, role = checked_name(typed["name"]), checked_role(typed["role"])
        is_made = accounts.add(
            name,
            full_name=typed["full_name"] or name,
            role=role,
            cohort=typed["cohort"][:64],
            who=who,
            address=address,
        )
    except AccountError as error:
        return _list(request, {error.field: str(error)}, typed, 422)
    if not is_made:
        return _list(request, {"name": f"There is an account {name} already."}, typed, 422)
    return _link(request, name)


def _link(request: Request, name: str) -> Response:
    accounts, who, address = _by(request)
    secret = signing_in.make_link(accounts, name, who=who, address=address)
    return render(
        request,
        "accounts-once.html",
        title="A link to set a password",
        step="accounts",
        secret=f"{base_address(request)}/set-password/{secret}",
        what="link",
        about=name,
        back=f"/accounts/{name}",
    )


@router.get("/accounts/-/events")
def events_page(request: Request) -> Response:
    """Show what happened with all accounts, newest first."""
    accounts = accounts_of(request)
    given = request.query_params.get("page", "1")
    page = int(given) if given.isdecimal() and len(given) < 7 and int(given) else 1
    total = accounts.count_events()
    return render(
        request,
        "accounts-events.html",
        title="What happened with accounts",
        step="accounts",
        events=accounts.events(limit=PAGE, offset=PAGE * (page - 1)),
        page=page,
        pages=max(1, -(-total // PAGE)),
        total=total,
    )


@router.get("/accounts/{name}")
def one_page(request: Request, name: str) -> Response:
    """Show one account."""
    return _one(request, name, {})


def _kept(account: Account) -> dict[str, str]:
    """Return what the fields of an account show before anything is typed."""
    return {"full_name": account.full_name, "role": account.role, "cohort": account.cohort}


def _one(
    request: Request,
    name: str,
    errors: dict[str, str],
    typed: dict[str, str] | None = None,
    status: int = 200,
) -> Response:
    accounts, account = accounts_of(request), account_named(request, name)
    return render(
        request,
        "accounts-one.html",
        title=account.full_name,
        status=status,
        step="accounts",
        account=account,
        typed=typed or _kept(account),
        roles=ROLES,
        errors=errors,
        wait=max(attempts.wait_of(accounts, name), attempts.code_wait_of(accounts, name)),
        sessions=accounts.sessions(name),
        tokens=accounts.tokens(name),
        second_factor=accounts.has_factor(name),
        cases=cases_owned_by(accounts, name),
        others=[one for one in accounts.accounts() if one.active and one.name != name],
        events=accounts.events(name, limit=50),
        said=SAID.get(request.query_params.get("done", ""), ""),
        confirm=_asks_again(request),
    )


@router.post("/accounts/{name}")
def change(request: Request, name: str, form: Sent) -> Response:
    """Change name, role and cohort."""
    check_form(request, form.get("form_token"))
    account = account_named(request, name)
    typed = {key: one_line(form, key) for key in ("full_name", "role", "cohort")}
    accounts, who, address = _by(request)
    try:
        role = checked_role(typed["role"])
    except AccountError as error:
        return _one(request, name, {error.field: str(error)}, typed, 422)
    if role != account.role and (errors := confirmed(request, form)):
        return _one(request, name, errors, typed, 422)
    if not accounts.change(
        name,
        full_name=typed["full_name"] or account.name,
        role=role,
        cohort=typed["cohort"][:64],
        who=who,
        address=address,
    ):
        return _one(request, name, {"role": LAST}, typed, 422)
    return go(f"/accounts/{name}?done=changed")


@router.post("/accounts/{name}/{deed}")
def do(request: Request, name: str, deed: str, form: Sent) -> Response:
    """Do one of: off, on, unlock, end (its sessions), link, factor-off, hand-over (its cases)."""
    check_form(request, form.get("form_token"))
    account = account_named(request, name)
    accounts, who, address = _by(request)
    if deed in ("link", "factor-off") and (errors := confirmed(request, form)):
        return _one(request, name, errors, None, 422)
    if deed == "link" and account.active:
        return _link(request, name)
    if deed == "hand-over":
        return _hand_over(request, name, one_line(form, "to"))
    if deed in ("on", "off"):
        if not accounts.set_active(name, active=deed == "on", who=who, address=address):
            return _one(request, name, {"off": LAST}, None, 422)
    elif deed == "unlock":
        attempts.lift(accounts, name)
        accounts.tell(who, name, "lock lifted", address)
    elif deed == "factor-off":
        accounts.take_factor(name, who=who, address=address)
    elif deed == "end":
        accounts.end_sessions(name, who=who, address=address)
    else:
        raise HTTPException(404, "Expected off, on, unlock, end, link, factor-off or hand-over.")
    return go(f"/accounts/{name}?done={deed}")


def _hand_over(request: Request, name: str, to: str) -> Response:
    accounts, who, address = _by(request)
    new = accounts.account(to) if to and to != name else None
    if new is None or not new.active:
        return _one(request, name, {"to": "Choose who shall have the cases."}, None, 422)
    cases = [case for case, _ in cases_owned_by(accounts, name)]
    hand_over(accounts, cases, new.name, who=who, address=address)
    return go(f"/accounts/{name}?done=handed")


def _asks_again(request: Request) -> bool:
    """Return whether a form that makes a new way in has to ask for the password."""
    return own_account(request).has_password and not is_recent(request)


def _by(request: Request) -> tuple[AccountStore, str, str]:
    """Return the accounts, who changes them, and from where."""
    return accounts_of(request), person_of(request).account, place_of(request).address
