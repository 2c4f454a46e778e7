"""Conversion between rdflib graphs and term columns.

With :mod:`report` the only module that imports rdflib.
"""

from __future__ import annotations

from rdflib import BNode, Graph, Literal, URIRef
from rdflib.term import IdentifiedNode, Node

from leastwise.graph.shacl.terms import TermTable, literal, split_literal
from leastwise.graph.shacl.triples import Triples

__all__ = ["decode", "encode", "from_node", "to_node"]


def from_node(node: Node) -> str:
    """Return the term of an rdflib node; a language tag keeps its case.

    Raises:
        TypeError: for anything but an IRI, a blank node or a literal.

    """
    if isinstance(node, URIRef):
        return f"<{node}>"
    if isinstance(node, BNode):
        return f"_:{node}"
    if isinstance(node, Literal):
        return literal(str(node), node.datatype, node.language)
    raise TypeError(f"not an RDF term: {node!r}")


def to_node(term: str) -> IdentifiedNode | Literal:
    """Return the rdflib node of a term, with its lexical form as it is."""
    if term[0] == "<":
        return URIRef(term[1:-1])
    if term[0] == "_":
        return BNode(term[2:])
    lexical, datatype, language = split_literal(term)
    if language:
        return Literal(lexical, lang=language)
    if datatype == "http://www.w3.org/2001/XMLSchema#string":
        return Literal(lexical)
    return Literal(lexical, datatype=URIRef(datatype), normalize=False)


def encode(graph: Graph, terms: TermTable | None = None) -> Triples:
    """Return the triples of `graph`, numbered in `terms` (or a new table)."""
    terms = TermTable() if terms is None else terms
    known: dict[Node, int] = {}
    flat: list[int] = []
    for triple in graph:
        for node in triple:
            index = known.get(node)
            if index is None:
                index = known[node] = terms.intern(from_node(node))
            flat.append(index)
    return Triples.from_columns(terms, flat[0::3], flat[1::3], flat[2::3])


def decode(triples: Triples) -> Graph:
    """Return the triples as an rdflib graph."""
    graph = Graph()
    columns = (column.tolist() for column in triples.columns())
    nodes: dict[int, IdentifiedNode | Literal] = {}

    def node(index: int) -> IdentifiedNode | Literal:
        if index not in nodes:
            nodes[index] = to_node(triples.terms[index])
        return nodes[index]

    for s, p, o in zip(*columns, strict=True):
        graph.add((node(s), node(p), node(o)))
    return graph
