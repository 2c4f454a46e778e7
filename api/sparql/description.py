"""What the query service says of itself: a SPARQL 1.1 Service Description."""

from __future__ import annotations

from urllib.parse import quote

from fastapi import Request, Response
from starlette.exceptions import HTTPException

from leastwise.api.http.negotiation import preferred
from leastwise.api.sparql.results import GRAPH_FORMS
from leastwise.api.sparql.service import SparqlService

__all__ = ["describe_service"]

_FORMATS = (
    "SPARQL_Results_JSON", "SPARQL_Results_XML", "SPARQL_Results_CSV", "SPARQL_Results_TSV",
    "Turtle", "N-Triples", "RDF_XML", "JSON-LD",
)  # fmt: skip
_MEDIA = {"text/turtle": "TURTLE", "application/n-triples": "N_TRIPLES",
          "application/rdf+xml": "RDF_XML", "application/ld+json": "JSON_LD"}  # fmt: skip


def describe_service(service: SparqlService, request: Request) -> Response:
    """Return the description in the form that the client takes, Turtle if it takes any.

    Raises:
        HTTPException: 406, the client takes none of them.

    """
    import pyoxigraph as ox  # noqa: PLC0415 - only here outside the workers

    media = preferred(request.headers.get("accept", ""), list(_MEDIA))
    if media is None:
        raise HTTPException(
            406, f"Accept: without a query this is a graph, given as {', '.join(_MEDIA)}; "
            f"with ?query= it is a result. Known forms: {', '.join(GRAPH_FORMS)}."
        )  # fmt: skip
    endpoint = quote(str(request.url_for("query_by_get")), safe=":/[]%")
    text = _turtle(service, endpoint)
    body = text.encode()
    if media != "text/turtle":
        triples = ox.parse(body, format=ox.RdfFormat.TURTLE)
        form = getattr(ox.RdfFormat, _MEDIA[media])
        body = ox.serialize((quad.triple for quad in triples), format=form) or b""
    return Response(body, media_type=media, headers={"vary": "Accept"})


def _turtle(service: SparqlService, endpoint: str) -> str:
    formats = ", ".join(f"<http://www.w3.org/ns/formats/{one}>" for one in _FORMATS)
    graphs = " ,\n        ".join(
        f"[ a sd:NamedGraph ; sd:name <{iri}> ; "
        f'sd:graph [ a sd:Graph ; rdfs:comment "{what}"@en ] ]'
        for iri, what in service.graphs.items()
    )
    return f"""\
@prefix sd: <http://www.w3.org/ns/sparql-service-description#> .
@prefix rdfs: <http://www.w3.org/2000/01/rdf-schema#> .

[] a sd:Service ;
    sd:endpoint <{endpoint}> ;
    sd:supportedLanguage sd:SPARQL11Query ;
    sd:resultFormat {formats} ;
    sd:defaultDataset [ a sd:Dataset ;
        sd:defaultGraph [ a sd:Graph ; rdfs:comment "All named graphs together"@en ] ;
        sd:namedGraph {graphs} ] .
"""
