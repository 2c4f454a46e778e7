"""Pages: a proposal frozen for review, what reviewers say of it, and what follows from that."""

from __future__ import annotations

from dataclasses import dataclass
from functools import partial
from typing import Annotated, Any

from fastapi import APIRouter, Path, Query, Request
from fastapi.responses import RedirectResponse, Response
from starlette.datastructures import FormData

from leastwise.api.asking.weighty import Weighty, look, work
from leastwise.api.http.state import adviser_of, settings_of, shelf_of, store_of
from leastwise.api.identity.access import Access, Action
from leastwise.api.identity.people import person_of
from leastwise.api.pages.entry.words import changes_between
from leastwise.api.pages.fields import clean
from leastwise.api.pages.forms import Form
from leastwise.api.pages.opened import answer_of, not_yet, open_document, still_needed
from leastwise.api.pages.page import check_form, render
from leastwise.api.pages.work.plan_patience import plan_of
from leastwise.api.pages.work.proposal import proposal_of
from leastwise.api.pages.work.proposal_words import words_of
from leastwise.api.services.reviewing import (
    DECISIONS,
    STATES,
    VERDICTS,
    Frozen,
    Review,
    Unchanged,
    anchors_of,
    freeze,
    frozen_body,
    frozen_number,
    frozen_of,
    review_of,
    reviews_of,
)
from leastwise.graph import Adviser
from leastwise.graph.ids import OptionId, problem_in_words
from leastwise.graph.proposal.report.make import TITLES
from leastwise.graph.reviewing.annotations import as_annotations, provenance
from leastwise.graph.reviewing.rebuttals import ReviewedVerdict

__all__ = [
    "ACCESS",
    "Number",
    "V",
    "review_numbered",
    "router",
    "text_of",
    "verdicts_of",
    "version_page",
]

router = APIRouter(tags=["pages"], include_in_schema=False, route_class=Weighty)
V = "/cases/{case}/review/{number}"
ACCESS: Access = {
    "GET /cases/{case}/review": Action.READ_CASE,
    "POST /cases/{case}/review": Action.WRITE_CASE,
    f"GET {V}": Action.READ_CASE,
    f"GET {V}/annotations.jsonld": Action.READ_CASE,
    f"GET {V}/provenance.jsonld": Action.READ_CASE,
    f"GET {V}/proposal.jsonld": Action.READ_CASE,
}
TITLE = "Review"
MOST_TEXT = 4000
Number = Annotated[int, Path(ge=1, le=100_000)]


@router.get("/cases/{case}/review")
def show_versions(request: Request, case: str) -> Response:
    """List the frozen versions, with a form to freeze the proposal as it stands."""
    return _versions(request, case)


def _versions(request: Request, case: str, error: str = "", status: int = 200) -> Response:
    opened = open_document(request, case)
    document, reviews = opened.document, reviews_of(store_of(request), case)
    return render(
        request,
        "review.html",
        title=TITLE,
        status=status,
        step="review",
        document=document,
        reviews=list(reversed(reviews)),
        states=STATES,
        error=error,
        **(still_needed(request, opened) if opened.case is None else {"needed": (), "further": ()}),
    )


@router.post("/cases/{case}/review")
def freeze_proposal(request: Request, case: str, form: Form) -> Response:
    """Freeze the proposal as it stands."""
    check_form(request, form.get("form_token"))
    opened = open_document(request, case)
    if opened.case is None:
        return not_yet(request, opened, "review", TITLE)
    proposal, linked = proposal_of(request, opened)
    answer, plan = answer_of(request, opened), plan_of(request, opened, undecided=True)
    body = frozen_body(
        proposal.report,
        linked,
        case=opened.document.body,
        verdicts={o.id: (o.label, o.verdict) for o in answer.options()},
        steps=[(step.number, step.label) for step in plan.steps],
        words=words_of(request, case).texts,
        note=text_of(form, "note"),
    )
    try:
        made = freeze(store_of(request), case, body, person_of(request).account)
    except Unchanged as error:
        return _versions(request, case, str(error), 409)
    return RedirectResponse(f"/cases/{case}/review/{made.number}", 303)


