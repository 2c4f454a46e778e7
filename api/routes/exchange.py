"""POST /export: a case as CIDOC CRM, PROV-O or RDF; GET /context.jsonld: our JSON-LD context."""

from __future__ import annotations

from typing import Annotated, Any

from fastapi import APIRouter, Query, Request, Response
from starlette.exceptions import HTTPException

from leastwise.api.asking.answered import answered, asked_by
from leastwise.api.http.negotiation import preferred
from leastwise.api.http.state import settings_of
from leastwise.api.identity.access import Access, Action
from leastwise.api.routes.bodies import CASE_BODY, LIMITED
from leastwise.api.services.exports import Kind

__all__ = ["ACCESS", "router"]

router = APIRouter(tags=["exchange"])
ACCESS: Access = {
    "POST /export": Action.USE,
    "GET /context.jsonld": Action.USE,
}

_GRAPH: dict[str, Any] = {"schema": {"type": "string"}}


@router.post(
    "/export",
    summary="A case as a graph for another system",
    response_class=Response,
    openapi_extra=CASE_BODY,
    responses={
        200: {
            "description": "The graph",
            "content": {
                "text/turtle": _GRAPH,
                "application/ld+json": {"schema": {"type": "object"}},
                "application/n-triples": _GRAPH,
            },
        },
        406: {"description": "None of the media types can be given (RFC 9457)"},
        413: {"description": "The body is too large (RFC 9457)"},
        422: {"description": "The case can't be used; each wrong field with its path (RFC 9457)"},
        **LIMITED,
    },
)
async def export(request: Request, kind: Annotated[Kind, Query(alias="as")] = Kind.CRM) -> Response:
    """Return a case as CIDOC CRM (`crm`), its answer's making as PROV-O (`prov`), or the record.

    The body is that of `/options`. The Accept header chooses Turtle (the default), JSON-LD or
    N-Triples.
    """
    from leastwise.graph.exchange.rdf_out import FORMATS  # noqa: PLC0415 - keeps rdflib out

    media = preferred(request.headers.get("accept", ""), list(FORMATS.values()))
    if media is None:
        raise HTTPException(406, f"Accept: expected one of {', '.join(FORMATS.values())}.")
    form = next(form for form, one in FORMATS.items() if one == media)
    given = {"as": str(kind), "form": form, "base": settings_of(request).base}
    answer = await answered(request, await asked_by(request, "export", **given), media)
    answer.headers["vary"] = "Accept, Accept-Encoding"
    return answer


@router.get(
    "/context.jsonld",
    summary="The JSON-LD context of the vocabulary",
    response_class=Response,
    responses={200: {"content": {"application/ld+json": {"schema": {"type": "object"}}}}},
)
def context() -> Response:
    """Return the context: prefixes, and of each property what its values are."""
    from leastwise.graph.exchange.jsonld import context_path  # noqa: PLC0415 - beside its use

    return Response(context_path().read_text("utf-8"), media_type="application/ld+json")
