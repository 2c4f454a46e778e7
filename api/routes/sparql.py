"""GET and POST /sparql: the SPARQL 1.1 Protocol over the knowledge and the rules, read only."""

from __future__ import annotations

from collections.abc import AsyncIterator
from contextlib import asynccontextmanager
from typing import Annotated, Any
from urllib.parse import parse_qsl

import anyio.to_thread
from anyio import CapacityLimiter
from fastapi import APIRouter, FastAPI, Query, Request, Response
from starlette.datastructures import ImmutableMultiDict
from starlette.exceptions import HTTPException

from leastwise.api.http.negotiation import preferred
from leastwise.api.http.problems import problem
from leastwise.api.http.watched import number_of
from leastwise.api.identity.access import Access, Action
from leastwise.api.pages.knowledge.sparql import SHOWN_ROWS, form_page, result_page
from leastwise.api.sparql.description import describe_service
from leastwise.api.sparql.results import GRAPH_FORMS, RESULT_FORMS
from leastwise.api.sparql.service import (
    COME_AGAIN,
    Answered,
    Asked,
    Refused,
    SparqlService,
    service_of,
)
from leastwise.graph.errors import Problem

__all__ = ["ACCESS", "router"]

ACCESS: Access = {
    "GET /sparql": Action.USE,
    "POST /sparql": Action.USE,
}

HTML, FORM, QUERY = "text/html", "application/x-www-form-urlencoded", "application/sparql-query"
Fields = ImmutableMultiDict[str, str]


@asynccontextmanager
async def _ending_workers(app: FastAPI) -> AsyncIterator[None]:
    yield
    service_of(app).close()


router = APIRouter(tags=["knowledge"], lifespan=_ending_workers)

_ANSWERS: dict[int | str, dict[str, Any]] = {
    200: {
        "description": "The result; a browser (`text/html`) gets a page",
        "content": {
            **{media: {"schema": {"type": "string"}} for media in (*RESULT_FORMS, *GRAPH_FORMS)},
            "text/html": {"schema": {"type": "string"}},
        },
    },
    400: {"description": "The query can't be read (line and column), or is refused (RFC 9457)"},
    406: {"description": "None of the media types can be given (RFC 9457)"},
    413: {"description": "The result or the query is too long (RFC 9457)"},
    503: {"description": "Too many queries at once; see Retry-After (RFC 9457)"},
    504: {"description": "The query was ended at its time limit (RFC 9457)"},
    507: {"description": "The query was ended at its memory limit (RFC 9457)"},
}


@router.get(
    "/sparql",
    summary="A SPARQL query over the knowledge and the rules",
    response_class=Response,
    responses=_ANSWERS,
)
async def query_by_get(
    request: Request,
    query: Annotated[
        str | None, Query(description="The query: SELECT, ASK, CONSTRUCT or DESCRIBE")
    ] = None,
    default: Annotated[list[str] | None, Query(alias="default-graph-uri")] = None,
    named: Annotated[list[str] | None, Query(alias="named-graph-uri")] = None,
    form: Annotated[
        str,
        Query(
            alias="format",
            description="Instead of Accept: json, xml, csv, tsv, turtle, ntriples, rdfxml, jsonld",
        ),
    ] = "",
) -> Response:
    """Return the result of a query; without one the description of this service.

    Our prefixes need no declaration. Updates and SERVICE are refused. A result that is too long is
    refused and not cut off, so that none can be taken for the whole.
    """  # fmt: skip
    return await _respond(request, request.query_params)