def text_of(form: FormData, name: str) -> str:
    """Return what a field holds, without what no store can hold."""
    given = form.get(name)
    return clean(given).strip() if isinstance(given, str) else ""


# -- one version


@router.get(V)
def show_version(
    request: Request, case: str, number: Number, at: Annotated[str, Query(max_length=300)] = ""
) -> Response:
    """Show a frozen version with all that was said of it; *at* opens a form at that place."""
    return version_page(request, review_numbered(request, case, number), at=at)


def review_numbered(request: Request, case: str, number: int) -> Review:
    """Return what was said of a frozen version of a case."""
    store = store_of(request)
    return review_of(store, frozen_number(store, case, number))


@dataclass(frozen=True, slots=True)
class OptionRow:
    """One option as the table of verdicts shows it."""

    id: str
    label: str
    damage: str
    verdict: str
    chosen: bool
    theirs: ReviewedVerdict | None
    remarks: int


def version_page(  # noqa: PLR0913 - what the page is told by
    request: Request,
    review: Review,
    *,
    at: str = "",
    where: str = "",
    typed: dict[str, str] | None = None,
    errors: dict[str, str] | None = None,
    status: int = 200,
) -> Response:
    """Return the page of a version; *where* names the form that *typed* and *errors* belong to."""
    frozen = review.frozen
    case = frozen.document.case
    return render(
        request,
        "review-version.html",
        title=f"Review of version {frozen.number}",
        status=status,
        step="review",
        document=store_of(request).read(case, "case"),
        review=review,
        frozen=frozen,
        body=frozen.body,
        holds=frozen.holds(),
        states=STATES,
        decisions=DECISIONS,
        verdicts=VERDICTS,
        agreement=review.agreement(),
        at=at if at in anchors_of(frozen) else "",
        where=where,
        typed=typed or {},
        errors=errors or {},
        **_said_of(request, review),
        **_since_then(request, frozen),
    )


def _said_of(request: Request, review: Review) -> dict[str, Any]:
    """Return both verdicts on each option, the chosen ones first, and one's own ratings."""
    theirs = verdicts_of(request, review)
    frozen, me = review.frozen, person_of(request).account
    chosen = set(frozen.body["chosen"].values())
    rows = [
        OptionRow(
            option,
            said["label"],
            OptionId(option).problem,
            said["verdict"],
            option in chosen,
            theirs.get(option),
            len(review.at(f"option:{option}")),
        )
        for option, said in frozen.body["verdicts"].items()
    ]
    mine = next((e for e in review.of("rating") if e.owner == me), None)
    return {
        "rows": sorted(rows, key=lambda r: (r.damage, not r.chosen)),
        "my_ratings": mine.body["verdicts"] if mine else {},
    }


def _since_then(request: Request, frozen: Frozen) -> dict[str, Any]:
    """Return what has changed, and the tests and parts that a reviewer may ask about."""
    adviser = adviser_of(request)
    parts = [(str(p["id"]), str(p["name"])) for p in frozen.body["case"]["parts"]]
    tests = sorted((t.label, t.id) for t in adviser.catalogue.tests.values())
    return {
        "changes": _changes(request, frozen),
        "same_knowledge": frozen.body["knowledge"] == adviser.knowledge.digest,
        "tests": tests,
        "test_labels": {name: label for label, name in tests},
        "parts": parts,
        "part_names": dict(parts),
        "done": _tests_done(request, frozen.document.case),
    }


def verdicts_of(request: Request, review: Review) -> dict[str, ReviewedVerdict]:
    """Return both verdicts on each option that was argued about; worked out once."""
    adviser = adviser_of(request)
    arguments = tuple(e.id for e in review.of("argument"))
    key = ("reviewed", review.frozen.document.id, arguments, adviser.knowledge.digest)

    def make() -> dict[str, ReviewedVerdict]:
        return work(request, _verdicts, review, policy="")

    return shelf_of(request).get(key, make, partial(look, request))


