"""Pages: questions on claims, from the claim's page to the editor's decision."""

from __future__ import annotations

from typing import Annotated

from fastapi import APIRouter, Query, Request
from fastapi.responses import RedirectResponse, Response

from leastwise.api.http.state import adviser_of, settings_of, store_of
from leastwise.api.identity.access import ALLOWED, Access, Action
from leastwise.api.identity.people import person_of
from leastwise.api.pages.forms import Form
from leastwise.api.pages.knowledge.concept import concept_page, knowledge_page
from leastwise.api.pages.page import check_form
from leastwise.api.services import claim_questions as service

__all__ = ["ACCESS", "router"]

router = APIRouter(tags=["pages"], include_in_schema=False)
Q = "/knowledge/questions/{question}"
ACCESS: Access = {
    "GET /knowledge/questions": Action.USE,
    "POST /knowledge/questions": Action.CREATE_CASE,
    f"GET {Q}": Action.USE,
    f"GET {Q}/change.ttl": Action.USE,
    f"POST {Q}/compare": Action.EDIT_KNOWLEDGE,
    f"POST {Q}/decision": Action.EDIT_KNOWLEDGE,
}
_FIELDS = ("claim", "what", "text", "source", "turtle")


@router.get("/knowledge/questions")
def questions(request: Request, state: Annotated[str, Query(max_length=10)] = "open") -> Response:
    """List the questions on claims, newest first."""
    state = state if state in service.STATES else "open"
    found = service.questions_on(store_of(request))
    return knowledge_page(
        request,
        "knowledge-questions.html",
        title="Questions on claims",
        state=state,
        states=service.STATES,
        kinds=service.KINDS,
        shown=[one for one in reversed(found) if one.said("state") == state],
    )


@router.post("/knowledge/questions")
def ask(request: Request, form: Form) -> Response:
    """Keep a question on a claim, and lead to it; a mistake comes back on the claim's page."""
    check_form(request, form.get("form_token"))
    given = {key: str(form.get(key, "")) for key in _FIELDS}
    k = adviser_of(request).knowledge
    try:
        kept = service.ask(
            store_of(request), k, given, person_of(request).account, settings_of(request).overlays
        )
    except service.WrongQuestion as error:
        if given["claim"] not in k.instances("lw:Claim"):
            return RedirectResponse("/knowledge/questions", 303)
        page = concept_page(request, given["claim"], typed=given, errors=error.fields)
        page.status_code = 422
        return page
    return RedirectResponse(f"/knowledge/questions/{kept.id}", 303)


@router.get(Q)
def question(request: Request, question: str) -> Response:
    """Show one question, what its change would change, and what was decided."""
    return _page(request, service.question_by_id(store_of(request), question))


def _page(
    request: Request,
    one: service.ClaimQuestion,
    errors: dict[str, str] | None = None,
    typed: str = "",
) -> Response:
    page = knowledge_page(
        request,
        "knowledge-question.html",
        title=f"{service.KINDS[one.said('what')].capitalize()} on claim {one.claim[6:]}",
        one=one,
        may_settle=Action.EDIT_KNOWLEDGE in ALLOWED[person_of(request).role],
        compared=one.compared_with(adviser_of(request)),
        errors=errors or {},
        typed=typed,
    )
    page.status_code = 422 if errors else 200
    return page


@router.get(f"{Q}/change.ttl")
def change(request: Request, question: str) -> Response:
    """Give the Turtle of a proposed change."""
    one = service.question_by_id(store_of(request), question)
    return Response(one.said("turtle"), media_type="text/turtle")


@router.post(f"{Q}/compare")
def compare(request: Request, question: str, form: Form) -> Response:
    """Work out what a change would change, and show it."""
    check_form(request, form.get("form_token"))
    store, used = store_of(request), settings_of(request)
    one = service.question_by_id(store, question)
    who = person_of(request).account
    service.compare_change(store, one, who, used.overlays, used.cache)
    return RedirectResponse(f"/knowledge/questions/{question}#comparison", 303)


@router.post(f"{Q}/decision")
def decide(request: Request, question: str, form: Form) -> Response:
    """Keep an editor's decision with its reason."""
    check_form(request, form.get("form_token"))
    store, adviser = store_of(request), adviser_of(request)
    one = service.question_by_id(store, question)
    state, answer = (str(form.get(key, "")) for key in ("state", "answer"))
    who = person_of(request).account
    try:
        service.settle(store, one, adviser, state=state, answer=answer, who=who)
    except service.WrongQuestion as error:
        return _page(request, one, error.fields, answer)
    except service.NotCompared as error:
        return _page(request, one, {"state": str(error)}, answer)
    return RedirectResponse(f"/knowledge/questions/{question}", 303)
