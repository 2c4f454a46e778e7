"""POST /plan and /path: a case in, a plan or a tree of tests out; POST /review: a proposal in."""

from __future__ import annotations

from typing import Annotated, Any

from fastapi import APIRouter, Query, Request, Response

from leastwise.api.asking.answered import answered, asked_by
from leastwise.api.identity.access import Access, Action
from leastwise.api.routes.bodies import CASE_BODY, EXAMPLE, body, refusals
from leastwise.graph.planning.values import Plan
from leastwise.graph.proposal.check import Review
from leastwise.graph.proposal.received import proposal_schema
from leastwise.graph.questions.path_values import Path

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
    return await answered(request, await asked_by(request, "plan", undecided=undecided))


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
    return await answered(request, await asked_by(request, "path", most_tests=most_tests))


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
    return await answered(request, await asked_by(request, "review"))
