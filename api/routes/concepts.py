"""GET /concepts/{id}: one concept, claim, source or rule with all that is said of it."""

from __future__ import annotations

from fastapi import APIRouter, Request, Response

from leastwise.api.access import Access, Action
from leastwise.api.negotiation import preferred
from leastwise.api.state import adviser_of, settings_of
from leastwise.graph.concept_view import ConceptView, view_concept

__all__ = ["ACCESS", "router"]

router = APIRouter(tags=["concepts"])
ACCESS: Access = {
    "GET /concepts/{concept}": Action.USE,
}

JSON = "application/json"


@router.get(
    "/concepts/{concept}",
    summary="What the knowledge says of a concept",
    response_model=ConceptView,
    responses={
        200: {
            "content": {
                "text/turtle": {"schema": {"type": "string"}},
                "application/ld+json": {"schema": {"type": "object"}},
                "application/n-triples": {"schema": {"type": "string"}},
            }
        },
        404: {"description": "No such concept; names near to it are given (RFC 9457)"},
    },
)
def concept(concept: str, request: Request, response: Response) -> ConceptView | Response:
    """Return a concept by CURIE (`material:silk`, `claim:M-093`) with the claims about it.

    The Accept header chooses: JSON (the default), or the triples as Turtle, JSON-LD or N-Triples.
    """
    adviser, base = adviser_of(request), settings_of(request).base
    view = view_concept(concept, adviser.knowledge, adviser.rules, base)
    response.headers["vary"] = "Accept"
    accept = request.headers.get("accept", "")
    if "turtle" not in accept and "ld+json" not in accept and "n-triples" not in accept:
        return view
    from leastwise.graph.rdf_out import FORMATS, concept_graph, published, written  # noqa: PLC0415

    media = preferred(accept, [JSON, *FORMATS.values()])
    if media in (None, JSON):
        return view
    form = next(form for form, one in FORMATS.items() if one == media)
    graph = published(concept_graph(concept, adviser.knowledge, adviser.rules), base)
    return Response(written(graph, form), media_type=media, headers={"vary": "Accept"})
