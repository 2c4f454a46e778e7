"""Logical constraint components: sh:not, sh:and, sh:or, sh:xone.

https://www.w3.org/TR/shacl/#core-components-logical
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import ClassVar

import numpy as np

from leastwise.graph.shacl.bits import Bits
from leastwise.graph.shacl.constraint import Constraint, Engine, ValueConstraint
from leastwise.graph.shacl.nodes import Nodes
from leastwise.graph.shacl.reader import ShapeReader
from leastwise.graph.shacl.terms import Flags, Positions
from leastwise.graph.shacl.vocabulary import sh

__all__ = ["And", "Not", "Or", "Xone", "read"]


@dataclass(frozen=True, slots=True)
class Not(ValueConstraint):
    """https://www.w3.org/TR/shacl/#NotConstraintComponent."""

    criterion: int
    component: ClassVar[str] = sh("NotConstraintComponent")
    cost: ClassVar[int] = 5

    def accepts(self, engine: Engine, nodes: Nodes, chosen: Positions | None) -> Flags:
        """Return which of the chosen nodes are acceptable."""
        return ~engine.conforms(self.criterion, nodes, chosen)

    def accepted(self, engine: Engine, nodes: Nodes, alive: Bits) -> Bits:
        """Return which of the nodes of a set are acceptable."""
        return alive ^ engine.meeting(self.criterion, nodes, alive)

    def describe(self, constants: Sequence[str]) -> str:
        """Say what is violated."""
        return "Value conforms to the shape in sh:not"

    def asks(self) -> tuple[int, ...]:
        """Return the criteria referred to."""
        return (self.criterion,)


@dataclass(frozen=True, slots=True)
class _Members(ValueConstraint):
    """Asks each member only about the nodes the members before it left undecided.

    `members` are in order of cost, which changes no verdict.
    """

    members: tuple[int, ...]
    cost: ClassVar[int] = 5

    def asks(self) -> tuple[int, ...]:
        return self.members

    def _search(
        self, engine: Engine, nodes: Nodes, chosen: Positions | None, *, wanted: bool
    ) -> Flags:
        """Return which nodes all members answer `wanted` for."""
        asked, alive = chosen, np.empty(0, dtype=np.intp)
        out = np.zeros(len(nodes) if chosen is None else chosen.size, dtype=np.bool_)
        for number, member in enumerate(self.members):
            verdict = engine.conforms(member, nodes, asked)
            passed = (verdict if wanted else ~verdict).nonzero()[0]
            alive = passed if number == 0 else alive[passed]
            if alive.size == 0:
                return out
            asked = alive if chosen is None else chosen[alive]
        if self.members:
            out[alive] = True
        else:
            out[:] = True
        return out


@dataclass(frozen=True, slots=True)
class And(_Members):
    """https://www.w3.org/TR/shacl/#AndConstraintComponent."""

    component: ClassVar[str] = sh("AndConstraintComponent")

    def accepts(self, engine: Engine, nodes: Nodes, chosen: Positions | None) -> Flags:
        """Return which of the chosen nodes are acceptable."""
        return self._search(engine, nodes, chosen, wanted=True)

    def accepted(self, engine: Engine, nodes: Nodes, alive: Bits) -> Bits:
        """Return which of the nodes of a set are acceptable."""
        for member in self.members:
            if not alive:
                break
            alive = engine.meeting(member, nodes, alive)
        return alive

    def describe(self, constants: Sequence[str]) -> str:
        """Say what is violated."""
        return "Value does not conform to all shapes in sh:and"


@dataclass(frozen=True, slots=True)
class Or(_Members):
    """https://www.w3.org/TR/shacl/#OrConstraintComponent."""

    component: ClassVar[str] = sh("OrConstraintComponent")

    def accepts(self, engine: Engine, nodes: Nodes, chosen: Positions | None) -> Flags:
        """Return which of the chosen nodes are acceptable."""
        return ~self._search(engine, nodes, chosen, wanted=False)

    def accepted(self, engine: Engine, nodes: Nodes, alive: Bits) -> Bits:
        """Return which of the nodes of a set are acceptable."""
        left = alive
        for member in self.members:
            if not left:
                break
            left ^= engine.meeting(member, nodes, left)
        return alive ^ left

    def describe(self, constants: Sequence[str]) -> str:
        """Say what is violated."""
        return "Value conforms to none of the shapes in sh:or"


@dataclass(frozen=True, slots=True)
class Xone(ValueConstraint):
    """https://www.w3.org/TR/shacl/#XoneConstraintComponent.

    A shape listed twice counts twice, so it can never be the one and only.
    """

    members: tuple[int, ...]
    component: ClassVar[str] = sh("XoneConstraintComponent")
    cost: ClassVar[int] = 6

    def accepts(self, engine: Engine, nodes: Nodes, chosen: Positions | None) -> Flags:
        """Return which of the chosen nodes are acceptable."""
        hits = np.zeros(len(nodes) if chosen is None else chosen.size, dtype=np.int32)
        for member in self.members:
            hits += engine.conforms(member, nodes, chosen)
        return np.equal(hits, 1)

    def describe(self, constants: Sequence[str]) -> str:
        """Say what is violated."""
        return "Value does not conform to exactly one of the shapes in sh:xone"

    def asks(self) -> tuple[int, ...]:
        """Return the criteria referred to."""
        return self.members


def read(reader: ShapeReader) -> Iterator[Constraint]:
    """Read the components of this section off a shape."""
    for term in reader.values("not", "NotConstraintComponent"):
        yield Not(reader.criterion("not", term))
    for members in reader.lists("and", "AndConstraintComponent"):
        yield And(reader.by_cost(reader.criterion("and", member) for member in members))
    for members in reader.lists("or", "OrConstraintComponent"):
        yield Or(reader.by_cost(reader.criterion("or", member) for member in members))
    for members in reader.lists("xone", "XoneConstraintComponent"):
        yield Xone(tuple(reader.criterion("xone", member) for member in members))
