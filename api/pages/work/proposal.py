"""Pages: the written proposal. Own words beside what was derived, and the documents."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from datetime import date
from functools import partial
from typing import Any

from fastapi import APIRouter, Request
from fastapi.responses import JSONResponse, RedirectResponse, Response

from leastwise.api.asking.weighty import Weighty, look, work
from leastwise.api.documents.proposal_figures import photograph_figures, photograph_of
from leastwise.api.documents.proposal_html import POLICY
from leastwise.api.documents.proposal_make import FORMS, Pieces, Proposal, put_together, written
from leastwise.api.documents.proposal_plain import set_out
from leastwise.api.http.state import adviser_of, settings_of, shelf_of, store_of
from leastwise.api.identity.access import Access, Action
from leastwise.api.pages.forms import Form, version_of, wants_json
from leastwise.api.pages.kept_document import written_once
from leastwise.api.pages.opened import Opened, answer_of, not_yet, open_document
from leastwise.api.pages.page import check_form, render
from leastwise.api.pages.picture import picture_of
from leastwise.api.pages.work.plan_patience import patiently, plan_of
from leastwise.api.pages.work.proposal_words import (
    MOST_OF_A_LINE,
    Kept,
    WordsKept,
    keep_words,
    sent_words,
    words_of,
)
from leastwise.api.services.approvals import reviews_against
from leastwise.api.services.reviewing import Review, reviews_of
from leastwise.graph import Adviser, Case
from leastwise.graph.proposal.report.choice import Work
from leastwise.graph.proposal.report.make import MAY_REPLACE, make_report, make_work
from leastwise.graph.proposal.report.reviews import Reviews
from leastwise.graph.proposal.report.values import Edition, Report
from leastwise.graph.proposal.report.words import SECTION_KEYS
from leastwise.graph.reviewing.content_hash import canonical

__all__ = ["ACCESS", "proposal_of", "router"]

router = APIRouter(tags=["pages"], include_in_schema=False, route_class=Weighty)
ACCESS: Access = {
    "GET /cases/{case}/proposal": Action.READ_CASE,
    "POST /cases/{case}/proposal": Action.WRITE_CASE,
    **{f"GET /cases/{{case}}/proposal.{form}": Action.READ_CASE for form in FORMS},
}
TITLE = "Proposal"
#: What to write in each section, where that isn't plain from its title.
HINTS = {
    "people": "What else people at this object have to know.",
    "purpose": "Why this proposal is written, and for whom.",
    "identification": "What else tells this object from others.",
    "images": "Where images before treatment are kept, if not here.",
    "methods": "How the object was looked at: light, magnification, analysis, who and when.",
    "observation": "What you saw, without what you make of it.",
    "interpretation": "What you make of it: causes, age, use.",
    "options": "What else was weighed, and how it was decided.",
    "cost": "Due if the work is contractual.",
    "compensation": "Where a loss is filled, how the fill is told from the original and undone.",
    "approvals": "Who has the authority to approve, and how that was checked.",
}
LINES = (
    ("owner", "Owner, if another than the keeper", "identification"),
    ("maker", "Maker, or that none is known", "identification"),
    ("size", "Size, with units", "identification"),
    ("marks", "Marks and inscriptions, or that there are none", "identification"),
    ("accessories", "Accessories", "identification"),
    ("approver", "Name of the owner or authorised custodian", "approvals"),
    ("responsible", "Name of the conservator responsible", "approvals"),
)
WORK_KINDS = "proposal work"
#: For each damage what may be chosen: the value in the form, and its words.
Choices = dict[str, list[tuple[str, str]]]


@router.get("/cases/{case}/proposal")
def show_proposal(request: Request, case: str, *, wait: bool = False) -> Response:
    """Show the editor; while the plan is being worked out, that it is."""
    opened = open_document(request, case)
    if opened.case is None:
        return not_yet(request, opened, "proposal", TITLE)
    kept = words_of(request, case)
    made: tuple[Choices, Report] | None
    if wait:
        made = _made(request, opened, kept)
    else:
        made = patiently(request, lambda: _made(request, opened, kept))
    if made is None:
        return render(
            request,
            "proposal.html",
            title=TITLE,
            step="proposal",
            document=opened.document,
            plain=None,
            again=f"/cases/{case}/proposal?wait=true",
        )
    return _editor(request, opened, kept, made)


@router.post("/cases/{case}/proposal")
def keep_proposal(request: Request, case: str, form: Form) -> Response:
    """Keep own words and choices; answer the browser or the script."""
    check_form(request, form.get("form_token"))
    opened = open_document(request, case)
    if opened.case is None:
        return not_yet(request, opened, "proposal", TITLE)
    base = version_of(form)
    options: dict[str, list[str]] = {
        d.id: [o.id for o in d.options] for d in answer_of(request, opened).damages
    }
    texts, errors = sent_words(form, options)
    if errors:
        return _wrong(request, opened, texts, errors, base)
    kept = keep_words(request, case, base, texts)
    if kept.clashes is not None:
        return _clash(request, opened, texts, kept)
    if wants_json(request):
        return JSONResponse(_reply(kept, texts))
    return RedirectResponse(f"/cases/{case}/proposal", 303)


def _reply(kept: Kept, texts: Mapping[str, str]) -> dict[str, Any]:
    anew = any(kept.now.texts.get(key, "") != text for key, text in texts.items())
    at = kept.now.changed
    return {
        "version": kept.now.version,
        "saved_at": at.isoformat() if at else "",
        "errors": {},
        "together": kept.together,
        "anew": anew or bool(kept.together),
    }


def _wrong(
    request: Request, opened: Opened, texts: dict[str, str], errors: dict[str, str], base: int
) -> Response:
    now = words_of(request, opened.id)
    if wants_json(request):
        at = now.changed.isoformat() if now.changed else ""
        return JSONResponse({"version": base, "saved_at": at, "errors": errors,
                             "detail": " ".join(errors.values())}, 422)  # fmt: skip
    made = _made(request, opened, now)
    return _editor(request, opened, now, made, typed=texts, errors=errors, base=base, status=422)


def _clash(request: Request, opened: Opened, texts: dict[str, str], kept: Kept) -> Response:
    clashes, who = kept.clashes or {}, kept.now.changed_by
    if wants_json(request):
        detail = f"{who} changed the same texts."
        return JSONResponse({"status": 409, "detail": detail, "places": sorted(clashes)}, 409)
    errors = {
        key: f"{who} has kept another text meanwhile: “{text or 'nothing'}”. Keep again to put "
        "yours in its place."
        for key, text in clashes.items()
    }
    made = _made(request, opened, kept.now)
    return _editor(request, opened, kept.now, made, typed=texts, errors=errors, status=409)


def _editor(  # noqa: PLR0913 - what the page is told by
    request: Request,
    opened: Opened,
    kept: WordsKept,
    made: tuple[Choices, Report],
    *,
    typed: Mapping[str, str] | None = None,
    errors: Mapping[str, str] | None = None,
    base: int | None = None,
    status: int = 200,
) -> Response:
    choices, report = made
    plain = set_out(report, kept=True)
    texts = {**kept.texts, **(typed or {})}
    known = {c.damage for c in report.chosen}
    loose = {
        key: text for key, text in texts.items()
        if key.startswith("reason:") and key.partition(":")[2] not in known
    }  # fmt: skip
    return render(
        request,
        "proposal.html",
        title=TITLE,
        step="proposal",
        document=opened.document,
        status=status,
        picture=picture_of(request, opened.document),
        plain=plain,
        numbers={s["key"]: s["number"] for s in plain["sections"]},
        report=report,
        choices=choices,
        texts=texts,
        errors=dict(errors or {}),
        version=kept.version if base is None else base,
        kept=kept,
        hints=HINTS,
        short=LINES,
        may_write=SECTION_KEYS,
        may_replace=MAY_REPLACE,
        most_of_a_line=MOST_OF_A_LINE,
        loose=loose,
        forms=tuple(FORMS),
    )


def _choices(made: Work) -> Choices:
    """Return for each damage what may be chosen; the plan's choice is the empty value."""
    found = {}
    for damage in made.damages:
        planned = made.planned.get(damage.id, "")
        first = made.choices.options[planned].label if planned else "nothing may be planned yet"
        rows = [("", f"The plan's choice: {first}")]
        rows += [
            (o.id, f"{o.label}: {o.verdict}, burden {o.burden:.2f}")
            for o in damage.options
            if o.id != planned
        ]
        found[damage.id] = rows
    return found