@router.post(
    "/sparql",
    summary="A SPARQL query, sent as a form or as it is",
    response_class=Response,
    responses=_ANSWERS | {415: {"description": "The body is neither of both (RFC 9457)"}},
    openapi_extra={
        "requestBody": {
            "required": True,
            "content": {
                QUERY: {"schema": {"type": "string"}, "example": "ASK { material:silk ?p ?o }"},
                FORM: {
                    "schema": {
                        "type": "object",
                        "required": ["query"],
                        "properties": {
                            "query": {"type": "string"},
                            "default-graph-uri": {"type": "array", "items": {"type": "string"}},
                            "named-graph-uri": {"type": "array", "items": {"type": "string"}},
                        },
                    },
                    "example": {"query": "ASK { material:silk ?p ?o }"},
                },
            },
        }
    },
)
async def query_by_post(request: Request) -> Response:
    """Return the result of a query that is sent in the body, as in `GET /sparql`."""
    kind = request.headers.get("content-type", "").partition(";")[0].strip().lower()
    if kind not in (FORM, QUERY):
        raise HTTPException(415, f"Content-Type: got {kind!r}; expected {QUERY} or {FORM}.")
    try:
        text = (await request.body()).decode("utf-8")
    except UnicodeDecodeError as error:
        raise HTTPException(400, "The body is not UTF-8.") from error
    if kind == QUERY:
        others = [pair for pair in request.query_params.multi_items() if pair[0] != "query"]
        return await _respond(request, ImmutableMultiDict([*others, ("query", text)]))
    try:
        fields = parse_qsl(text, keep_blank_values=True, max_num_fields=100)
    except ValueError as error:
        raise HTTPException(400, "The form has more than 100 fields.") from error
    return await _respond(request, ImmutableMultiDict(fields))


async def _respond(request: Request, fields: Fields) -> Response:
    service = service_of(request.app)
    wants_page = not fields.get("format") and _wants_page(request)
    queries = fields.getlist("query")
    if "update" in fields:
        raise HTTPException(400, "update: this service only reads.")
    if not queries and wants_page:
        return form_page(request, service)
    if not queries and request.method == "GET":
        return describe_service(service, request)
    if len(queries) != 1:
        raise HTTPException(400, f"query: got {len(queries)} queries; expected one.")
    asked = _asked(request, fields, wants_page)
    # a thread of its own, so that a crowd here takes none from the other routes
    found = await anyio.to_thread.run_sync(service.answer, asked, limiter=CapacityLimiter(1))
    answer = (
        result_page(request, service, asked, found)
        if wants_page
        else _plain(request, found, asked, service)
    )
    answer.headers["vary"] = "Accept"
    if answer.status_code == 503:
        answer.headers["retry-after"] = str(COME_AGAIN)
    return answer


def _wants_page(request: Request) -> bool:
    accept = request.headers.get("accept", "")
    offered = [HTML, *RESULT_FORMS, *GRAPH_FORMS]
    return HTML in accept and preferred(accept, offered) == HTML


def _asked(request: Request, fields: Fields, wants_page: bool) -> Asked:
    query = fields["query"]
    default = tuple(fields.getlist("default-graph-uri"))
    named = tuple(fields.getlist("named-graph-uri"))
    if wants_page:
        return Asked(query, "json", "table", default, named, SHOWN_ROWS, cut=True)
    form = fields.get("format", "")
    if form:
        known = {*RESULT_FORMS.values(), *GRAPH_FORMS.values()}
        if form not in known:
            raise HTTPException(400, f"format: got {form!r}; expected {', '.join(sorted(known))}.")
        results = form if form in RESULT_FORMS.values() else ""
        return Asked(query, results, form if form in GRAPH_FORMS.values() else "", default, named)
    accept = request.headers.get("accept", "")
    return Asked(
        query,
        RESULT_FORMS.get(preferred(accept, list(RESULT_FORMS)) or "", ""),
        GRAPH_FORMS.get(preferred(accept, list(GRAPH_FORMS)) or "", ""),
        default,
        named,
    )


def _plain(
    request: Request, found: Answered | Refused, asked: Asked, service: SparqlService
) -> Response:
    if isinstance(found, Refused):
        fault = found.fault
        where = f"query, line {fault.line}, column {fault.column}" if fault.line else "query"
        known = [Problem(where, "", fault.what)] if found.status == 400 else None
        return problem(
            found.status, found.title, str(fault), known, number=number_of(request.scope)
        )
    forms, form = (
        (GRAPH_FORMS, asked.graph) if found.kind == "graph" else (RESULT_FORMS, asked.results)
    )
    liked = preferred(request.headers.get("accept", ""), list(forms)) or ""
    media = liked if forms.get(liked) == form else next(m for m, f in forms.items() if f == form)
    answer = Response(found.body, media_type=media)
    answer.headers["x-rows"] = str(found.rows)
    return answer
