"""Pages: the arguments on an option of a frozen version, ours and the reviewers'."""

from __future__ import annotations

from functools import partial
from typing import Annotated, Any

from fastapi import APIRouter, HTTPException, Query, Request
from fastapi.responses import RedirectResponse, Response

from leastwise.api.asking.weighty import Weighty, look, work
from leastwise.api.http.state import adviser_of, shelf_of, store_of
from leastwise.api.identity.access import Access, Action
from leastwise.api.pages.forms import Form
from leastwise.api.pages.page import render
from leastwise.api.pages.review.review import Number, V, review_numbered, text_of, verdicts_of
from leastwise.api.pages.review.say import open_review, required, say
from leastwise.api.services.reviewing import Review
from leastwise.graph import Adviser
from leastwise.graph.names import claim_named
from leastwise.graph.reviewing.rebuttals import OPTION, finding_key

__all__ = ["ACCESS", "router"]

router = APIRouter(tags=["pages"], include_in_schema=False, route_class=Weighty)
ACCESS: Access = {
    f"GET {V}/argue": Action.READ_CASE,
    f"POST {V}/arguments": Action.REVIEW_CASE,
}


@router.get(f"{V}/argue")
def argue(
    request: Request, case: str, number: Number, option: Annotated[str, Query(max_length=200)]
) -> Response:
    """Show the arguments on an option, ours and the reviewers', with a form for another."""
    return _argue_page(request, review_numbered(request, case, number), option)


def _argue_page(  # noqa: PLR0913 - what the page is told by
    request: Request,
    review: Review,
    option: str,
    *,
    typed: dict[str, str] | None = None,
    errors: dict[str, str] | None = None,
    status: int = 200,
) -> Response:
    frozen = review.frozen
    if option not in frozen.body["verdicts"]:
        raise HTTPException(404, f"There is no option {option!r} in this version.")
    found = verdicts_of(request, review).get(option)
    targets = _targets(request, review, option)
    return render(
        request,
        "review-argue.html",
        title=f"Arguments on {frozen.body['verdicts'][option]['label']}",
        status=status,
        step="review",
        document=store_of(request).read(frozen.document.case, "case"),
        review=review,
        frozen=frozen,
        option=option,
        said=frozen.body["verdicts"][option],
        found=found,
        standing={s.id: s for s in found.standing} if found else {},
        arguments=review.arguments(option),
        targets=targets,
        target_words=dict(targets),
        typed=typed or {},
        errors=errors or {},
    )


def _targets(request: Request, review: Review, option: str) -> list[tuple[str, str]]:
    """Return what may be attacked, with its words: the option, our findings, others' arguments."""
    adviser = adviser_of(request)
    frozen = review.frozen

    def make() -> list[tuple[str, str]]:
        return work(request, _findings, frozen.body["case"], option, policy="")

    key = ("targets", frozen.document.id, option, adviser.knowledge.digest)
    ours: list[tuple[str, str]] = shelf_of(request).get(key, make, partial(look, request))
    theirs = [(a.id, f"{a.by} says: {a.text}") for a in review.arguments(option)]
    return [(OPTION, "the option itself: a further argument against it"), *ours, *theirs]


def _findings(adviser: Adviser, body: dict[str, Any], option: str) -> list[tuple[str, str]]:
    """Return our findings on an option, by key and words."""
    from leastwise.graph.case.reading import case_from_data  # noqa: PLC0415 - beside its use

    graph = adviser.arguments(case_from_data(body, adviser.knowledge), option)
    told = ((finding_key(a.finding), a.text) for a in graph.arguments.values() if a.finding)
    return list(dict(told).items())


@router.post(f"{V}/arguments")
def add_argument(request: Request, case: str, number: Number, form: Form) -> Response:
    """Add an argument; the verdict with it is worked out and shown as the reviewers'."""
    review = open_review(request, case, number, form)
    option, attacks, text = (text_of(form, name) for name in ("option", "attacks", "text"))
    if option not in review.frozen.body["verdicts"]:
        raise HTTPException(422, f"option {option!r}: expected an option of this version.")
    errors = required(text, "your argument")
    if attacks not in dict(_targets(request, review, option)):
        errors["attacks"] = "Choose one of the list."
    knowledge = adviser_of(request).knowledge
    claims = [claim_named(c) for c in text_of(form, "claims").replace(",", " ").split()]
    strange = [c for c in claims if not c.startswith("claim:") or c not in knowledge]
    if strange:
        errors["claims"] = f"Not claims of the knowledge: {', '.join(strange)}. Accepted: M-128."
    if errors:
        typed = {"attacks": attacks, "text": text, "claims": text_of(form, "claims")}
        return _argue_page(request, review, option, typed=typed, errors=errors, status=422)
    entry = {
        "what": "argument", "option": option, "attacks": attacks, "text": text, "claims": claims,
    }  # fmt: skip
    say(request, review, entry, f"argument on {option}")
    return RedirectResponse(f"/cases/{case}/review/{number}/argue?option={option}", 303)
