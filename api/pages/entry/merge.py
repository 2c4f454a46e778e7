"""Two versions put together: where both changed the same place, a person decides."""

from __future__ import annotations

import json
import re
from copy import deepcopy
from typing import Any

from fastapi import APIRouter, HTTPException, Request
from fastapi.responses import Response
from starlette.datastructures import FormData

from leastwise.api.http.state import store_of
from leastwise.api.identity.access import Access, Action
from leastwise.api.identity.people import person_of
from leastwise.api.pages.entry.merge_page import may_keep_both
from leastwise.api.pages.entry.plain import plain_body
from leastwise.api.pages.forms import Form, check_version, keep_body, next_of
from leastwise.api.pages.page import check_form
from leastwise.api.services.setting_aside import let_go
from leastwise.api.store.records.merge import ABSENT, merge

__all__ = ["ACCESS", "resolved", "router"]

router = APIRouter(tags=["pages"], include_in_schema=False)
ACCESS: Access = {"POST /cases/{case}/merge": Action.WRITE_CASE}

Body = dict[str, Any]


def _what(form: FormData) -> str:
    """Return what was being written, as the log of changes names it."""
    what = form.get("what")
    return what[:80] if isinstance(what, str) and what else "Record"


@router.post("/cases/{case}/merge")
def decide(request: Request, case: str, form: Form) -> Response:
    """Keep what was decided at each place, with all that only one of the two had changed."""
    check_form(request, form.get("form_token"))
    store = store_of(request)
    theirs = check_version(store, case, form)
    base = store.as_of(case, version=_number(form, "base"))
    body = resolved(base.body, theirs.body, _mine(form), dict(form.multi_items()))
    after = next_of(request, form)
    answer = keep_body(
        request,
        store.read(case, "case"),
        theirs.version,
        body,
        f"{_what(form)}, put together with the entries of {theirs.changed_by}",
        after=f"/cases/{case}" if after == request.url.path else after,
        together=theirs.changed_by,
    )
    aside = form.get("aside")
    if isinstance(aside, str) and aside and answer.status_code < 400:
        let_go(store, case, aside, person_of(request).account)
    return answer


def resolved(base: Body, theirs: Body, mine: Body, choices: dict[str, Any]) -> Body:
    """Return the merged body with a choice made at each clash; without one it is mine.

    The choices are named ``choice.0`` and so on, in the order of the clashes.
    """
    merged = merge(base, theirs, mine)
    body, gone = deepcopy(merged.body), []
    for place, clash in enumerate(merged.clashes):
        choice = choices.get(f"choice.{place}", "mine")
        sides = {"theirs": clash.theirs, "base": clash.base}
        value = sides.get(choice, clash.mine)
        if value is ABSENT:
            gone.append(clash.path)
            continue
        _put(body, _steps(clash.path), deepcopy(value))
        if choice == "both" and may_keep_both(clash):
            _add_beside(body, _steps(clash.path), deepcopy(clash.theirs))
    for path in reversed(gone):  # from the end, so that the places before stay where they are
        _take_out(body, _steps(path))
    return body


def _add_beside(body: Body, steps: list[str | int], row: Body) -> None:
    rows = _reach(body, steps[:-1])
    taken = {one.get("id") for one in rows if isinstance(one, dict)}
    n = 2
    while f"{row['id']}-{n}" in taken:
        n += 1
    row["id"] = f"{row['id']}-{n}"
    rows.append(row)


def _put(body: Body, steps: list[str | int], value: object) -> None:
    here = _reach(body, steps[:-1])
    here[steps[-1]] = value


def _take_out(body: Body, steps: list[str | int]) -> None:
    here, last = _reach(body, steps[:-1]), steps[-1]
    if isinstance(here, dict):
        here.pop(last, None)
    else:
        del here[last]


def _reach(body: Body, steps: list[str | int]) -> Any:
    here: Any = body
    for step in steps:
        here = here[step]
    return here


def _steps(path: str) -> list[str | int]:
    found = re.findall(r"\[(\d+)\]|([^.\[]+)", path)
    return [int(number) if number else name for number, name in found]


def _mine(form: FormData) -> Body:
    given = form.get("mine")
    try:
        data = json.loads(given) if isinstance(given, str) else None
    except (json.JSONDecodeError, RecursionError):
        data = None
    if not isinstance(data, dict):
        raise HTTPException(422, "mine: the form has to carry your version; go back and try again.")
    return plain_body(data)


def _number(form: FormData, key: str) -> int:
    given = form.get(key)
    if not isinstance(given, str) or not re.fullmatch(r"[0-9]{1,9}", given):
        raise HTTPException(422, f"{key}: expected the number of a version.")
    return int(given)
