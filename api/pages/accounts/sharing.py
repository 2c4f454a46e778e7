"""Pages: who else may see, review or change a case, and whose it is."""

from __future__ import annotations

from fastapi import APIRouter, Depends, Request, Response

from leastwise.api.http.state import store_of
from leastwise.api.identity.access import Access, Action
from leastwise.api.identity.people import person_of
from leastwise.api.identity.web import accounts_of, place_of
from leastwise.api.pages.accounts.forms import Sent, go, in_use, one_line
from leastwise.api.pages.page import check_form, render
from leastwise.api.store.accounts.cases import hand_over

__all__ = ["ACCESS", "router"]

router = APIRouter(dependencies=[Depends(in_use)], include_in_schema=False)
ACCESS: Access = {
    "GET /cases/{case}/share": Action.MANAGE_CASE,
    "POST /cases/{case}/share": Action.MANAGE_CASE,
    "POST /cases/{case}/share/transfer": Action.MANAGE_CASE,
}
RIGHTS = (
    ("read", "Read: sees everything of the case"),
    ("review", "Review: also comments, objects and signs off"),
    ("write", "Write: also changes the record"),
)
SAID = {"shared": "Shared.", "ended": "No longer shared."}


@router.get("/cases/{case}/share")
def share_page(request: Request, case: str) -> Response:
    """Show with whom a case is shared."""
    return _show(request, case, {})


def _show(
    request: Request,
    case: str,
    errors: dict[str, str],
    typed: dict[str, str] | None = None,
    status: int = 200,
) -> Response:
    store, accounts = store_of(request), accounts_of(request)
    document = store.read(case, "case")
    everybody = {one.name: one for one in accounts.accounts()}
    shares = store.shares(case)
    return render(
        request,
        "share.html",
        title="Share this case",
        status=status,
        step="share",
        document=document,
        shares=[(name, right, everybody.get(name)) for name, right in sorted(shares.items())],
        others=[one for one in everybody.values() if one.active and one.name != document.owner],
        rights=RIGHTS,
        errors=errors,
        typed=typed or {},
        said=SAID.get(request.query_params.get("done", ""), ""),
    )


@router.post("/cases/{case}/share")
def share(request: Request, case: str, form: Sent) -> Response:
    """Give a right, change it, or take it away (``right`` is ``none``)."""
    check_form(request, form.get("form_token"))
    store, accounts, who = store_of(request), accounts_of(request), person_of(request).account
    name, right = one_line(form, "account"), one_line(form, "right")
    owner = store.read(case, "case").owner
    if right == "none" and name in store.shares(case):
        store.share(case, name, "", who=who)
        accounts.tell(who, name, f"case {case}: no longer shared", place_of(request).address)
        return go(f"/cases/{case}/share?done=ended")
    account = accounts.account(name) if name else None
    errors = {}
    if account is None or not account.active or name == owner:
        errors["account"] = "Choose with whom."
    if right not in dict(RIGHTS):
        errors["right"] = "Choose what for."
    if errors:
        return _show(request, case, errors, {"account": name, "right": right}, 422)
    store.share(case, name, right, who=who)
    accounts.tell(who, name, f"case {case}: shared to {right}", place_of(request).address)
    return go(f"/cases/{case}/share?done=shared")


@router.post("/cases/{case}/share/transfer")
def transfer(request: Request, case: str, form: Sent) -> Response:
    """Give the case to another owner; the one before may be left a right to it."""
    check_form(request, form.get("form_token"))
    accounts, who = accounts_of(request), person_of(request).account
    name, keeps = one_line(form, "to"), one_line(form, "keeps")
    account = accounts.account(name) if name else None
    owner = store_of(request).read(case, "case").owner
    errors = {}
    if account is None or not account.active or name == owner:
        errors["to"] = "Choose who shall have the case."
    if form.get("sure") != "yes":
        errors["sure"] = "Tick this, so that it doesn't happen by mistake."
    if errors:
        return _show(request, case, errors, {"to": name, "keeps": keeps}, 422)
    hand_over(accounts, [case], name, who=who, address=place_of(request).address)
    if keeps in dict(RIGHTS) and accounts.account(owner) is not None:
        store_of(request).share(case, owner, keeps, who=who)
        return go(f"/cases/{case}")
    return go("/")
