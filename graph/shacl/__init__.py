"""SHACL Core evaluated over columns of integer-coded terms.

Written from the W3C Recommendation of 20 July 2017, https://www.w3.org/TR/shacl/. There are two
doors. :func:`check` takes and gives rdflib graphs. Compiled use needs no rdflib at all::

    terms = TermTable()                       # once
    knowledge = Triples.from_columns(terms, s, p, o)
    compiled = compile_shapes(shapes)         # once; `shapes` is a Triples over any table
    table = terms.child()                     # per request: copy on write, constant time
    ids = table.intern_many(new_term_strings)
    data = knowledge.extended_with(table, s2, p2, o2)
    results = evaluate(compiled, data)        # columns, see Results

The blocks of `knowledge` keep their index from one request to the next. The compiled shapes hold
no ids of the data; if the shapes are numbered in a table that the data's table extends, binding
them to the data costs nothing, otherwise one dictionary look-up per term in the shapes.

>>> from leastwise.graph.shacl import TermTable, Triples, compile_shapes, evaluate, iri, literal
>>> ex, sh = "http://example.org/", "http://www.w3.org/ns/shacl#"
>>> terms = TermTable()
>>> shapes = Triples.from_terms([
...     (iri(ex + "S"), iri(sh + "targetSubjectsOf"), iri(ex + "age")),
...     (iri(ex + "S"), iri(sh + "property"), "_:p"),
...     ("_:p", iri(sh + "path"), iri(ex + "age")),
...     ("_:p", iri(sh + "maxInclusive"), '"9"^^<http://www.w3.org/2001/XMLSchema#integer>'),
... ], terms)
>>> compiled = compile_shapes(shapes)
>>> table = terms.child()
>>> s, p, o = table.intern_many([iri(ex + "doll"), iri(ex + "age"), literal("old")])
>>> results = evaluate(compiled, Triples(table).extended_with(table, [s], [p], [o]))
>>> results.conforms, len(results)
(False, 1)
>>> results.row(0).focus, results.row(0).value, results.row(0).component.rpartition("#")[2]
('<http://example.org/doll>', '"old"', 'MaxInclusiveConstraintComponent>')
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from leastwise.graph.shacl.compiler import compile_shapes
from leastwise.graph.shacl.errors import ShaclError, ShapesGraphError, UnsupportedConstruct
from leastwise.graph.shacl.evaluator import evaluate
from leastwise.graph.shacl.results import ResultRow, Results
from leastwise.graph.shacl.shapes import CompiledShapes
from leastwise.graph.shacl.terms import TermTable, blank, iri, literal, split_literal
from leastwise.graph.shacl.triples import Triples

if TYPE_CHECKING:
    from pathlib import Path

    import rdflib

__all__ = [
    "CompiledShapes",
    "ResultRow",
    "Results",
    "ShaclError",
    "ShapesGraphError",
    "TermTable",
    "Triples",
    "UnsupportedConstruct",
    "blank",
    "check",
    "compile_shapes",
    "evaluate",
    "iri",
    "literal",
    "split_literal",
]


def check(data_graph: rdflib.Graph | Path, shapes_graph: rdflib.Graph | Path) -> rdflib.Graph:
    """Validate a data graph against a shapes graph and return the validation report graph.

    Either is a graph, or the path of a file (.ttl, .nt, .rdf, .jsonld), of which every literal is
    taken as it is written. The two may be one and the same. owl:imports is not followed. Terms of
    a graph are taken as rdflib holds them: unless rdflib.NORMALIZE_LITERALS is False, its parsers
    have already turned ``"01"^^xsd:integer`` into ``1`` and ``"none"^^xsd:boolean`` into
    ``false``, so that what is ill-typed in a file may pass as a graph.

    Raises:
        OSError: a file can't be read.
        SyntaxError: a file isn't what its ending says.
        ValueError: a file's ending isn't known.
        ShapesGraphError: if a shape is ill-formed.
        UnsupportedConstruct: if a shape uses something outside SHACL Core.

    """
    from leastwise.graph.shacl import report  # noqa: PLC0415 - rdflib only on request

    return report.check(data_graph, shapes_graph)
