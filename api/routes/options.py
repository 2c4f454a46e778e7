"""POST /options: a case in, its options out; GET /schema: what a case looks like."""

from __future__ import annotations

import json
from typing import Annotated, Any

from fastapi import APIRouter, Query, Request, Response

from leastwise.api.asking.answered import answered, asked_by
from leastwise.api.http.schemas_once import schemas_once
from leastwise.api.identity.access import Access, Action
from leastwise.api.routes.bodies import CASE_BODY, PolicyQuery, refusals
from leastwise.graph.answer import Answer
from leastwise.graph.case.reading import case_schema
from leastwise.graph.case.record import Case
from leastwise.graph.case.schema import described
from leastwise.graph.weighing.alone import ProblemAnswer

__all__ = ["ACCESS", "router"]

router = APIRouter(tags=["options"])
ACCESS: Access = {
    "POST /options": Action.USE,
    "GET /schema": Action.USE,
}

DamageQuery = Annotated[
    str, Query(max_length=64, description="a damage or need of the case, to be answered alone")
]

OnceQuery = Annotated[
    bool,
    Query(description="each finding, reason and mend once, in `said`, and its name elsewhere"),
]

NOT_THERE: dict[int | str, dict[str, Any]] = {
    404: {"description": "The case has no such damage (RFC 9457)"}
}


@router.post(
    "/options",
    summary="Rank what could be done, least intrusive first",
    response_model=Answer | ProblemAnswer,
    openapi_extra=CASE_BODY,
    responses={**NOT_THERE, **refusals("The case")},
)
async def rank_options(
    request: Request, policy: PolicyQuery = "", damage: DamageQuery = "", *, once: OnceQuery = False
) -> Response:
    """Return every option with its verdict and reasons, leaving alone included.

    The body is a case record, as JSON or as YAML (content type application/yaml). The answer is
    the very text that `leastwise weigh --json` prints. With `damage` it is the part of it that is
    about one damage or need, and nothing of the others is weighed; a case of more than 500 damages
    and needs times parts is answered only so. With `once` each finding, reason and mend stands
    once, in `said`, and where it would stand there stands its name, such as `f12`; what is empty
    in it is left out. Large cases are a fifth to a tenth as long that way.
    """
    given: dict[str, Any] = {"damage": damage} if damage else {}
    if once:
        given["once"] = True
    return await answered(request, await asked_by(request, "weigh", policy, **given))


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
    schemas.update(schemas_once(schemas))
    told = openapi["paths"]["/options"]["post"]["responses"]["200"]["content"]["application/json"]
    told["schema"]["anyOf"] += [
        {"$ref": f"#/components/schemas/{name}"} for name in ("AnswerOnce", "ProblemAnswerOnce")
    ]
