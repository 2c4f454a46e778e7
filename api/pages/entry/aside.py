"""Pages: a version that clashed and was left undecided is set aside; nothing is lost."""

from __future__ import annotations

from fastapi import APIRouter, HTTPException, Request
from fastapi.responses import RedirectResponse, Response

from leastwise.api.http.state import store_of
from leastwise.api.identity.access import Access, Action
from leastwise.api.identity.people import person_of
from leastwise.api.pages.entry.merge_page import merge_page
from leastwise.api.pages.forms import Form
from leastwise.api.pages.page import check_form
from leastwise.api.services.setting_aside import aside_of
from leastwise.api.store import Conflict, Document
from leastwise.api.store.records.merge import merge

__all__ = ["ACCESS", "router"]

router = APIRouter(tags=["pages"], include_in_schema=False)
ACCESS: Access = {
    "GET /cases/{case}/aside/{record}": Action.WRITE_CASE,
    "POST /cases/{case}/aside/{record}/remove": Action.WRITE_CASE,
}


def _mine(request: Request, case: str, record: str) -> Document:
    person = person_of(request)
    for one in aside_of(store_of(request), case, None if person.sees_all else person.account):
        if one.id == record:
            return one
    raise HTTPException(404, f"There is no version {record!r} of yours that was set aside.")


@router.get("/cases/{case}/aside/{record}")
def look_again(request: Request, case: str, record: str) -> Response:
    """Show a version that was set aside beside what is kept now."""
    aside, store = _mine(request, case, record), store_of(request)
    base = store.as_of(case, version=int(aside.body["base"]))
    conflict = Conflict(base, store.read(case, "case"), aside.body["mine"])
    clashes = merge(base.body, conflict.theirs.body, conflict.mine).clashes
    words = str(aside.body["what"])
    return merge_page(request, conflict, clashes, words, f"/cases/{case}", aside=record)


@router.post("/cases/{case}/aside/{record}/remove")
def throw_away(request: Request, case: str, record: str, form: Form) -> Response:
    """Throw away a version that was set aside; the history keeps it."""
    check_form(request, form.get("form_token"))
    aside = _mine(request, case, record)
    store_of(request).remove(aside.id, who=person_of(request).account, what="thrown away")
    return RedirectResponse(f"/cases/{case}", 303)
