"""Files of Turtle or N-Triples read into term columns, each literal as it is written.

rdflib's parsers turn ``"01"^^xsd:integer`` into ``1`` and ``"none"^^xsd:boolean`` into ``false``
before anybody can object; here an ill-typed literal stays one.
"""

from __future__ import annotations

from pathlib import Path
from typing import Final

import pyoxigraph

from leastwise.graph.shacl.terms import TermTable, literal
from leastwise.graph.shacl.triples import Triples

__all__ = ["read_file"]

_FORMATS: Final = {
    ".ttl": pyoxigraph.RdfFormat.TURTLE,
    ".nt": pyoxigraph.RdfFormat.N_TRIPLES,
    ".rdf": pyoxigraph.RdfFormat.RDF_XML,
    ".jsonld": pyoxigraph.RdfFormat.JSON_LD,
}


def read_file(path: Path, terms: TermTable) -> Triples:
    """Return the triples of a file, numbered in *terms*; relative IRIs are the file's own.

    Raises:
        OSError: the file can't be read.
        SyntaxError: it isn't what its ending says, with the line.
        ValueError: its ending is none of .ttl, .nt, .rdf and .jsonld.

    """
    form = _FORMATS.get(path.suffix.lower())
    if form is None:
        raise ValueError(f"{path}: expected a file ending in {', '.join(_FORMATS)}")
    quads = pyoxigraph.parse(
        path.read_bytes(),
        format=form,
        base_iri=path.resolve().as_uri(),
        rename_blank_nodes=True,  # those of two files are different ones
    )
    rows = ((str(q.subject), str(q.predicate), _term(q.object)) for q in quads)
    return Triples.from_terms(rows, terms)


def _term(node: object) -> str:
    """Return a node as a term; text is taken as it is, not as N-Triples would escape it."""
    if isinstance(node, pyoxigraph.Literal):
        return literal(node.value, node.datatype.value, node.language)
    return str(node)
