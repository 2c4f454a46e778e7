"""POST /export: a case as CIDOC CRM, PROV-O or RDF; GET /context.jsonld: our JSON-LD context."""

from __future__ import annotations

from typing import Annotated, Any

from fastapi import APIRouter, Query, Request, Response
from starlette.concurrency import run_in_threadpool
from starlette.exceptions import HTTPException

from leastwise.api.http.negotiation import preferred
from leastwise.api.http.state import adviser_of, settings_of
from leastwise.api.identity.access import Access, Action
from leastwise.api.routes.bodies import CASE_BODY
from leastwise.api.services.exports import Kind, export_graph
from leastwise.graph.case.reading import parse_case

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
    },
)
async def export(request: Request, kind: Annotated[Kind, Query(alias="as")] = Kind.CRM) -> Response:
    """Return a case as CIDOC CRM (`crm`), its answer's making as PROV-O (`prov`), or the record.

    The body is that of `/options`. The Accept header chooses Turtle (the default), JSON-LD or
    N-Triples.
    """
    from leastwise.graph.exchange.rdf_out import FORMATS, written  # noqa: PLC0415 - keeps rdflib out

    media = preferred(request.headers.get("accept", ""), list(FORMATS.values()))
    if media is None:
        raise HTTPException(406, f"Accept: expected one of {', '.join(FORMATS.values())}.")
    is_yaml = "yaml" in request.headers.get("content-type", "")
    text = (await request.body()).decode("utf-8", "replace")
    adviser, base = adviser_of(request), settings_of(request).base

    def work() -> str:
        case = parse_case(text, adviser.knowledge, is_json=not is_yaml)
        form = next(form for form, one in FORMATS.items() if one == media)
        return written(export_graph(kind, case, adviser, base), form)

    return Response(await run_in_threadpool(work), media_type=media, headers={"vary": "Accept"})


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
