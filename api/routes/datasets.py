"""The knowledge to take away: the vocabulary at /ns, files at /dumps, and what describes them."""

from __future__ import annotations

import json
from typing import Any

from fastapi import APIRouter, Request, Response
from fastapi.responses import RedirectResponse
from starlette.concurrency import run_in_threadpool
from starlette.exceptions import HTTPException

from leastwise.api.http.negotiation import preferred
from leastwise.api.http.state import adviser_of, settings_of, shelf_of
from leastwise.api.identity.access import Access, Action
from leastwise.graph.names import ONTOLOGY

__all__ = ["ACCESS", "router"]

router = APIRouter(tags=["exchange"])
ACCESS: Access = {
    "GET /ns": Action.USE,
    "GET /ns.{ending}": Action.USE,
    "GET /ns/{release}": Action.USE,
    "GET /dumps/{name}.{ending}": Action.USE,
    "GET /dataset": Action.USE,
    "GET /void": Action.USE,
    "GET /.well-known/void": Action.USE,
    "GET /dcat": Action.USE,
    "GET /frame.jsonld": Action.USE,
}
HTML = "text/html"
_GRAPH: dict[str, Any] = {"schema": {"type": "string"}}
_FORMS: dict[int | str, dict[str, Any]] = {
    200: {
        "description": "The graph",
        "content": {
            "text/turtle": _GRAPH,
            "application/ld+json": {"schema": {"type": "object"}},
            "application/n-triples": _GRAPH,
            "application/rdf+xml": _GRAPH,
        },
    },
    404: {"description": "There is no such file (RFC 9457)"},
}


@router.get("/ns", summary="The vocabulary", response_class=Response, responses=_FORMS)
async def vocabulary(request: Request) -> Response:
    """Return the ontology in the form that the Accept header asks for; a browser gets a page."""
    return await _negotiated(request, "vocabulary", "/knowledge/vocabulary", files="/ns")


@router.get(
    "/ns.{ending}",
    summary="The vocabulary as a file",
    response_class=Response,
    responses=_FORMS,
)
async def vocabulary_as(request: Request, ending: str) -> Response:
    """Return the ontology as Turtle, JSON-LD, N-Triples or RDF/XML, by its ending."""
    return await _file(request, "vocabulary", ending)


@router.get(
    "/ns/{release}",
    summary="The vocabulary by its version",
    response_class=Response,
    responses=_FORMS,
)
async def vocabulary_of_release(request: Request, release: str) -> Response:
    """Return the ontology under its version IRI; earlier versions aren't kept here."""
    now = adviser_of(request).knowledge.text(ONTOLOGY, "owl:versionInfo")
    if release != now:
        raise HTTPException(
            404, f"Version {release!r} of the vocabulary isn't here; this is {now}."
        )
    return await _negotiated(request, "vocabulary", "/knowledge/vocabulary", files="/ns")


@router.get(
    "/dumps/{name}.{ending}",
    summary="A part of the knowledge as a file",
    response_class=Response,
    responses=_FORMS,
)
async def dump(request: Request, name: str, ending: str) -> Response:
    """Return `knowledge`, `vocabulary`, `concepts`, `claims` or `rules` as `ttl`, `jsonld`, ….

    `knowledge` is everything but the rules. The endings are `ttl`, `jsonld`, `nt` and `rdf`.
    """
    return await _file(request, name, ending)


@router.get(
    "/dataset", summary="What the data set holds", response_class=Response, responses=_FORMS
)
@router.get("/void", summary="As /dataset", response_class=Response, responses=_FORMS)
@router.get("/dcat", summary="As /dataset", response_class=Response, responses=_FORMS)
@router.get("/.well-known/void", summary="As /dataset", response_class=Response, responses=_FORMS)
async def dataset(request: Request) -> Response:
    """Return the description of the data set in VoID and DCAT: parts, counts, files, licence."""
    return await _negotiated(request, "", "/knowledge/coverage")


@router.get("/frame.jsonld", summary="A JSON-LD frame for claims", response_class=Response)
def frame(request: Request) -> Response:
    """Return a frame by which JSON-LD becomes one tree for each claim, its source within it."""
    shape = {
        "@context": f"{settings_of(request).base}context.jsonld",
        "@type": "lw:Claim",
        "@embed": "@always",
        "lw:about": {"@embed": "@never"},
        "dcterms:source": {"@embed": "@always"},
    }
    return Response(json.dumps(shape, indent=1), media_type="application/ld+json")


async def _negotiated(request: Request, name: str, page: str, files: str = "") -> Response:
    """Return a part in the form that the client likes best; a browser is led to *page*.

    *files* is the address at which each form has an ending of its own.
    """
    from leastwise.graph.exchange.statements import FORMS  # noqa: PLC0415 - beside its use

    accept = request.headers.get("accept", "")
    media = preferred(accept, [*FORMS.values(), HTML])
    if media is None:
        raise HTTPException(406, f"Accept: expected one of {', '.join(FORMS.values())}.")
    if media == HTML:
        answer: Response = RedirectResponse(page, 303)
    else:
        ending = next(ending for ending, one in FORMS.items() if one == media)
        answer = await _file(request, name, ending)
    answer.headers["vary"] = "Accept"
    if files:
        answer.headers["link"] = ", ".join(
            f'<{files}.{ending}>; rel="alternate"; type="{one}"' for ending, one in FORMS.items()
        )
    return answer


async def _file(request: Request, name: str, ending: str) -> Response:
    """Return a part as text, "" for the description of all; made once for this knowledge."""
    from leastwise.graph.exchange.dataset import dataset_statements  # noqa: PLC0415 - slow to import
    from leastwise.graph.exchange.dumps import DUMPS, statements_of  # noqa: PLC0415
    from leastwise.graph.exchange.statements import FORMS, write  # noqa: PLC0415

    if ending not in FORMS or (name and name not in DUMPS):
        raise HTTPException(
            404, f"No file {name}.{ending}: expected {', '.join(DUMPS)} as {', '.join(FORMS)}."
        )
    k, base, shelf = adviser_of(request).knowledge, settings_of(request).base, shelf_of(request)

    def make() -> str:
        said = statements_of(name, k) if name else dataset_statements(k)
        return write(said, ending, base)

    key = ("dump", name, ending, k.digest, base)  # what is large isn't held
    small = name in ("", "vocabulary")
    text: str = await run_in_threadpool(lambda: shelf.get(key, make) if small else make())
    return Response(text, media_type=FORMS[ending])
