"""Pages: the treatment log, the final record, and what has to be looked at again."""

from __future__ import annotations

import json
from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import UTC, datetime
from typing import Any

from fastapi import APIRouter, HTTPException, Request
from fastapi.responses import RedirectResponse, Response
from starlette.datastructures import FormData

from leastwise.api.asking.weighty import Weighty
from leastwise.api.drawings.readings import reading_charts
from leastwise.api.http.state import adviser_of, store_of
from leastwise.api.identity.access import Access, Action
from leastwise.api.identity.people import person_of
from leastwise.api.pages.fields import clean
from leastwise.api.pages.forms import Form
from leastwise.api.pages.log.fields import FINAL, LISTINGS, Field, Work, fields_of
from leastwise.api.pages.log.warned import warnings_of
from leastwise.api.pages.opened import Opened, answer_of, not_yet, open_document
from leastwise.api.pages.page import check_form, render
from leastwise.api.pages.work import plan_patience
from leastwise.api.services.experience import LOG
from leastwise.api.services.treatment_log import Changed, LogWriter, log_of
from leastwise.api.store import Document
from leastwise.api.store.records.visible import documents_of_kind
from leastwise.graph import Case
from leastwise.graph.errors import Fault, LeastwiseError
from leastwise.graph.treatment.record import (
    FollowUp,
    TreatmentError,
    TreatmentRecord,
    due,
    missing_in,
    treatment_from_data,
)

__all__ = ["ACCESS", "TITLE", "Log", "in_words", "log_opened", "router", "shown"]

router = APIRouter(tags=["pages"], include_in_schema=False, route_class=Weighty)
ACCESS: Access = {
    "GET /follow-ups": Action.LIST_CASES,
    "GET /cases/{case}/log": Action.READ_CASE,
    "POST /cases/{case}/log/final": Action.WRITE_CASE,
    "POST /cases/{case}/log/{listing}": Action.WRITE_CASE,
    "GET /cases/{case}/log/{listing}/{entry}": Action.READ_CASE,
    "POST /cases/{case}/log/{listing}/{entry}": Action.WRITE_CASE,
}
TITLE = "Treatment log"
HORIZON_DAYS = 400


@dataclass(frozen=True)
class Log:
    """A case with its work and its treatment record."""

    opened: Opened
    case: Case
    work: Work
    document: Document | None
    record: TreatmentRecord
    body: Mapping[str, Any] = field(default_factory=dict)

    @property
    def planned(self) -> dict[str, str]:
        """Return the options of the plan, in order, with the labels of their techniques."""
        return {option: step.label for step in self.work.plan.steps for option in step.options}


def log_opened(request: Request, opened: Opened) -> Log:
    """Return the treatment record of a case that can be weighed."""
    case = opened.case
    assert case is not None  # noqa: S101 - the callers ask first
    plan = plan_patience.plan_of(request, opened, undecided=True)
    work = Work(case, plan, answer_of(request, opened))
    document = log_of(store_of(request), opened.id)
    body = document.body if document else {}
    # the case may have changed since: what no longer fits is still shown
    return Log(opened, case, work, document, treatment_from_data(body), body)


@router.get("/cases/{case}/log")
def show_log(request: Request, case: str) -> Response:
    """Show the running record, with a form for each list and what is still missing."""
    opened = open_document(request, case)
    if opened.case is None:
        return not_yet(request, opened, "log", TITLE)
    return _page(request, log_opened(request, opened))


def _page(  # noqa: PLR0913 - what the page is told by
    request: Request,
    log: Log,
    *,
    listing: str = "",
    values: dict[str, str] | None = None,
    errors: dict[str, str] | None = None,
    said: str = "",
    status: int = 200,
) -> Response:
    today = datetime.now(UTC).date().isoformat()
    usual = {"date": today, "by": person_of(request).name, "state": "done", "recorder": ""}
    pictures = store_of(request).pictures(log.opened.id)
    stages = {picture.stage for picture in pictures}
    return render(
        request,
        "log.html",
        title=TITLE,
        status=status,
        step="log",
        document=log.opened.document,
        log=log,
        listings=LISTINGS,
        fields={key: fields_of(key, log.work) for key in LISTINGS},
        rows={key: shown(key, log) for key in LISTINGS},
        final=FINAL,
        final_values=_as_text(log.body.get("final", {})),
        usual=usual,
        at=listing,
        values=values or {},
        errors=errors or {},
        said=said,
        missing=missing_in(log.record, log.case, stages, log.planned),
        charts=reading_charts(log.record.readings, {p.id: p.name for p in log.case.parts}),
        pictures=pictures,
        warnings=warnings_of(log.record, adviser_of(request).knowledge),
    )


