"""Reading the parameters of one shape, with the checks the recommendation asks for."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from typing import Protocol

from leastwise.graph.shacl.errors import ShapesGraphError
from leastwise.graph.shacl.shapes_graph import NotAListError, ShapesGraph
from leastwise.graph.shacl.terms import split_literal
from leastwise.graph.shacl.vocabulary import XSD, sh, short
from leastwise.graph.shacl.xsd import ill_typed

__all__ = ["ShapeReader", "Workshop"]


class Workshop(Protocol):
    """Where the pieces of compiled shapes are collected."""

    def constant(self, term: str) -> int:
        """Return the index of a constant, adding it if new."""
        ...

    def predicate_path(self, iri: str) -> int:
        """Return the path index of a predicate path."""
        ...

    def shape_index(self, node: str) -> int:
        """Return the index of a shape, compiling it if need be."""
        ...

    def refer(self, shape: str, parameter: str, node: str) -> int:
        """Return the criterion of a shape that `shape` refers to."""
        ...

    def by_cost(self, criteria: Iterable[int]) -> tuple[int, ...]:
        """Return the criteria, the cheapest first."""
        ...


class ShapeReader:
    """The parameters of one shape.

    `component` arguments are anchors in the recommendation, named in errors; all names are local
    names in the sh: namespace. Every method raises ShapesGraphError for an ill-formed value.
    """

    __slots__ = ("_graph", "_node", "_values", "_workshop", "is_property_shape")

    def __init__(self, graph: ShapesGraph, node: str, workshop: Workshop) -> None:
        self._graph = graph
        self._node = node
        self._workshop = workshop
        self._values: dict[str, list[str]] = {}
        for predicate, value in graph.outgoing(node):
            self._values.setdefault(predicate, []).append(value)
        self.is_property_shape = sh("path") in self._values

    def ill_formed(self, name: str, found: str, accepted: str, anchor: str) -> ShapesGraphError:
        """Return the error for a value of a property of this shape."""
        return ShapesGraphError(self._node, f"sh:{name}", found, accepted, anchor)

    def predicates(self) -> list[str]:
        """Return every predicate of the shape, as terms."""
        return list(self._values)

    def values(self, name: str, anchor: str, at_most: int | None = None) -> list[str]:
        """Return the values of a property."""
        values = self._values.get(sh(name), [])
        if at_most is not None and len(values) > at_most:
            found = f"{len(values)} values ({', '.join(map(short, values))})"
            raise self.ill_formed(name, found, f"at most {at_most} value", anchor)
        return values

    def iris(self, name: str, anchor: str, at_most: int | None = None) -> list[str]:
        """Return the values of a property that takes IRIs."""
        values = self.values(name, anchor, at_most)
        return [self.checked_iri(name, value, anchor) for value in values]

    def checked_iri(self, name: str, term: str, anchor: str) -> str:
        """Return `term` if it is an IRI."""
        if term[0] != "<":
            raise self.ill_formed(name, term, "an IRI", anchor)
        return term

    def one_of(self, name: str, accepted: tuple[str, ...], anchor: str) -> list[str]:
        """Return the value, if any, of a property that takes one of a few IRIs."""
        values = self.values(name, anchor, at_most=1)
        for value in values:
            if value not in accepted:
                raise self.ill_formed(
                    name, value, "one of " + ", ".join(map(short, accepted)), anchor
                )
        return values

    def literals(self, name: str, anchor: str) -> list[str]:
        """Return the value, if any, of a property that takes one literal."""
        values = self.values(name, anchor, at_most=1)
        for value in values:
            if value[0] != '"':
                raise self.ill_formed(name, value, "a literal", anchor)
        return values

    def integers(self, name: str, anchor: str) -> list[int]:
        """Return the value, if any, of a property that takes one xsd:integer."""
        out = []
        for value in self.values(name, anchor, at_most=1):
            lexical, datatype, _ = split_literal(value) if value[0] == '"' else (value, "", "")
            if datatype != f"{XSD}integer" or ill_typed(lexical, datatype):
                raise self.ill_formed(name, value, "an xsd:integer literal", anchor)
            out.append(int(lexical))
        return out

    def boolean(self, name: str, anchor: str) -> str:
        """Return the lexical form, if any, of a property that takes an xsd:boolean, or ""."""
        for value in self.values(name, anchor, at_most=1):
            lexical, datatype, _ = split_literal(value) if value[0] == '"' else (value, "", "")
            if datatype != f"{XSD}boolean" or ill_typed(lexical, datatype):
                raise self.ill_formed(name, value, "an xsd:boolean literal", anchor)
            return lexical
        return ""

    def checked_string(self, name: str, term: str, anchor: str) -> str:
        """Return the lexical form of `term` if it is an xsd:string literal."""
        if term[0] == '"':
            lexical, datatype, _ = split_literal(term)
            if datatype == f"{XSD}string":
                return lexical
        raise self.ill_formed(name, term, "an xsd:string literal", anchor)

    def lists(self, name: str, anchor: str, at_most: int | None = None) -> Iterator[list[str]]:
        """Yield the members of each value of a property that takes SHACL lists."""
        for head in self.values(name, anchor, at_most):
            try:
                yield self._graph.members(head)
            except NotAListError as error:
                accepted = "a SHACL list (rdf:first and rdf:rest once each, down to rdf:nil)"
                raise self.ill_formed(name, str(error), accepted, anchor) from error

    def only_in_property_shapes(self, name: str, anchor: str) -> None:
        """Refuse a parameter that node shapes must not have."""
        if not self.is_property_shape and sh(name) in self._values:
            raise self.ill_formed(
                name, "used in a node shape", "use in property shapes only", anchor
            )

    def property_predicates(self) -> list[str]:
        """Return the predicates that are the sh:path of the shape's property shapes."""
        shapes = self._values.get(sh("property"), [])
        paths = [path for shape in shapes for path in self._graph.values(shape, sh("path"))]
        return [path for path in paths if path[0] == "<"]

    def sibling_shapes(self, own: str) -> list[str]:
        """Return the sibling shapes of this shape, whose qualified value shape is `own`.

        https://www.w3.org/TR/shacl/#dfn-sibling-shapes
        """
        siblings = set()
        for parent, child in self._graph.pairs(sh("property")):
            if child == self._node:
                for sister in self._graph.values(parent, sh("property")):
                    siblings.update(self._graph.values(sister, sh("qualifiedValueShape")))
        return sorted(siblings - {own})

    def constant(self, term: str) -> int:
        """Return the index of a constant."""
        return self._workshop.constant(term)

    def predicate(self, iri: str) -> int:
        """Return the path index of a predicate path."""
        return self._workshop.predicate_path(iri)

    def criterion(self, parameter: str, node: str) -> int:
        """Return the criterion of a shape this shape refers to."""
        return self._workshop.refer(self._node, parameter, node)

    def shape_index(self, node: str) -> int:
        """Return the index of a shape this shape refers to."""
        return self._workshop.shape_index(node)

    def by_cost(self, criteria: Iterable[int]) -> tuple[int, ...]:
        """Return the criteria, the cheapest first."""
        return self._workshop.by_cost(criteria)
