"""The validation report as an RDF graph.

https://www.w3.org/TR/shacl/#validation-report
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

from rdflib import RDF, BNode, Graph, Literal, Namespace, URIRef

from leastwise.graph.shacl.compiler import compile_shapes
from leastwise.graph.shacl.evaluator import evaluate
from leastwise.graph.shacl.paths import (
    Alternative,
    Inverse,
    Predicate,
    Repeat,
    Repetition,
    Sequence,
)
from leastwise.graph.shacl.paths import Path as PropertyPath
from leastwise.graph.shacl.rdf import encode, to_node
from leastwise.graph.shacl.terms import TermTable
from leastwise.graph.shacl.vocabulary import SH as SH_IRI

if TYPE_CHECKING:
    from collections.abc import Iterable
    from pathlib import Path

    from rdflib.term import Node

    from leastwise.graph.shacl.results import Results
    from leastwise.graph.shacl.triples import Triples

__all__ = ["check", "report_graph"]

SH: Final = Namespace(SH_IRI)
_REPEATS: Final = {
    Repeat.ZERO_OR_MORE: SH.zeroOrMorePath,
    Repeat.ONE_OR_MORE: SH.oneOrMorePath,
    Repeat.ZERO_OR_ONE: SH.zeroOrOnePath,
}


def check(data_graph: Graph | Path, shapes_graph: Graph | Path) -> Graph:
    """Validate a data graph against a shapes graph; see :func:`leastwise.graph.shacl.check`."""
    terms = TermTable()
    shapes = _triples(shapes_graph, terms)
    compiled = compile_shapes(shapes)
    data = shapes if data_graph == shapes_graph else _triples(data_graph, terms)
    return report_graph(evaluate(compiled, data))


def _triples(source: Graph | Path, terms: TermTable) -> Triples:
    if isinstance(source, Graph):
        return encode(source, terms)
    from leastwise.graph.shacl.files import read_file  # noqa: PLC0415 - graphs need no parser

    return read_file(source, terms)


def report_graph(results: Results) -> Graph:
    """Return the results as a validation report graph.

    Blank nodes of the data and of the shapes graph keep their identity; paths are copied.
    """
    graph = Graph()
    graph.bind("sh", SH)
    report = BNode()
    graph.add((report, RDF.type, SH.ValidationReport))
    graph.add((report, SH.conforms, Literal(results.conforms)))
    for index in range(len(results)):
        result = BNode()
        graph.add((report, SH.result, result))
        graph.add((result, RDF.type, SH.ValidationResult))
        _describe(graph, result, results, index)
    return graph


def _describe(graph: Graph, result: BNode, results: Results, index: int) -> None:
    row = results.row(index)
    compiled = results.compiled
    graph.add((result, SH.focusNode, to_node(row.focus)))
    graph.add((result, SH.sourceShape, to_node(row.shape)))
    graph.add((result, SH.sourceConstraintComponent, to_node(row.component)))
    graph.add((result, SH.resultSeverity, to_node(row.severity)))
    if row.value is not None:
        graph.add((result, SH.value, to_node(row.value)))
    if results.predicate[index] >= 0 and row.path is not None:
        graph.add((result, SH.resultPath, to_node(row.path)))
    elif results.path[index] >= 0:
        path = compiled.paths[results.path[index]].source
        graph.add((result, SH.resultPath, _add_path(graph, path)))
    for message in row.messages:
        graph.add((result, SH.resultMessage, to_node(message)))
    if not row.messages:
        constraint = compiled.constraints[results.constraint[index]]
        text = constraint.describe(compiled.constants)
        graph.add((result, SH.resultMessage, Literal(text)))


def _add_path(graph: Graph, path: PropertyPath) -> Node:
    """Add the triples of a path to the graph and return its node."""
    match path:
        case Predicate(iri):
            return URIRef(iri[1:-1])
        case Sequence(members):
            return _add_list(graph, members)
        case Alternative(members):
            return _add_node(graph, SH.alternativePath, _add_list(graph, members))
        case Inverse(inner):
            return _add_node(graph, SH.inversePath, _add_path(graph, inner))
        case Repetition(inner, repeat):
            return _add_node(graph, _REPEATS[repeat], _add_path(graph, inner))


def _add_node(graph: Graph, predicate: URIRef, value: Node) -> BNode:
    node = BNode()
    graph.add((node, predicate, value))
    return node


def _add_list(graph: Graph, members: Iterable[PropertyPath]) -> Node:
    head: Node = RDF.nil
    for member in reversed(tuple(members)):
        node = _add_node(graph, RDF.first, _add_path(graph, member))
        graph.add((node, RDF.rest, head))
        head = node
    return head
