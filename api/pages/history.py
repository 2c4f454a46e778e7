"""The history of a case: who changed what and when, the record as it was, an old version again."""

from __future__ import annotations

from collections.abc import Sequence
from copy import deepcopy
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Annotated, Final

from fastapi import APIRouter, Path, Query, Request
from fastapi.responses import HTMLResponse, Response

from leastwise.api.http.state import adviser_of, store_of
from leastwise.api.identity.access import ALLOWED, Access, Action
from leastwise.api.identity.people import person_of
from leastwise.api.pages.entry.check import check_draft
from leastwise.api.pages.entry.overview import overview_of
from leastwise.api.pages.entry.words import Change, changes_between
from leastwise.api.pages.forms import Form, keep_body, next_of, version_of
from leastwise.api.pages.page import check_form, render
from leastwise.api.store import Event
from leastwise.graph.knowledge.knowledge import Knowledge

__all__ = ["ACCESS", "Sitting", "router", "sittings_of"]

router = APIRouter(tags=["pages"], include_in_schema=False)
ACCESS: Access = {
    "GET /cases/{case}/history": Action.READ_CASE,
    "GET /cases/{case}/history/{version}": Action.READ_CASE,
    "POST /cases/{case}/history/{version}": Action.WRITE_CASE,
}

#: Saves of one person in one section belong together if no more time than this lies between.
APART: Final = timedelta(minutes=15)
PAGE, SHOWN = 30, 12

Version = Annotated[int, Path(ge=1, le=10**9)]


@dataclass(frozen=True, slots=True)
class Sitting:
    """Changes that one person made in one go, from *first* to *last*, and what came of them."""

    who: str
    what: str
    begun: datetime
    ended: datetime
    before: int  # the version they began from; 0 for none
    last: int
    changes: tuple[Change, ...] = ()
    further: int = 0


@router.get("/cases/{case}/history")
def history(
    request: Request, case: str, page: Annotated[int, Query(ge=1, le=100_000)] = 1
) -> HTMLResponse:
    """Show every change of the record, newest first."""
    store = store_of(request)
    document, events = store.read(case, "case"), store.history(case)
    found = sittings_of(events)
    some = found[PAGE * (page - 1) : PAGE * page]
    bodies = {event.version: event for event in events}
    knowledge = adviser_of(request).knowledge
    beside = [e for e in store.events_of_case(case, 200) if e.kind != "case"]
    return render(
        request,
        "history.html",
        title="History",
        document=document,
        sittings=[_told(one, bodies, knowledge) for one in some],
        beside=beside if page == 1 else [],
        page=page,
        pages=max(1, -(-len(found) // PAGE)),
    )


def sittings_of(events: Sequence[Event]) -> list[Sitting]:
    """Return the saves gathered into sittings, newest first."""
    found: list[Sitting] = []
    for one in events:
        last = found[-1] if found else None
        if last and (last.who, last.what) == (one.who, one.what) and one.at - last.ended <= APART:
            found[-1] = Sitting(one.who, one.what, last.begun, one.at, last.before, one.version)
        else:
            found.append(
                Sitting(one.who, one.what, one.at, one.at, last.last if last else 0, one.version)
            )
    return found[::-1]


def _told(sitting: Sitting, events: dict[int, Event], knowledge: Knowledge) -> Sitting:
    if not sitting.before:
        return sitting
    before, after = events[sitting.before].body, events[sitting.last].body
    changes = changes_between(before, after, knowledge)
    return Sitting(
        sitting.who,
        sitting.what,
        sitting.begun,
        sitting.ended,
        sitting.before,
        sitting.last,
        tuple(changes[:SHOWN]),
        max(0, len(changes) - SHOWN),
    )


@router.get("/cases/{case}/history/{version}")
def as_it_was(request: Request, case: str, version: Version) -> HTMLResponse:
    """Show the record as it was in a version, and how it differs from now."""
    store, knowledge = store_of(request), adviser_of(request).knowledge
    document, then = store.read(case, "case"), store.as_of(case, version=version)
    return render(
        request,
        "_case-version.html",
        title=f"As it was in version {version}",
        document=document,
        then=then,
        view=overview_of(then, check_draft(then.body, knowledge), knowledge),
        changes=changes_between(then.body, document.body, knowledge),
        may_write=Action.WRITE_CASE in ALLOWED[person_of(request).role],
    )


@router.post("/cases/{case}/history/{version}")
def bring_back(request: Request, case: str, version: Version, form: Form) -> Response:
    """Bring an old version back: as a new version, so that nothing is lost."""
    check_form(request, form.get("form_token"))
    store = store_of(request)
    then = store.as_of(case, version=version)
    after = next_of(request, form) if form.get("next") else f"/cases/{case}/history"
    return keep_body(
        request,
        store.read(case, "case"),
        version_of(form),
        deepcopy(then.body),
        f"version {version} brought back",
        after=after,
        touched=tuple(then.body),
    )
