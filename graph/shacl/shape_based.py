"""Shape-based constraint components: sh:node, sh:property, sh:qualifiedValueShape.

https://www.w3.org/TR/shacl/#core-components-shape
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import ClassVar

import numpy as np

from leastwise.graph.shacl.bits import Bits, flags, of_positions
from leastwise.graph.shacl.constraint import (
    WHOLE_SET_SHARE,
    Constraint,
    Engine,
    FocusConstraint,
    ValueConstraint,
)
from leastwise.graph.shacl.nodes import Nodes, View, ranked
from leastwise.graph.shacl.reader import ShapeReader
from leastwise.graph.shacl.terms import Flags, Ids, Positions
from leastwise.graph.shacl.vocabulary import sh

__all__ = ["Node", "Property", "QualifiedMaxCount", "QualifiedMinCount", "read"]


@dataclass(frozen=True, slots=True)
class Node(ValueConstraint):
    """https://www.w3.org/TR/shacl/#NodeConstraintComponent."""

    criterion: int
    shape: str
    component: ClassVar[str] = sh("NodeConstraintComponent")
    cost: ClassVar[int] = 4

    def accepts(self, engine: Engine, nodes: Nodes, chosen: Positions | None) -> Flags:
        """Return which of the chosen nodes are acceptable."""
        return engine.conforms(self.criterion, nodes, chosen)

    def accepted(self, engine: Engine, nodes: Nodes, alive: Bits) -> Bits:
        """Return which of the nodes of a set are acceptable."""
        return engine.meeting(self.criterion, nodes, alive)

    def describe(self, constants: Sequence[str]) -> str:
        """Say what is violated."""
        return f"Value does not conform to the shape {self.shape}"

    def asks(self) -> tuple[int, ...]:
        """Return the criteria referred to."""
        return (self.criterion,)


@dataclass(frozen=True, slots=True)
class Property(ValueConstraint):
    """https://www.w3.org/TR/shacl/#PropertyConstraintComponent.

    Its results are those of the property shape (an index) at each value node, so the evaluator
    asks the shape for them and this constraint for conformance only.
    """

    criterion: int
    shape: int
    component: ClassVar[str] = sh("PropertyConstraintComponent")
    cost: ClassVar[int] = 4

    def accepts(self, engine: Engine, nodes: Nodes, chosen: Positions | None) -> Flags:
        """Return which of the chosen nodes are acceptable."""
        return engine.conforms(self.criterion, nodes, chosen)

    def accepted(self, engine: Engine, nodes: Nodes, alive: Bits) -> Bits:
        """Return which of the nodes of a set are acceptable."""
        return engine.meeting(self.criterion, nodes, alive)

    def describe(self, constants: Sequence[str]) -> str:
        """Say what is violated."""
        return "Value does not conform to the property shape"

    def asks(self) -> tuple[int, ...]:
        """Return the criteria referred to."""
        return (self.criterion,)


@dataclass(frozen=True, slots=True)
class _Qualified(FocusConstraint):
    """Counts the value nodes that conform to a shape and to none of its sibling shapes."""

    count: int
    criterion: int
    siblings: tuple[int, ...]
    cost: ClassVar[int] = 6

    def asks(self) -> tuple[int, ...]:
        return (self.criterion, *self.siblings)

    def _counted(self, engine: Engine, view: View) -> Ids:
        asked, place = ranked(view.node, len(view.nodes))
        counted = engine.conforms(self.criterion, view.nodes, asked)
        for sibling in self.siblings:
            counted = counted & ~engine.conforms(sibling, view.nodes, asked)
        owners = view.owner[counted[place]]
        return np.bincount(owners, minlength=view.size).astype(np.int32)


@dataclass(frozen=True, slots=True)
class QualifiedMinCount(_Qualified):
    """https://www.w3.org/TR/shacl/#QualifiedMinCountConstraintComponent."""

    component: ClassVar[str] = sh("QualifiedMinCountConstraintComponent")

    def among(self, engine: Engine, view: View, alive: Bits) -> Bits:
        """Return for which focus nodes of a set the constraint holds."""
        named = engine.named(self.criterion)
        if self.count != 1 or self.siblings:
            return FocusConstraint.among(self, engine, view, alive)
        if named is None:
            return self._any_meeting(engine, view, alive)
        return alive & view.reaching_any(map(engine.constant, named))

    def _any_meeting(self, engine: Engine, view: View, alive: Bits) -> Bits:
        """Return which focus nodes of a set have one value node that meets the criterion."""
        if alive.bit_count() * WHOLE_SET_SHARE < view.size:
            return FocusConstraint.among(self, engine, view, alive)
        meeting = engine.meeting(self.criterion, view.nodes, view.nodes.every)
        if not meeting:
            return meeting
        good = flags(meeting, len(view.nodes))
        return alive & of_positions(view.owner[good[view.node]], view.size)

    def failing(self, engine: Engine, view: View) -> Positions:
        """Return the focus node of every violation."""
        return np.flatnonzero(self._counted(engine, view) < self.count)

    def describe(self, constants: Sequence[str]) -> str:
        """Say what is violated."""
        return f"Fewer than {self.count} values conform to the qualified value shape"


@dataclass(frozen=True, slots=True)
class QualifiedMaxCount(_Qualified):
    """https://www.w3.org/TR/shacl/#QualifiedMaxCountConstraintComponent."""

    component: ClassVar[str] = sh("QualifiedMaxCountConstraintComponent")

    def failing(self, engine: Engine, view: View) -> Positions:
        """Return the focus node of every violation."""
        return np.flatnonzero(self._counted(engine, view) > self.count)

    def describe(self, constants: Sequence[str]) -> str:
        """Say what is violated."""
        return f"More than {self.count} values conform to the qualified value shape"


def read(reader: ShapeReader) -> Iterator[Constraint]:
    """Read the components of this section off a shape."""
    for term in reader.values("node", "NodeConstraintComponent"):
        yield Node(reader.criterion("node", term), term)
    for term in reader.values("property", "PropertyConstraintComponent"):
        yield Property(reader.criterion("property", term), reader.shape_index(term))
    yield from _read_qualified(reader)


def _read_qualified(reader: ShapeReader) -> Iterator[Constraint]:
    """Read the one component with up to four parameters.

    Without a shape, or without a count, no constraint is declared and the other parameters say
    nothing: https://www.w3.org/TR/shacl/#constraint-components-parameters
    """
    component = "QualifiedValueShapeConstraintComponent"
    shapes = reader.values("qualifiedValueShape", component, at_most=1)
    minimum = list(reader.integers("qualifiedMinCount", component))
    maximum = list(reader.integers("qualifiedMaxCount", component))
    disjoint = reader.boolean("qualifiedValueShapesDisjoint", component) == "true"
    for shape in shapes:
        criterion = reader.criterion("qualifiedValueShape", shape)
        siblings: tuple[int, ...] = ()
        if disjoint and (minimum or maximum):
            terms = reader.sibling_shapes(shape)
            siblings = tuple(reader.criterion("qualifiedValueShape", term) for term in terms)
        for count in minimum:
            yield QualifiedMinCount(count, criterion, siblings)
        for count in maximum:
            yield QualifiedMaxCount(count, criterion, siblings)
