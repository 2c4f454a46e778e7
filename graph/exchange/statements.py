"""What the knowledge says, as statements with whole names, and how a set of them is written."""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from leastwise.graph.exchange.jsonld import CONTEXT_PREFIXES
from leastwise.graph.knowledge.knowledge import Knowledge
from leastwise.graph.names import BASE, LW, PREFIXES, term_of
from leastwise.graph.shacl.terms import literal

__all__ = ["FORMS", "MORE_PREFIXES", "Statement", "all_said", "lit", "said_of", "term", "write"]

#: Subject, predicate and object as in N-Triples.
Statement = tuple[str, str, str]
MORE_PREFIXES = {
    "dcat": "http://www.w3.org/ns/dcat#",
    "foaf": "http://xmlns.com/foaf/0.1/",
    "form": f"{BASE}form/",
    "vann": "http://purl.org/vocab/vann/",
    "void": "http://rdfs.org/ns/void#",
}
#: Ending of an address -> media type of what it gives.
FORMS = {
    "ttl": "text/turtle",
    "jsonld": "application/ld+json",
    "nt": "application/n-triples",
    "rdf": "application/rdf+xml",
}
#: So many statements are written as compact JSON-LD.
FEW = 5000


def term(name: str) -> str:
    """Return the term of a CURIE, an IRI, a literal term or the label of an inner node.

    >>> term("dcat:Dataset"), term("https://example.org/x"), term('"silk"@en')
    ('<http://www.w3.org/ns/dcat#Dataset>', '<https://example.org/x>', '"silk"@en')
    """
    if name[:1] == '"' or name[:2] == "_:":
        return name
    prefix, _, local = name.partition(":")
    if prefix in MORE_PREFIXES:
        return f"<{MORE_PREFIXES[prefix]}{local}>"
    return term_of(name) if prefix in PREFIXES and "//" not in name else f"<{name}>"


def lit(text: str, kind: str = "") -> str:
    """Return a text as a literal term; *kind* is a language tag (``@en``) or a CURIE.

    >>> lit("3", "xsd:integer")
    '"3"^^<http://www.w3.org/2001/XMLSchema#integer>'
    """
    if kind[:1] == "@":
        return literal(text, language=kind[1:])
    return literal(text, term(kind)[1:-1] if kind else None)


def said_of(knowledge: Knowledge, subjects: Iterable[str]) -> Iterator[Statement]:
    """Yield all that is said of the *subjects* and of their inner nodes, each once."""
    waiting, done = list(subjects)[::-1], set[str]()
    while waiting:
        one = waiting.pop()
        if one in done:
            continue
        done.add(one)
        for predicate, objects in knowledge.predicates(one).items():
            for thing in objects:
                yield term(one), term(predicate), term(thing)
            waiting += [thing for thing in objects if thing[:2] == "_:"]


def all_said(knowledge: Knowledge) -> Iterator[Statement]:
    """Yield everything that the knowledge says."""
    return said_of(knowledge, knowledge.subjects())


def write(statements: Iterable[Statement], form: str, base: str = BASE) -> str:
    """Return statements as text in one of FORMS, our names under *base*; same in, same out.

    Of few statements JSON-LD is compact and names its context by an address; of many it needs
    none, and can be read as a stream.
    """
    import pyoxigraph as ox  # noqa: PLC0415 - only where something is written

    lines = sorted({f"{' '.join(one)} .\n" for one in statements})
    text = "".join(lines)
    if base != BASE:  # the terms of the vocabulary stay the same
        text = text.replace(f"<{BASE}", f"<{base}").replace(f"<{base}ns#", f"<{LW}")
    if form == "nt":
        return text
    if form == "jsonld" and len(lines) <= FEW:
        return _linked(text, base)
    kinds = {
        "ttl": ox.RdfFormat.TURTLE,
        "rdf": ox.RdfFormat.RDF_XML,
        "jsonld": ox.RdfFormat.JSON_LD,
    }
    triples = [quad.triple for quad in ox.parse(text.encode(), format=ox.RdfFormat.N_TRIPLES)]
    written = ox.serialize(
        triples, format=kinds[form], prefixes={**CONTEXT_PREFIXES, **MORE_PREFIXES}
    )
    return (written or b"").decode()


def _linked(text: str, base: str) -> str:
    """Return N-Triples as JSON-LD whose context is named by its address."""
    from rdflib import Graph  # noqa: PLC0415 - only for this form

    from leastwise.graph.exchange.jsonld import linked_json  # noqa: PLC0415 - beside its use

    graph = Graph(bind_namespaces="none").parse(data=text, format="nt")
    return linked_json(graph, context=f"{base}context.jsonld")
