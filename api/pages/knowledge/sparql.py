"""The page of the query service: a form with examples, and results as a table."""

from __future__ import annotations

import json
from dataclasses import dataclass
from typing import Any
from urllib.parse import urlencode

from fastapi import Request
from fastapi.responses import HTMLResponse

from leastwise.api.pages.page import render
from leastwise.api.sparql.service import Answered, Asked, Refused, SparqlService
from leastwise.graph.names import BASE, LW, SCHEMES, curie_of

__all__ = ["SHOWN_ROWS", "Cell", "form_page", "result_page"]

#: Rows that the page shows; a program gets them all.
SHOWN_ROWS = 500
_NUMBERS = ("integer", "decimal", "double", "float", "int", "long")
_DOWNLOADS = {
    "select": ("csv", "tsv", "json", "xml"),
    "ask": ("json", "xml"),
    "graph": ("turtle", "ntriples", "jsonld", "rdfxml"),
}


@dataclass(frozen=True, slots=True)
class Cell:
    """A value of a row: its text, the address it leads to ("" for none), and what marks it."""

    text: str
    href: str = ""
    mark: str = ""  # language or datatype
    number: bool = False


def form_page(request: Request, service: SparqlService) -> HTMLResponse:
    """Return the page with the form, and nothing asked yet."""
    first = next(iter(service.examples.values()))[1]
    return _page(request, service, query=first)


def result_page(
    request: Request, service: SparqlService, asked: Asked, found: Answered | Refused
) -> HTMLResponse:
    """Return the page with what was found, or with what is wrong beside the query."""
    if isinstance(found, Refused):
        errors = {"query": str(found.fault)}
        return _page(request, service, query=asked.query, errors=errors, status=found.status)
    names, rows = _table(found, service)
    graphs = [("default-graph-uri", one) for one in asked.default]
    graphs += [("named-graph-uri", one) for one in asked.named]
    downloads = [
        (form, "/sparql?" + urlencode([("query", asked.query), *graphs, ("format", form)]))
        for form in _DOWNLOADS[found.kind]
    ]
    return _page(
        request,
        service,
        query=asked.query,
        found=found,
        names=names,
        rows=rows,
        downloads=downloads,
    )


def _page(
    request: Request,
    service: SparqlService,
    *,
    query: str,
    errors: dict[str, str] | None = None,
    status: int = 200,
    **context: Any,
) -> HTMLResponse:
    shown = {"found": None, "names": [], "rows": [], "downloads": []} | context
    return render(
        request,
        "sparql.html",
        title="Ask the knowledge in SPARQL",
        status=status,
        step="knowledge",
        query=query,
        errors=errors or {},
        examples=[
            (key, question, text, "/sparql?" + urlencode({"query": text}))
            for key, (question, text) in service.examples.items()
        ],
        prefixes=service.prefixes,
        graphs=service.graphs,
        limits=service.limits,
        address=str(request.url_for("query_by_get")),
        **shown,
    )


def _table(found: Answered, service: SparqlService) -> tuple[list[str], list[list[Cell]]]:
    if found.kind == "ask":
        return [], []
    result = json.loads(found.body)
    names: list[str] = result["head"]["vars"]
    rows = result["results"]["bindings"]
    return names, [[_cell(row.get(name), service) for name in names] for row in rows]


def _cell(term: dict[str, Any] | None, service: SparqlService) -> Cell:
    if term is None:
        return Cell("")
    value = term["value"]
    if term["type"] == "uri":
        return _link(value, service)
    if term["type"] == "bnode":
        return Cell(f"_:{value}")
    if term["type"] != "literal":
        return Cell(json.dumps(value))
    kind = curie_of(term.get("datatype", ""))
    is_number = kind.partition(":")[2] in _NUMBERS
    return Cell(value, "", term.get("xml:lang", "" if is_number else kind), is_number)


def _link(iri: str, service: SparqlService) -> Cell:
    base = service.settings.base
    ours = BASE + iri.removeprefix(base) if iri.startswith(base) and not iri.startswith(LW) else iri
    curie = curie_of(ours)
    if curie.partition(":")[0] in (*SCHEMES, "lw"):
        return Cell(curie, f"/concepts/{curie}")
    return Cell(curie, iri if iri.startswith(("http://", "https://")) else "")