def shown(listing: str, log: Log) -> list[tuple[str, list[tuple[str, str]]]]:
    """Return (id, (label, words)) of each entry, as a table shows it."""
    fields = fields_of(listing, log.work)
    return [
        (entry["id"], [(f.label, in_words(f, entry.get(f.name))) for f in fields])
        for entry in log.body.get(listing, [])
    ]


def in_words(one: Field, value: Any) -> str:
    """Return a value as a reader sees it: the words of a choice, a number with its unit."""
    if value in (None, ""):
        return dict(one.options).get("", "") if one.options else ""
    plain = f"{value:g}" if isinstance(value, float) else str(value)
    said = dict(one.options).get(plain, plain)
    return f"{said} {one.unit}" if one.unit else said


def _as_text(entry: dict[str, Any]) -> dict[str, str]:
    return {key: "" if value is None else str(value) for key, value in entry.items()}


def _entry(form: FormData, fields: tuple[Field, ...]) -> tuple[dict[str, Any], dict[str, str]]:
    """Return an entry as the record holds it, and as it was typed."""
    entry: dict[str, Any] = {}
    typed: dict[str, str] = {}
    for one in fields:
        given = form.get(one.name)
        text = clean(given).strip() if isinstance(given, str) else ""
        typed[one.name] = text
        if one.kind == "number":
            entry[one.name] = _number(text) if text else None
        elif one.kind == "date" and not text:
            entry[one.name] = None
        else:
            entry[one.name] = text
    return entry, typed


def _number(text: str) -> float | str:
    """Return a number, or the text as typed, so that the error can show it."""
    try:
        return float(text.replace(",", "."))
    except ValueError:
        return text


#: What a field of the log takes, told where what was typed isn't of its form.
ACCEPTED = {
    "time": "a time such as 14:30",
    "value": "a number",
    "unit": "a unit, such as %, °C, min or g",
}


def _errors(error: TreatmentError, listing: str) -> dict[str, str]:
    """Return field -> sentence for the entry that was sent: it is the last, or the changed one."""
    found: dict[str, str] = {}
    for problem in error.problems:
        name = problem.path.rpartition(".")[2]
        if problem.path.startswith(listing.rstrip("[")):
            accepted = problem.accepted
            if problem.kind is not Fault.MEANING:
                accepted = ACCEPTED.get(name, accepted)
            found.setdefault(name, f"Got {problem.given}; expected {accepted}.")
    return found or {"": str(error)}


def _prepared(request: Request, case: str, form: FormData, listing: str) -> Log:
    check_form(request, form.get("form_token"))
    if listing not in LISTINGS:
        raise HTTPException(404, f"There is no list {listing!r} in a treatment log.")
    opened = open_document(request, case)
    if opened.case is None:
        raise HTTPException(409, "The record of the case is not complete enough for a log yet.")
    return log_opened(request, opened)


def _writer(request: Request, log: Log) -> LogWriter:
    return LogWriter(store_of(request), log.case, log.opened.id, person_of(request).account)


@router.post("/cases/{case}/log/final")
def keep_final(request: Request, case: str, form: Form) -> Response:
    """Keep the final record's own words."""
    log = _prepared(request, case, form, "steps")
    entry, typed = _entry(form, FINAL)
    before = _before(form)
    try:
        _writer(request, log).set_final(before, entry)
    except TreatmentError as error:
        errors = _errors(error, "final")
        return _page(request, log, listing="final", values=typed, errors=errors, status=422)
    except Changed as changed:
        said = f"{changed} Theirs reads: {_told(changed.theirs)}"
        log = log_opened(request, log.opened)
        return _page(request, log, listing="final", values=typed, said=said, status=409)
    return RedirectResponse(f"/cases/{case}/log#final", 303)


@router.post("/cases/{case}/log/{listing}")
def add(request: Request, case: str, listing: str, form: Form) -> Response:
    """Add an entry to one of the lists."""
    log = _prepared(request, case, form, listing)
    entry, typed = _entry(form, fields_of(listing, log.work))
    try:
        _writer(request, log).add(listing, entry)
    except TreatmentError as error:
        errors = _errors(error, f"{listing}[")
        return _page(request, log, listing=listing, values=typed, errors=errors, status=422)
    return RedirectResponse(f"/cases/{case}/log#{listing}", 303)


