"""Routes: a case record checked; nothing is kept."""

from __future__ import annotations

from typing import Annotated

from fastapi import APIRouter, Query, Request, Response

from leastwise.api.asking.answered import answered, asked_by
from leastwise.api.identity.access import Access, Action
from leastwise.api.routes.bodies import CASE_BODY, LIMITED
from leastwise.graph.questions.open_entries import MOST_RUNS
from leastwise.graph.questions.record_check import RecordCheck

__all__ = ["ACCESS", "router"]

router = APIRouter(tags=["weighing"])
ACCESS: Access = {"POST /check": Action.USE}


@router.post(
    "/check",
    summary="Check a case record",
    response_model=RecordCheck,
    openapi_extra=CASE_BODY,
    responses={413: {"description": "The body is too large (RFC 9457)"}, **LIMITED},
)
async def check(
    request: Request,
    most_runs: Annotated[
        int,
        Query(ge=0, le=MOST_RUNS, description="how often the case is weighed again at most"),
    ] = MOST_RUNS,
) -> Response:
    """Return what can't be read, what is odd, and what is unknown and would change the answer.

    A record that can't be used is an answer here, with its problems, and not an error.
    """
    return await answered(request, await asked_by(request, "check", most_runs=most_runs))
