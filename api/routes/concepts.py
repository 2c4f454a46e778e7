"""GET /concepts/{id}: one concept, claim, source or rule with all that is said of it.

The Accept header chooses the form, or an ending of the address for who can't set headers. Names
under the base that they are published under lead to the same place.
"""

from __future__ import annotations

from collections.abc import Callable
from urllib.parse import quote

from fastapi import APIRouter, Request, Response
from fastapi.responses import RedirectResponse

from leastwise.api.http.negotiation import preferred
from leastwise.api.http.state import adviser_of, settings_of
from leastwise.api.identity.access import Access, Action
from leastwise.api.pages.knowledge.concept import concept_page, missing_page
from leastwise.graph.errors import NotFound
from leastwise.graph.names import SCHEMES
from leastwise.graph.reference.concept_view import ConceptView, view_concept

__all__ = ["ACCESS", "router"]

router = APIRouter(tags=["concepts"])
ACCESS: Access = {
    "GET /concepts/{concept}": Action.USE,
    **{f"GET /{scheme}/{{name}}": Action.USE for scheme in SCHEMES},
}

JSON, HTML = "application/json", "text/html"
#: Media type -> name of the form in ``rdf_out``.
GRAPHS = {
    "text/turtle": "turtle",
    "application/ld+json": "jsonld",
    "application/n-triples": "ntriples",
}
ENDINGS = {
    ".ttl": "text/turtle",
    ".jsonld": "application/ld+json",
    ".nt": "application/n-triples",
    ".json": JSON,
    ".html": HTML,
}


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
                "text/html": {"schema": {"type": "string"}},
            }
        },
        404: {"description": "No such concept; names near to it are given (RFC 9457)"},
    },
)
def concept(concept: str, request: Request, response: Response) -> ConceptView | Response:
    """Return a concept by CURIE (`material:silk`, `claim:M-093`) with the claims about it.

    The Accept header chooses: JSON (the default), the triples as Turtle, JSON-LD or N-Triples, or
    a page. So does an ending: `material:silk.ttl`, `.jsonld`, `.nt`, `.json`, `.html`.
    """
    adviser, base = adviser_of(request), settings_of(request).base
    name, media = _asked_for(concept, request)
    if media == HTML:
        answer: Response = _page(request, name)
    elif media in GRAPHS:
        view_concept(
            name, adviser.knowledge, adviser.rules, base
        )  # a name that isn't there is told
        answer = _graph(request, name, media, base)
    else:
        response.headers["vary"] = "Accept"
        response.headers["link"] = _alternates(name)
        return view_concept(name, adviser.knowledge, adviser.rules, base)
    answer.headers["vary"] = "Accept"
    answer.headers["link"] = _alternates(name)
    return answer


def _asked_for(concept: str, request: Request) -> tuple[str, str]:
    """Return the name, and the media type by ending or Accept header."""
    adviser = adviser_of(request)
    if concept not in adviser.knowledge and concept not in adviser.rules.rules:
        for ending, media in ENDINGS.items():
            if concept.endswith(ending):
                return concept.removesuffix(ending), media
    accept = request.headers.get("accept", "")
    return concept, preferred(accept, [JSON, *GRAPHS, HTML]) or JSON


def _page(request: Request, name: str) -> Response:
    try:
        return concept_page(request, name)
    except NotFound:
        return missing_page(request, name)


def _graph(request: Request, name: str, media: str, base: str) -> Response:
    from leastwise.graph.exchange.rdf_out import (  # noqa: PLC0415 - keeps rdflib out
        concept_graph,
        published,
        written,
    )

    adviser = adviser_of(request)
    graph = published(concept_graph(name, adviser.knowledge, adviser.rules), base)
    return Response(written(graph, GRAPHS[media]), media_type=media)


def _alternates(name: str) -> str:
    """Return the other forms as links, for programs that look at the headers."""
    address = f"/concepts/{quote(name, safe=':')}"
    return ", ".join(
        f'<{address}{ending}>; rel="alternate"; type="{media}"' for ending, media in ENDINGS.items()
    )


def _leading_to(scheme: str) -> Callable[[str], RedirectResponse]:
    def lead(name: str) -> RedirectResponse:
        return RedirectResponse(f"/concepts/{scheme}:{quote(name, safe='')}", 303)

    return lead


for _scheme in SCHEMES:  # material/silk below the base leads to /concepts/material:silk
    router.get(f"/{_scheme}/{{name}}", include_in_schema=False)(_leading_to(_scheme))