@router.get("/cases/{case}/log/{listing}/{entry}")
def show_entry(request: Request, case: str, listing: str, entry: str) -> Response:
    """Show one entry with its fields, to be changed or struck out."""
    opened = open_document(request, case)
    if opened.case is None:
        return not_yet(request, opened, "log", TITLE)
    log = log_opened(request, opened)
    found = _find(log, listing, entry)
    return _entry_page(request, log, listing, found, _as_text(found))


def _find(log: Log, listing: str, entry: str) -> dict[str, Any]:
    rows = log.body.get(listing, []) if listing in LISTINGS else []
    found: dict[str, Any] | None = next((row for row in rows if row["id"] == entry), None)
    if found is None:
        raise HTTPException(404, f"There is no entry {entry!r} in this list.")
    return found


def _entry_page(  # noqa: PLR0913 - what the page is told by
    request: Request,
    log: Log,
    listing: str,
    before: dict[str, Any],
    values: dict[str, str],
    *,
    errors: dict[str, str] | None = None,
    said: str = "",
    status: int = 200,
) -> Response:
    return render(
        request,
        "log-entry.html",
        title=f"{LISTINGS[listing].one.capitalize()} {before['id']}",
        status=status,
        step="log",
        document=log.opened.document,
        listing=LISTINGS[listing],
        fields=fields_of(listing, log.work),
        entry=before,
        before=json.dumps({k: v for k, v in before.items() if k != "id"}, sort_keys=True),
        values=values,
        errors=errors or {},
        said=said,
    )


def _before(form: FormData) -> dict[str, Any]:
    """Return the entry as the form was made from."""
    given = form.get("before")
    try:
        found = json.loads(given) if isinstance(given, str) else {}
    except ValueError:
        return {}
    return found if isinstance(found, dict) else {}


@router.post("/cases/{case}/log/{listing}/{entry}")
def change(request: Request, case: str, listing: str, entry: str, form: Form) -> Response:
    """Change an entry, or strike it out; the history keeps what it was."""
    log = _prepared(request, case, form, listing)
    before = _before(form)
    after, typed = _entry(form, fields_of(listing, log.work))
    wanted = None if form.get("strike") else after
    try:
        _writer(request, log).change(listing, entry, before, wanted)
    except TreatmentError as error:
        errors = _errors(error, f"{listing}[")
        found = {**before, "id": entry}
        return _entry_page(request, log, listing, found, typed, errors=errors, status=422)
    except Changed as changed:
        if changed.theirs is None:
            raise HTTPException(409, f"{changed} What you typed: {_told({**typed})}") from changed
        said = f"{changed} Theirs reads: {_told(changed.theirs)}"
        return _entry_page(request, log, listing, changed.theirs, typed, said=said, status=409)
    return RedirectResponse(f"/cases/{case}/log#{listing}", 303)


def _told(entry: dict[str, Any] | None) -> str:
    return "; ".join(f"{k.replace('_', ' ')}: {v}" for k, v in (entry or {}).items() if v)


# -- what has to be looked at again


@dataclass(frozen=True, slots=True)
class Reminder:
    """A follow-up with the case it belongs to; *days* are negative when it is overdue."""

    days: int
    case: str
    title: str
    follow_up: FollowUp


@router.get("/follow-ups")
def follow_ups(request: Request) -> Response:
    """List what has to be looked at again, over all cases that one may see."""
    person, store = person_of(request), store_of(request)
    logs = documents_of_kind(store, LOG, None if person.sees_all else person.account)
    records: dict[str, TreatmentRecord] = {}
    for log in logs:
        try:
            records[log.case] = treatment_from_data(log.body)
        except LeastwiseError:  # a record that was brought in from elsewhere; its own page says so
            continue
    found = due(records, datetime.now(UTC).date(), HORIZON_DAYS)
    titles = {case: store.read(case, "case").title for case in {case for _, case, _ in found}}
    return render(
        request,
        "follow-ups.html",
        title="Follow-up",
        step="follow-ups",
        reminders=[Reminder(days, case, titles[case], one) for days, case, one in found],
    )
