"""Routes: the questions beyond the answer; each takes a case as body, as POST /options does."""

from __future__ import annotations

from collections.abc import Callable
from typing import Annotated, Any

from fastapi import APIRouter, Query, Request, Response
from starlette.concurrency import run_in_threadpool

from leastwise.api.http.state import adviser_of
from leastwise.api.identity.access import Access, Action
from leastwise.api.routes.bodies import CASE_BODY, PolicyQuery
from leastwise.api.services.questions import (
    arguments_of,
    as_json_text,
    drawing_of,
    option_id,
    scores_of,
)
from leastwise.graph import Adviser, Case
from leastwise.graph.case.reading import parse_case
from leastwise.graph.questions.acceptability import DRAWS, CaseShares, case_shares
from leastwise.graph.questions.preferred import ArgumentsView
from leastwise.graph.questions.tests_first import FindOutFirst, find_out_first
from leastwise.graph.questions.what_if import MOST_RUNS, WhatWouldChange, what_would_change
from leastwise.graph.questions.why import Contrast, why
from leastwise.graph.weighing.scores import OptionScores

__all__ = ["ACCESS", "router"]

router = APIRouter(tags=["weighing"])
ACCESS: Access = {
    "POST /options/why": Action.USE,
    "POST /options/what-would-change": Action.USE,
    "POST /options/find-out-first": Action.USE,
    "POST /options/shares": Action.USE,
    "POST /options/scores": Action.USE,
    "POST /options/arguments": Action.USE,
    "POST /options/drawing": Action.USE,
}

OptionQuery = Annotated[
    str, Query(description="an option by its id, or the last part of it", min_length=1)
]
RESPONSES: dict[int | str, dict[str, Any]] = {
    400: {"description": "The question can't be answered, such as an unknown policy (RFC 9457)"},
    404: {"description": "The case has no such option (RFC 9457)"},
    413: {"description": "The body is too large (RFC 9457)"},
    422: {"description": "The case or a parameter can't be used (RFC 9457)"},
}
JSON = "application/json"


async def _reply(
    request: Request, policy: str, ask: Callable[[Adviser, Case], str], media_type: str = JSON
) -> Response:
    """Read the case of the body and answer in a thread, so that others aren't kept waiting."""
    is_yaml = "yaml" in request.headers.get("content-type", "")
    text = (await request.body()).decode("utf-8", "replace")
    adviser = adviser_of(request).under(policy)

    def work() -> str:
        return ask(adviser, parse_case(text, adviser.knowledge, is_json=not is_yaml))

    return Response(await run_in_threadpool(work), media_type=media_type)


@router.post(
    "/options/why",
    summary="Why one option stands above another",
    response_model=Contrast,
    openapi_extra=CASE_BODY,
    responses=RESPONSES,
)
async def contrast(
    request: Request,
    why_: Annotated[str, Query(alias="why", description="an option", min_length=1)],
    over: Annotated[str, Query(description="another option of the same damage", min_length=1)],
    policy: PolicyQuery = "",
) -> Response:
    """Return the fewest reasons that put one option above the other, and what speaks against."""

    def ask(adviser: Adviser, case: Case) -> str:
        one, other = option_id(adviser, case, why_), option_id(adviser, case, over)
        return as_json_text(why(adviser, case, one, other))

    return await _reply(request, policy, ask)


@router.post(
    "/options/what-would-change",
    summary="What would change an option's verdict",
    response_model=WhatWouldChange,
    openapi_extra=CASE_BODY,
    responses=RESPONSES,
)
async def change(
    request: Request,
    option: OptionQuery,
    policy: PolicyQuery = "",
    most_runs: Annotated[
        int, Query(ge=1, le=2000, description="how often the case is weighed again at most")
    ] = MOST_RUNS,
) -> Response:
    """Return the smallest changes of the case that lift the verdict, found by weighing it again."""

    def ask(adviser: Adviser, case: Case) -> str:
        name = option_id(adviser, case, option)
        return as_json_text(what_would_change(adviser, case, name, most_runs=most_runs))

    return await _reply(request, policy, ask)


@router.post(
    "/options/find-out-first",
    summary="What to find out first",
    response_model=FindOutFirst,
    openapi_extra=CASE_BODY,
    responses=RESPONSES,
)
async def first_tests(request: Request, policy: PolicyQuery = "") -> Response:
    """Return the tests that could change a choice, most change for least cost first."""
    return await _reply(
        request, policy, lambda adviser, case: as_json_text(find_out_first(adviser, case))
    )


@router.post(
    "/options/shares",
    summary="How far the order depends on weights and scores",
    response_model=CaseShares,
    openapi_extra=CASE_BODY,
    responses=RESPONSES,
)
async def shares(
    request: Request,
    policy: PolicyQuery = "",
    draws: Annotated[int, Query(ge=100, le=100_000, description="weightings drawn")] = DRAWS,
    seed: Annotated[int, Query(ge=0, le=2**31, description="added to that of the case")] = 0,
) -> Response:
    """Return the share of weightings in which each option takes each rank."""
    return await _reply(
        request,
        policy,
        lambda adviser, case: as_json_text(case_shares(adviser, case, draws=draws, seed=seed)),
    )


@router.post(
    "/options/scores",
    summary="Every grade of an option, with its interval and grounds",
    response_model=OptionScores,
    openapi_extra=CASE_BODY,
    responses=RESPONSES,
)
async def scores(request: Request, option: OptionQuery, policy: PolicyQuery = "") -> Response:
    """Return low, value and high of each axis, the claims and how they came about."""

    def ask(adviser: Adviser, case: Case) -> str:
        return as_json_text(scores_of(adviser, case, option_id(adviser, case, option)))

    return await _reply(request, policy, ask)


@router.post(
    "/options/arguments",
    summary="The arguments on an option",
    response_model=ArgumentsView,
    openapi_extra=CASE_BODY,
    responses=RESPONSES,
)
async def arguments(
    request: Request,
    option: OptionQuery,
    preferred: Annotated[bool, Query(description="with preferred extensions")] = False,
) -> Response:
    """Return the arguments with their labels and attacks; preferred extensions up to 20."""

    def ask(adviser: Adviser, case: Case) -> str:
        name = option_id(adviser, case, option)
        return as_json_text(arguments_of(adviser, case, name, preferred=preferred))

    return await _reply(request, "", ask)


@router.post(
    "/options/drawing",
    summary="The arguments on an option, drawn",
    response_class=Response,
    openapi_extra=CASE_BODY,
    responses={**RESPONSES, 200: {"content": {"image/svg+xml": {}}}},
)
async def drawing(request: Request, option: OptionQuery) -> Response:
    """Return the arguments on an option as SVG."""

    def ask(adviser: Adviser, case: Case) -> str:
        return drawing_of(adviser, case, option_id(adviser, case, option))

    return await _reply(request, "", ask, "image/svg+xml")