def _made(request: Request, opened: Opened, kept: WordsKept) -> tuple[Choices, Report]:
    """Return the proposal as the editor shows it, without its drawings; made once a version."""
    pictures = store_of(request).pictures(opened.id)
    named = [(p.name, p.stage) for p in pictures]
    said = reviews_of(store_of(request), opened.id)

    def make() -> tuple[Choices, Report]:
        reviews = _reviews(request, opened, kept, said)
        given = _pieces(request, opened, kept, reviews), named
        return work(request, _shown, opened.case, *given, policy="")

    adviser = adviser_of(request)
    key = (
        WORK_KINDS, opened.id, opened.document.version, opened.digest, kept.record, kept.version,
        tuple(named), adviser.knowledge.digest, adviser.rules.digest, _told(said),
        _sketches(request, opened),
    )  # fmt: skip
    return shelf_of(request).get(key, make, partial(look, request))


def _shown(
    adviser: Adviser, case: Case, given: Pieces, named: list[tuple[str, str]]
) -> tuple[Choices, Report]:
    """Return the proposal with the captions of its photographs alone."""
    made = make_work(case, adviser, given.words, answer=given.answer, plan=given.plan)
    report = make_report(
        made,
        given.edition,
        figures={"images": photograph_figures(named)},
        pictures_before=sum(stage == "before" for _, stage in named),
        reviews=given.reviews,
    )
    return _choices(made), report


def _told(said: list[Review]) -> tuple[tuple[str, int], ...]:
    """Return what tells whether anything was said since: every record with its version."""
    return tuple((d.id, d.version) for one in said for d in (one.frozen.document, *one.entries))


