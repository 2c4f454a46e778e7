"""Routes: a case record checked; nothing is kept."""

from __future__ import annotations

from typing import Annotated

from fastapi import APIRouter, Query, Request, Response
from starlette.concurrency import run_in_threadpool

from leastwise.api.http.state import adviser_of
from leastwise.api.identity.access import Access, Action
from leastwise.api.routes.bodies import CASE_BODY
from leastwise.graph.questions.open_entries import MOST_RUNS
from leastwise.graph.questions.record_check import RecordCheck, check_record

__all__ = ["ACCESS", "router"]

router = APIRouter(tags=["weighing"])
ACCESS: Access = {"POST /check": Action.USE}


@router.post(
    "/check",
    summary="Check a case record",
    response_model=RecordCheck,
    openapi_extra=CASE_BODY,
    responses={413: {"description": "The body is too large (RFC 9457)"}},
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
    is_yaml = "yaml" in request.headers.get("content-type", "")
    text = (await request.body()).decode("utf-8", "replace")
    adviser = adviser_of(request)

    def work() -> str:
        return check_record(text, adviser, is_json=not is_yaml, most_runs=most_runs).as_json()

    return Response(await run_in_threadpool(work), media_type="application/json")
