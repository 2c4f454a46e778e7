"""Value type constraint components: sh:class, sh:datatype, sh:nodeKind.

https://www.w3.org/TR/shacl/#core-components-value-type
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import ClassVar, Final

import numpy as np

from leastwise.graph.shacl.constraint import (
    CLASS_PATH,
    Constraint,
    Engine,
    TermConstraint,
    ValueConstraint,
    is_small_part,
)
from leastwise.graph.shacl.nodes import Nodes
from leastwise.graph.shacl.reader import ShapeReader
from leastwise.graph.shacl.terms import Flags, Positions
from leastwise.graph.shacl.vocabulary import sh
from leastwise.graph.shacl.xsd import ill_typed

__all__ = ["Class", "Datatype", "NodeKind", "read"]

# The first character of the term strings of each kind.
_KINDS: Final = {
    sh("IRI"): "<",
    sh("BlankNode"): "_",
    sh("Literal"): '"',
    sh("BlankNodeOrIRI"): "_<",
    sh("BlankNodeOrLiteral"): '_"',
    sh("IRIOrLiteral"): '<"',
}


@dataclass(frozen=True, slots=True)
class Class(ValueConstraint):
    """https://www.w3.org/TR/shacl/#ClassConstraintComponent."""

    iri: int
    component: ClassVar[str] = sh("ClassConstraintComponent")
    cost: ClassVar[int] = 2

    def accepts(self, engine: Engine, nodes: Nodes, chosen: Positions | None) -> Flags:
        """Return which of the chosen nodes are acceptable."""
        # SHACL instance: rdf:type/rdfs:subClassOf*, https://www.w3.org/TR/shacl/#def-shacl-instance
        unknown = CLASS_PATH not in nodes.views
        if chosen is not None and unknown and is_small_part(chosen, nodes):
            nodes, chosen = Nodes(nodes.ids[chosen]), None
        flags = np.zeros(len(nodes), dtype=np.bool_)
        flags[engine.view(nodes, CLASS_PATH).owners_of(engine.constant(self.iri))] = True
        return flags if chosen is None else flags[chosen]

    def describe(self, constants: Sequence[str]) -> str:
        """Say what is violated."""
        return f"Value is not an instance of {constants[self.iri]}"


@dataclass(frozen=True, slots=True)
class Datatype(TermConstraint):
    """https://www.w3.org/TR/shacl/#DatatypeConstraintComponent."""

    iri: int
    datatype: str
    component: ClassVar[str] = sh("DatatypeConstraintComponent")

    def test(self, engine: Engine, nodes: Nodes) -> Flags:
        """Return which nodes are acceptable."""
        wanted = self.datatype
        return np.array(
            [
                parts is not None and parts[1] == wanted and not ill_typed(parts[0], wanted)
                for parts in engine.literals(nodes.ids)
            ],
            dtype=np.bool_,
        )

    def describe(self, constants: Sequence[str]) -> str:
        """Say what is violated."""
        return f"Value is not a well-formed literal of datatype {constants[self.iri]}"


@dataclass(frozen=True, slots=True)
class NodeKind(TermConstraint):
    """https://www.w3.org/TR/shacl/#NodeKindConstraintComponent."""

    kind: int
    initials: str
    component: ClassVar[str] = sh("NodeKindConstraintComponent")
    cost: ClassVar[int] = 2

    def test(self, engine: Engine, nodes: Nodes) -> Flags:
        """Return which nodes are acceptable."""
        initials = self.initials
        return np.array([t[0] in initials for t in engine.terms(nodes.ids)], dtype=np.bool_)

    def describe(self, constants: Sequence[str]) -> str:
        """Say what is violated."""
        return f"Value is not of node kind {constants[self.kind]}"


def read(reader: ShapeReader) -> Iterator[Constraint]:
    """Read the components of this section off a shape."""
    for term in reader.iris("class", "ClassConstraintComponent"):
        yield Class(reader.constant(term))
    for term in reader.iris("datatype", "DatatypeConstraintComponent", at_most=1):
        yield Datatype(reader.constant(term), term[1:-1])
    for term in reader.one_of("nodeKind", tuple(_KINDS), "NodeKindConstraintComponent"):
        yield NodeKind(reader.constant(term), _KINDS[term])
