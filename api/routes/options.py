"""POST /options: a case in, its options out; GET /schema: what a case looks like."""

from __future__ import annotations

import json
from typing import Any

from fastapi import APIRouter, Request, Response

from leastwise.api.asking.answered import answered, asked_by
from leastwise.api.identity.access import Access, Action
from leastwise.api.routes.bodies import CASE_BODY, PolicyQuery, refusals
from leastwise.graph.answer import Answer
from leastwise.graph.case.reading import case_schema
from leastwise.graph.case.record import Case
from leastwise.graph.case.schema import described

__all__ = ["ACCESS", "router"]

router = APIRouter(tags=["options"])
ACCESS: Access = {
    "POST /options": Action.USE,
    "GET /schema": Action.USE,
}


@router.post(
    "/options",
    summary="Rank what could be done, least intrusive first",
    response_model=Answer,
    openapi_extra=CASE_BODY,
    responses=refusals("The case"),
)
async def rank_options(request: Request, policy: PolicyQuery = "") -> Response:
    """Return every option with its verdict and reasons, leaving alone included.

    The body is a case record, as JSON or as YAML (content type application/yaml). The answer is
    the very text that `leastwise weigh --json` prints.
    """
    return await answered(request, await asked_by(request, "weigh", policy))


@router.get("/schema", summary="The JSON Schema of a case record")
def schema() -> dict[str, Any]:
    """Return the JSON Schema (2020-12) that a case record follows."""
    return case_schema()


def add_case_schema(openapi: dict[str, Any]) -> None:
    """Put the case's schema where the request body of /options points to."""
    text = json.dumps(
        described(Case.model_json_schema(ref_template="#/components/schemas/{model}"))
    )
    whole = json.loads(text)
    schemas = openapi.setdefault("components", {}).setdefault("schemas", {})
    schemas.update(whole.pop("$defs", {}))
    schemas["Case"] = whole
