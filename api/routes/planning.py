"""POST /plan and /path: a case in, a plan or a tree of tests out; POST /review: a proposal in."""

from __future__ import annotations

from typing import Annotated, Any

from fastapi import APIRouter, Query, Request, Response
from starlette.concurrency import run_in_threadpool

from leastwise.api.http.state import adviser_of
from leastwise.api.identity.access import Access, Action
from leastwise.api.routes.bodies import CASE_BODY, EXAMPLE, body, refusals
from leastwise.graph.case.reading import parse_case
from leastwise.graph.planning.make import make_plan
from leastwise.graph.planning.values import Plan
from leastwise.graph.proposal.check import Review
from leastwise.graph.proposal.check import review as check
from leastwise.graph.proposal.received import parse_proposal, proposal_schema
from leastwise.graph.questions.path import Path, find_path

__all__ = ["ACCESS", "router"]

router = APIRouter(tags=["planning"])
ACCESS: Access = {
    "POST /path": Action.USE,
    "POST /plan": Action.USE,
    "POST /review": Action.USE,
}

PROPOSAL_EXAMPLE = {
    "leastwise_proposal": 1,
    "id": "steam-the-collar",
    "title": "Steaming a crushed collar",
    "demo": True,
    "case": EXAMPLE,
    "steps": [{"damage": "crushed", "technique": "steam", "reason": "quick"}],
    "record": {"purpose": "proposal before display", "materials": ["deionised water"]},
}


def _without_references(node: Any, definitions: dict[str, Any]) -> Any:
    """Return a schema with its definitions written out, since OpenAPI keeps them elsewhere."""
    if isinstance(node, list):
        return [_without_references(one, definitions) for one in node]
    if not isinstance(node, dict):
        return node
    if "$ref" in node:
        named = definitions[node["$ref"].rpartition("/")[2]]
        return _without_references(named, definitions)
    return {
        key: _without_references(value, definitions)
        for key, value in node.items()
        if key not in ("$defs", "$schema")
    }


_SCHEMA = proposal_schema()


@router.post(
    "/plan",
    summary="Choose one option for each damage, together, and put the work in order",
    response_model=Plan,
    openapi_extra=CASE_BODY,
    responses=refusals("The case"),
)
async def plan(
    request: Request,
    undecided: Annotated[
        bool, Query(description="plan what waits for a test where nothing accepted meets the aim")
    ] = True,
) -> Response:
    """Return the least burden that meets the aim within the means, in order of work.

    The body is a case record, as JSON or as YAML (content type application/yaml). The answer is
    the very text that `leastwise plan --json` prints.
    """
    text, is_json = await _text_of(request)
    adviser = adviser_of(request)

    def work() -> str:
        case = parse_case(text, adviser.knowledge, is_json=is_json)
        return make_plan(case, adviser, undecided=undecided).as_json()

    return Response(await run_in_threadpool(work), media_type="application/json")


@router.post(
    "/path",
    summary="Say which test comes first for the whole object, and what to do after each result",
    response_model=Path,
    openapi_extra=CASE_BODY,
    responses=refusals("The case"),
)
async def path(
    request: Request,
    most_tests: Annotated[
        int, Query(ge=0, le=6, description="tests to look at; each one triples the work")
    ] = 4,
) -> Response:
    """Return the contingent plan: a tree of tests with what to do at the end of each branch.

    The body is a case record, as JSON or as YAML (content type application/yaml).
    """
    text, is_json = await _text_of(request)
    adviser = adviser_of(request)

    def work() -> str:
        case = parse_case(text, adviser.knowledge, is_json=is_json)
        return find_path(adviser, case, most_tests=most_tests).as_json()

    return Response(await run_in_threadpool(work), media_type="application/json")


@router.post(
    "/review",
    summary="Check a proposal: what speaks against it, what is missing, what would be gentler",
    response_model=Review,
    openapi_extra=body(
        _without_references(_SCHEMA, _SCHEMA.get("$defs", {})),
        "An invented proposal",
        PROPOSAL_EXAMPLE,
    ),
    responses=refusals("The proposal"),
)
async def review(request: Request) -> Response:
    """Return findings with reason and claims, weightiest first.

    The body is a proposal, as JSON or as YAML; its case stands in it or is named as demo:NAME.
    The answer is the very text that `leastwise review --json` prints.
    """
    text, is_json = await _text_of(request)
    adviser = adviser_of(request)

    def work() -> str:
        proposal, case = parse_proposal(text, adviser.knowledge, is_json=is_json)
        return check(proposal, case, adviser).as_json()

    return Response(await run_in_threadpool(work), media_type="application/json")


async def _text_of(request: Request) -> tuple[str, bool]:
    is_yaml = "yaml" in request.headers.get("content-type", "")
    return (await request.body()).decode("utf-8", "replace"), not is_yaml