def _verdicts(adviser: Adviser, review: Review) -> dict[str, ReviewedVerdict]:
    return review.verdicts(adviser)


def _tests_done(request: Request, case: str) -> set[tuple[str, str]]:
    """Return (test, part) of the tests that the record holds now."""
    body = store_of(request).read(case, "case").body
    tests = body.get("tests")
    return {
        (str(t.get("test")), str(t.get("part")))
        for t in (tests if isinstance(tests, list) else [])
        if isinstance(t, dict)
    }


@dataclass(frozen=True, slots=True)
class Changes:
    """What changed since the version before, in words."""

    before: int
    record: tuple[Any, ...]
    words: tuple[str, ...]
    chosen: tuple[str, ...]
    verdicts: tuple[str, ...]


def _changes(request: Request, frozen: Frozen) -> Changes | None:
    known = frozen_of(store_of(request), frozen.document.case)
    earlier = [f for f in known if f.number < frozen.number]
    if not earlier:
        return None
    old, new = earlier[-1].body, frozen.body
    label = {**_labels(old), **_labels(new)}
    damages = {**old["chosen"], **new["chosen"]}
    return Changes(
        earlier[-1].number,
        tuple(changes_between(old["case"], new["case"], adviser_of(request).knowledge)),
        tuple(
            TITLES.get(key, key.replace("_", " ").replace(":", ", "))
            for key in sorted({**old["words"], **new["words"]})
            if old["words"].get(key, "") != new["words"].get(key, "")
        ),
        tuple(
            f"{damage.replace('-', ' ')}: {label.get(new['chosen'].get(damage, ''), 'nothing')} "
            f"instead of {label.get(old['chosen'].get(damage, ''), 'nothing')}"
            for damage in damages
            if old["chosen"].get(damage) != new["chosen"].get(damage)
        ),
        tuple(
            f"{said['label']} ({problem_in_words(option)}): "
            f"{said['verdict']}, was {old['verdicts'][option]['verdict']}"
            for option, said in new["verdicts"].items()
            if option in old["verdicts"] and old["verdicts"][option]["verdict"] != said["verdict"]
        ),
    )


def _labels(body: dict[str, Any]) -> dict[str, str]:
    return {option: said["label"] for option, said in body["verdicts"].items()}


@router.get(f"{V}/proposal.jsonld")
def frozen_jsonld(request: Request, case: str, number: Number) -> Response:
    """Return the linked data that was frozen; its RDFC-1.0 hash is the version's."""
    frozen = frozen_number(store_of(request), case, number)
    return Response(frozen.body["jsonld"], media_type="application/ld+json")


@router.get(f"{V}/annotations.jsonld")
def annotations_jsonld(request: Request, case: str, number: Number) -> Response:
    """Return what was said, as W3C Web Annotations."""
    review = review_numbered(request, case, number)
    base = settings_of(request).base
    text = as_annotations(_iri(request, review.frozen), review.said(), base)
    return Response(text, media_type="application/ld+json")


@router.get(f"{V}/provenance.jsonld")
def provenance_jsonld(request: Request, case: str, number: Number) -> Response:
    """Return how the version came about and what became of it, in PROV-O."""
    review = review_numbered(request, case, number)
    frozen = review.frozen
    known = [f for f in frozen_of(store_of(request), case) if f.number < number]
    text = provenance(
        _iri(request, frozen),
        sha256=frozen.sha256,
        by=frozen.document.owner,
        at=frozen.document.created.isoformat(),
        knowledge=frozen.body["knowledge"],
        rules=frozen.body["rules"],
        before=_iri(request, known[-1]) if known else "",
        said=review.said(),
        base=settings_of(request).base,
    )
    return Response(text, media_type="application/ld+json")


def _iri(request: Request, frozen: Frozen) -> str:
    return f"{settings_of(request).base}proposal/{frozen.document.case}/{frozen.number}"
