"""Read access to a shapes graph, in terms."""

from __future__ import annotations

import numpy as np

from leastwise.graph.shacl.triples import Triples
from leastwise.graph.shacl.vocabulary import (
    RDF_FIRST,
    RDF_NIL,
    RDF_REST,
    RDF_TYPE,
    RDFS_SUBCLASS_OF,
)

__all__ = ["NotAListError", "ShapesGraph"]


class NotAListError(Exception):
    """A node is not a SHACL list; the message says why."""


class ShapesGraph:
    """The triples of a shapes graph by subject and by predicate."""

    __slots__ = ("_columns", "_outgoing", "terms")

    def __init__(self, triples: Triples) -> None:
        self.terms = triples.terms
        self._columns = triples.columns()  # sorted by subject
        self._outgoing = self._by_subject()

    def _by_subject(self) -> dict[str, list[tuple[str, str]]]:
        """Return the (predicate, object) pairs of every node, since each is read many times."""
        found: dict[str, list[tuple[str, str]]] = {}
        taken = (self.terms.take(column) for column in self._columns)
        for subject, predicate, value in zip(*taken, strict=True):
            found.setdefault(subject, []).append((predicate, value))
        return found

    def outgoing(self, node: str) -> list[tuple[str, str]]:
        """Return the (predicate, object) pairs of a node."""
        return self._outgoing.get(node, [])

    def values(self, node: str, predicate: str) -> list[str]:
        """Return the values of a predicate at a node."""
        return [value for found, value in self.outgoing(node) if found == predicate]

    def pairs(self, predicate: str) -> list[tuple[str, str]]:
        """Return the (subject, object) pairs of a predicate."""
        s, p, o = self._columns
        rows = np.flatnonzero(p == self.terms.find(predicate))
        both = zip(self.terms.take(s[rows]), self.terms.take(o[rows]), strict=True)
        return list(both)

    def instances(self, name: str) -> set[str]:
        """Return the SHACL instances of a class.

        https://www.w3.org/TR/shacl/#def-shacl-instance
        """
        classes = {name}
        below = self.pairs(RDFS_SUBCLASS_OF)
        while more := {sub for sub, above in below if above in classes} - classes:
            classes |= more
        return {node for node, found in self.pairs(RDF_TYPE) if found in classes}

    def members(self, head: str) -> list[str]:
        """Return the members of a SHACL list, https://www.w3.org/TR/shacl/#def-shacl-list.

        Raises:
            NotAListError: if `head` is not a well-formed list.

        """
        out: list[str] = []
        seen = set()
        node = head
        while node != RDF_NIL:
            if node in seen:
                raise NotAListError(f"a list that comes back to {node}")
            seen.add(node)
            first, rest = self.values(node, RDF_FIRST), self.values(node, RDF_REST)
            if not first and not rest and node == head:
                raise NotAListError(f"{head}, which is not a list")
            if len(first) != 1 or len(rest) != 1:
                raise NotAListError(
                    f"a list with {len(first)} rdf:first and {len(rest)} rdf:rest at {node}"
                )
            out.append(first[0])
            node = rest[0]
        return out
