"""Pages: the final treatment record, to be read and printed, and as documents to be kept."""

from __future__ import annotations

import json
from datetime import UTC, datetime

from fastapi import APIRouter, Request
from fastapi.responses import Response

from leastwise.api.asking.weighty import Weighty
from leastwise.api.documents.proposal_figures import photograph_of
from leastwise.api.documents.record_make import RECORD_FORMS, RecordPieces, record_written
from leastwise.api.drawings.readings import reading_charts
from leastwise.api.http.state import adviser_of, store_of
from leastwise.api.identity.access import Access, Action
from leastwise.api.pages.kept_document import written_once
from leastwise.api.pages.log.fields import FINAL, LISTINGS
from leastwise.api.pages.log.log import TITLE, Log, in_words, log_opened, shown
from leastwise.api.pages.log.warned import warnings_of
from leastwise.api.pages.opened import not_yet, open_document
from leastwise.api.pages.page import render
from leastwise.api.services.treatment_log import log_of
from leastwise.graph.proposal.report.values import Edition
from leastwise.graph.treatment.record import missing_in
from leastwise.graph.treatment.report import Treatment

__all__ = ["ACCESS", "router"]

router = APIRouter(tags=["pages"], include_in_schema=False, route_class=Weighty)
ACCESS: Access = {
    "GET /cases/{case}/log/record": Action.READ_CASE,
    "GET /cases/{case}/log/record.json": Action.READ_CASE,
    **{f"GET /cases/{{case}}/log/record.{form}": Action.READ_CASE for form in RECORD_FORMS},
}


@router.get("/cases/{case}/log/record")
def show_record(request: Request, case: str) -> Response:
    """Show the final record, to be read and printed."""
    opened = open_document(request, case)
    if opened.case is None:
        return not_yet(request, opened, "log", TITLE)
    log = log_opened(request, opened)
    pictures = store_of(request).pictures(opened.id)
    return render(
        request,
        "log-record.html",
        title="Treatment record",
        step="log",
        document=opened.document,
        log=log,
        case=log.case,
        listings=LISTINGS,
        rows={key: shown(key, log) for key in LISTINGS},
        final=[(f.label, in_words(f, log.body.get("final", {}).get(f.name))) for f in FINAL],
        missing=missing_in(log.record, log.case, {p.stage for p in pictures}, log.planned),
        pictures=pictures,
        charts=reading_charts(log.record.readings, {p.id: p.name for p in log.case.parts}),
        forms=tuple(RECORD_FORMS),
        warnings=warnings_of(log.record, adviser_of(request).knowledge),
        today=datetime.now(UTC).date().isoformat(),
    )


@router.get("/cases/{case}/log/record.json")
def record_json(request: Request, case: str) -> Response:
    """Return the treatment record as JSON, with the case that it belongs to."""
    store = store_of(request)
    document, log = store.read(case, "case"), log_of(store, case)
    whole = {
        "case": document.body,
        "case_version": document.version,
        "treatment": log.body if log else {},
        "treatment_version": log.version if log else 0,
    }
    text = json.dumps(whole, ensure_ascii=False, indent=1, sort_keys=True) + "\n"
    name = f'attachment; filename="treatment-{document.id}.json"'
    return Response(text, media_type="application/json", headers={"content-disposition": name})


def _document(request: Request, case: str, form: str) -> Response:
    opened = open_document(request, case)
    if opened.case is None:
        return not_yet(request, opened, "log", TITLE)
    given = _given(request, log_opened(request, opened))
    version = given.edition.version.replace(".", "-")
    shown = "inline" if form == "pdf" else "attachment"
    name = f'{shown}; filename="treatment-{opened.case.id}-{version}.{form}"'
    return Response(
        written_once(request, form, record_written, given),
        media_type=RECORD_FORMS[form],
        headers={"content-disposition": name},
    )


def _given(request: Request, log: Log) -> RecordPieces:
    """Return what the record is made of, dated by its last change, so that a version stays so."""
    store, opened = store_of(request), log.opened
    found = (store.picture(opened.id, listed.id) for listed in store.pictures(opened.id))
    photographs = [photograph_of(p) for p in found]
    lacks = missing_in(log.record, log.case, {p.stage for p in photographs}, log.planned)
    treated = Treatment(log.case, log.work.answer, log.record, log.planned, lacks)
    changed = opened.document.changed
    if log.document is not None:
        changed = max(changed, log.document.changed)
    edition = Edition(
        changed.date().isoformat(),
        opened.digest,
        opened.document.version,
        log.document.version if log.document else 0,
    )
    return RecordPieces(treated, tuple(photographs), edition)


@router.get("/cases/{case}/log/record.pdf")
def record_as_pdf(request: Request, case: str) -> Response:
    """Return the treatment record as a tagged PDF."""
    return _document(request, case, "pdf")


@router.get("/cases/{case}/log/record.docx")
def record_as_docx(request: Request, case: str) -> Response:
    """Return the treatment record as a Word document."""
    return _document(request, case, "docx")


@router.get("/cases/{case}/log/record.jsonld")
def record_as_jsonld(request: Request, case: str) -> Response:
    """Return the treatment record as linked data."""
    return _document(request, case, "jsonld")
