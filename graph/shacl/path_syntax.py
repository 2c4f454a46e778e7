"""Reading property paths off a shapes graph.

https://www.w3.org/TR/shacl/#property-paths
"""

from __future__ import annotations

from collections.abc import Mapping
from types import MappingProxyType
from typing import Final

from leastwise.graph.shacl.errors import ShapesGraphError
from leastwise.graph.shacl.paths import (
    Alternative,
    Inverse,
    Path,
    Predicate,
    Repeat,
    Repetition,
    Sequence,
)
from leastwise.graph.shacl.shapes_graph import NotAListError, ShapesGraph
from leastwise.graph.shacl.vocabulary import RDF_FIRST, RDF_REST, sh, short

__all__ = ["read_path"]

_REPEATS: Final[Mapping[str, Repeat]] = MappingProxyType(
    {
        sh("zeroOrMorePath"): Repeat.ZERO_OR_MORE,
        sh("oneOrMorePath"): Repeat.ONE_OR_MORE,
        sh("zeroOrOnePath"): Repeat.ZERO_OR_ONE,
    }
)


def read_path(graph: ShapesGraph, shape: str, node: str) -> Path:
    """Return the path that `node` stands for, as a value of sh:path at `shape`.

    Raises:
        ShapesGraphError: if it is not a well-formed property path.

    """
    return _PathReader(graph, shape).read(node, ())


class _PathReader:
    """Reads one path; `above` are the nodes that the current one is nested in."""

    __slots__ = ("_graph", "_shape")

    def __init__(self, graph: ShapesGraph, shape: str) -> None:
        self._graph = graph
        self._shape = shape

    def read(self, node: str, above: tuple[str, ...]) -> Path:
        if node[0] == "<":
            return Predicate(node)
        if node[0] == '"':
            raise self._error(f"the literal {node}", "property-paths")
        if node in above:
            found = f"a path that refers to itself at {node}"
            raise self._error(found, "syntax-rule-path-non-recursive")
        triples = self._graph.outgoing(node)
        above = (*above, node)
        # Of a list with further triples only the list is a path: the other kinds of path must be
        # the subject of exactly one triple.
        if any(predicate in (RDF_FIRST, RDF_REST) for predicate, _ in triples):
            return Sequence(self._members(node, above, "property-path-sequence"))
        if len(triples) != 1:
            found = ", ".join(short(predicate) for predicate, _ in triples) or "no triple"
            raise self._error(f"a path node {node} with {found}", "syntax-rule-path-metarule")
        return self._single(node, *triples[0], above)

    def _single(self, node: str, predicate: str, value: str, above: tuple[str, ...]) -> Path:
        if predicate == sh("alternativePath"):
            return Alternative(self._members(value, above, "property-path-alternative"))
        if predicate == sh("inversePath"):
            return Inverse(self.read(value, above))
        if predicate in _REPEATS:
            return Repetition(self.read(value, above), _REPEATS[predicate])
        found = f"a path node {node} with {short(predicate)}"
        raise self._error(found, "syntax-rule-path-metarule")

    def _members(self, node: str, above: tuple[str, ...], anchor: str) -> tuple[Path, ...]:
        try:
            members = self._graph.members(node)
        except NotAListError as error:
            raise self._error(str(error), anchor) from error
        if len(members) < 2:
            raise self._error(f"a path list with {len(members)} member(s)", anchor)
        return tuple(self.read(member, above) for member in members)

    def _error(self, found: str, anchor: str) -> ShapesGraphError:
        accepted = "a well-formed SHACL property path"
        return ShapesGraphError(self._shape, "sh:path", found, accepted, anchor)
