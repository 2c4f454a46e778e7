"""Routes: the questions beyond the answer; each takes a case as body, as POST /options does."""

from __future__ import annotations

from typing import Annotated, Any

from fastapi import APIRouter, Query, Request, Response

from leastwise.api.asking.answered import answered, asked_by
from leastwise.api.identity.access import Access, Action
from leastwise.api.routes.bodies import CASE_BODY, LIMITED, PolicyQuery
from leastwise.graph.questions.acceptability import DRAWS, CaseShares
from leastwise.graph.questions.preferred import ArgumentsView
from leastwise.graph.questions.tests_first import FindOutFirst
from leastwise.graph.questions.what_if import MOST_RUNS, WhatWouldChange
from leastwise.graph.questions.why import Contrast
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
    **LIMITED,
}


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
    return await answered(request, await asked_by(request, "why", policy, why=why_, over=over))


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
    asked = await asked_by(request, "what-would-change", policy, option=option, most_runs=most_runs)
    return await answered(request, asked)


@router.post(
    "/options/find-out-first",
    summary="What to find out first",
    response_model=FindOutFirst,
    openapi_extra=CASE_BODY,
    responses=RESPONSES,
)
async def first_tests(request: Request, policy: PolicyQuery = "") -> Response:
    """Return the tests that could change a choice, most change for least cost first."""
    return await answered(request, await asked_by(request, "find-out-first", policy))


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
    return await answered(
        request, await asked_by(request, "shares", policy, draws=draws, seed=seed)
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
    return await answered(request, await asked_by(request, "scores", policy, option=option))


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
    asked = await asked_by(request, "arguments", option=option, preferred=preferred)
    return await answered(request, asked)


@router.post(
    "/options/drawing",
    summary="The arguments on an option, drawn",
    response_class=Response,
    openapi_extra=CASE_BODY,
    responses={**RESPONSES, 200: {"content": {"image/svg+xml": {}}}},
)
async def drawing(request: Request, option: OptionQuery) -> Response:
    """Return the arguments on an option as SVG."""
    asked = await asked_by(request, "drawing", option=option)
    return await answered(request, asked, "image/svg+xml")