def _sketches(request: Request, opened: Opened) -> tuple[tuple[str, int], ...]:
    found = store_of(request).of_case(opened.id, "sketch")
    return tuple((one.id, one.version) for one in found)


def _reviews(request: Request, opened: Opened, kept: WordsKept, said: list[Review]) -> Reviews:
    """Return what was said in Review, held against the text of now."""
    adviser = adviser_of(request)
    now = replace(
        _edition(opened, kept),
        knowledge=adviser.knowledge.digest,
        rules=adviser.rules.digest,
        policy=answer_of(request, opened).policy.label,
    )
    return reviews_against(said, now, lambda: _hash_now(request, opened, kept))


def _hash_now(request: Request, opened: Opened, kept: WordsKept) -> str:
    """Return the content hash that the proposal would have if it were frozen now."""
    base, adviser = settings_of(request).base, adviser_of(request)

    def make() -> str:
        given = _with_figures(request, opened, kept), base
        return work(request, _hash_of, opened.case, *given, policy="")

    pictures = tuple((p.id, p.name, p.stage) for p in store_of(request).pictures(opened.id))
    key = (
        "proposal hash", opened.id, opened.document.version, opened.digest, kept.record,
        kept.version, pictures, _sketches(request, opened), adviser.knowledge.digest,
        adviser.rules.digest, base,
    )  # fmt: skip
    return shelf_of(request).get(key, make, partial(look, request))


def _hash_of(adviser: Adviser, case: Case, given: Pieces, base: str) -> str:
    return canonical(written(adviser, case, given, "jsonld", base).decode()).sha256


def _pieces(
    request: Request, opened: Opened, kept: WordsKept, reviews: Reviews | None = None
) -> Pieces:
    """Return what the proposal is put together from, without its figures."""
    return Pieces(
        kept.words,
        answer_of(request, opened),
        plan_of(request, opened, undecided=True),
        _edition(opened, kept),
        photographs={},
        reviews=reviews,
    )


def _edition(opened: Opened, kept: WordsKept) -> Edition:
    """Return the versions, dated by the last change, so that a version is always the same."""
    changed = opened.document.changed
    if kept.changed is not None:
        changed = max(changed, kept.changed)
    day: date = changed.date()
    return Edition(day.isoformat(), opened.digest, opened.document.version, kept.version)


# -- the documents


def _document(request: Request, case: str, form: str) -> Response:
    opened = open_document(request, case)
    if opened.case is None:
        return not_yet(request, opened, "proposal", TITLE)
    kept = words_of(request, opened.id)
    reviews = _reviews(request, opened, kept, reviews_of(store_of(request), opened.id))
    pieces = _with_figures(request, opened, kept, reviews)
    version = pieces.edition.version.replace(".", "-")
    shown = "inline" if form in ("pdf", "html") else "attachment"
    headers = {"content-disposition": f'{shown}; filename="{opened.case.id}-{version}.{form}"'}
    if form == "html":
        headers["content-security-policy"] = f"{POLICY}; frame-ancestors 'none'"
    made = written_once(request, form, written, opened.case, pieces)
    return Response(made, media_type=FORMS[form], headers=headers)


def proposal_of(request: Request, opened: Opened) -> tuple[Proposal, str]:
    """Return the proposal of a case as it stands, with its figures, and as linked data.

    It is the text before anybody has signed; that is what is frozen.
    """
    pieces = _with_figures(request, opened, words_of(request, opened.id))
    return work(request, _both, opened.case, pieces, settings_of(request).base, policy="")


def _both(adviser: Adviser, case: Case, given: Pieces, base: str) -> tuple[Proposal, str]:
    made = put_together(adviser, case, given)
    return made, made.written("jsonld", base).decode()


def _with_figures(
    request: Request, opened: Opened, kept: WordsKept, reviews: Reviews | None = None
) -> Pieces:
    """Return what the proposal is put together from, with photographs and sketch."""
    store = store_of(request)
    photographs = {}
    for listed in store.pictures(opened.id):
        one = store.picture(opened.id, listed.id)
        photographs[one.id] = photograph_of(one)
    sketches = store.of_case(opened.id, "sketch")
    sketch = sketches[-1].body if sketches else None
    pieces = _pieces(request, opened, kept, reviews)
    return replace(pieces, photographs=photographs, sketch=sketch)


@router.get("/cases/{case}/proposal.pdf")
def proposal_as_pdf(request: Request, case: str) -> Response:
    """Return the proposal as a tagged PDF."""
    return _document(request, case, "pdf")


@router.get("/cases/{case}/proposal.docx")
def proposal_as_docx(request: Request, case: str) -> Response:
    """Return the proposal as a Word document."""
    return _document(request, case, "docx")


@router.get("/cases/{case}/proposal.html")
def proposal_as_html(request: Request, case: str) -> Response:
    """Return the proposal as one HTML file that stands alone."""
    return _document(request, case, "html")


@router.get("/cases/{case}/proposal.jsonld")
def proposal_as_jsonld(request: Request, case: str) -> Response:
    """Return the proposal as linked data."""
    return _document(request, case, "jsonld")
