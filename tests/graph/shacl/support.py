"""Reading reports as rows, and running the referee."""

from __future__ import annotations

import logging
import warnings
from collections import Counter
from collections.abc import Iterator
from contextlib import contextmanager
from typing import NamedTuple

import pyshacl
import rdflib
from rdflib import RDF, Graph, Namespace
from rdflib.term import Node

from leastwise.graph.shacl import check

SH = Namespace("http://www.w3.org/ns/shacl#")
EX = Namespace("http://example.org/")
PREFIXES = """
@prefix ex: <http://example.org/> .
@prefix owl: <http://www.w3.org/2002/07/owl#> .
@prefix rdf: <http://www.w3.org/1999/02/22-rdf-syntax-ns#> .
@prefix rdfs: <http://www.w3.org/2000/01/rdf-schema#> .
@prefix sh: <http://www.w3.org/ns/shacl#> .
@prefix xsd: <http://www.w3.org/2001/XMLSchema#> .
"""


class Row(NamedTuple):
    focus: Node | None
    path: object
    value: Node | None
    shape: Node | None
    component: str
    severity: Node | None


def graph_of(turtle: str) -> Graph:
    """Parse Turtle with the prefixes above; lexical forms stay as they are written."""
    before, rdflib.NORMALIZE_LITERALS = rdflib.NORMALIZE_LITERALS, False
    try:
        with quiet():
            return Graph().parse(data=PREFIXES + turtle, format="turtle")
    finally:
        rdflib.NORMALIZE_LITERALS = before


def path_of(graph: Graph, node: Node | None) -> object:
    """Return the structure of a path, so that paths compare whatever their blank nodes."""
    if node is None or isinstance(node, rdflib.URIRef):
        return node
    if (node, RDF.first, None) in graph:
        return tuple(path_of(graph, member) for member in graph.items(node))
    ((predicate, value),) = graph.predicate_objects(node)
    return (predicate, path_of(graph, value))


def rows_of(report: Graph) -> Counter[Row]:
    """Return the results of a report, with how often each occurs; nested details do not count."""
    (node,) = report.subjects(RDF.type, SH.ValidationReport)
    rows: Counter[Row] = Counter()
    for result in report.objects(node, SH.result):
        rows[
            Row(
                report.value(result, SH.focusNode),
                path_of(report, report.value(result, SH.resultPath)),
                report.value(result, SH.value),
                report.value(result, SH.sourceShape),
                str(report.value(result, SH.sourceConstraintComponent)).rpartition("#")[2],
                report.value(result, SH.resultSeverity),
            )
        ] += 1
    return rows


@contextmanager
def quiet() -> Iterator[None]:
    """Silence rdflib and pySHACL about literals that are ill-typed on purpose."""
    logging.disable(logging.CRITICAL)
    try:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")
            yield
    finally:
        logging.disable(logging.NOTSET)


def ours(data: Graph, shapes: Graph) -> Counter[Row]:
    with quiet():
        return rows_of(check(data, shapes))


def referee(data: Graph, shapes: Graph) -> Counter[Row]:
    with quiet():
        report = pyshacl.validate(data, shacl_graph=shapes, advanced=False)[1]
    assert isinstance(report, Graph), report
    return rows_of(report)
