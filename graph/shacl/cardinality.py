"""Cardinality constraint components: sh:minCount, sh:maxCount.

https://www.w3.org/TR/shacl/#core-components-count
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import ClassVar

from leastwise.graph.shacl.bits import Bits
from leastwise.graph.shacl.constraint import Constraint, Engine, FocusConstraint
from leastwise.graph.shacl.nodes import View
from leastwise.graph.shacl.reader import ShapeReader
from leastwise.graph.shacl.terms import Positions
from leastwise.graph.shacl.vocabulary import sh

__all__ = ["MaxCount", "MinCount", "read"]


@dataclass(frozen=True, slots=True)
class MinCount(FocusConstraint):
    """https://www.w3.org/TR/shacl/#MinCountConstraintComponent."""

    count: int
    component: ClassVar[str] = sh("MinCountConstraintComponent")
    cost: ClassVar[int] = 1

    def failing(self, engine: Engine, view: View) -> Positions:
        """Return the focus node of every violation."""
        return (view.counts() < self.count).nonzero()[0]

    def among(self, engine: Engine, view: View, alive: Bits) -> Bits:
        """Return for which focus nodes of a set the constraint holds."""
        if self.count == 1:
            return alive & view.some()
        return FocusConstraint.among(self, engine, view, alive)

    def describe(self, constants: Sequence[str]) -> str:
        """Say what is violated."""
        return f"Fewer than {self.count} values"


@dataclass(frozen=True, slots=True)
class MaxCount(FocusConstraint):
    """https://www.w3.org/TR/shacl/#MaxCountConstraintComponent."""

    count: int
    component: ClassVar[str] = sh("MaxCountConstraintComponent")
    cost: ClassVar[int] = 1

    def failing(self, engine: Engine, view: View) -> Positions:
        """Return the focus node of every violation."""
        return (view.counts() > self.count).nonzero()[0]

    def among(self, engine: Engine, view: View, alive: Bits) -> Bits:
        """Return for which focus nodes of a set the constraint holds."""
        if self.count == 0:
            return alive & ~view.some()
        return FocusConstraint.among(self, engine, view, alive)

    def describe(self, constants: Sequence[str]) -> str:
        """Say what is violated."""
        return f"More than {self.count} values"


def read(reader: ShapeReader) -> Iterator[Constraint]:
    """Read the components of this section off a shape."""
    reader.only_in_property_shapes("minCount", "MinCountConstraintComponent")
    reader.only_in_property_shapes("maxCount", "MaxCountConstraintComponent")
    for count in reader.integers("minCount", "MinCountConstraintComponent"):
        yield MinCount(count)
    for count in reader.integers("maxCount", "MaxCountConstraintComponent"):
        yield MaxCount(count)
