"""Property pair constraint components: sh:equals, sh:disjoint, sh:lessThan(OrEquals).

https://www.w3.org/TR/shacl/#core-components-property-pairs
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import ClassVar

import numpy as np
from numpy.typing import NDArray

from leastwise.graph.shacl.constraint import Constraint, Engine, PairConstraint, Rows
from leastwise.graph.shacl.nodes import View
from leastwise.graph.shacl.ordering import compare_columns
from leastwise.graph.shacl.reader import ShapeReader
from leastwise.graph.shacl.triples import spans
from leastwise.graph.shacl.vocabulary import sh

__all__ = ["Disjoint", "Equals", "LessThan", "LessThanOrEquals", "read"]


def _keys(view: View) -> NDArray[np.int64]:
    """Return the (focus, value id) pairs packed; distinct."""
    return (view.owner.astype(np.int64) << 32) | view.nodes.ids[view.node]


def _rows(keys: NDArray[np.int64]) -> Rows:
    return Rows((keys >> 32).astype(np.intp), (keys & 0xFFFFFFFF).astype(np.int32))


@dataclass(frozen=True, slots=True)
class Equals(PairConstraint):
    """https://www.w3.org/TR/shacl/#EqualsConstraintComponent."""

    predicate: str
    component: ClassVar[str] = sh("EqualsConstraintComponent")

    def clashes(self, engine: Engine, view: View, other: View) -> Rows:
        """Return a row for every violation."""
        # a value on one side only violates, whichever side it is
        return _rows(np.setxor1d(_keys(view), _keys(other), assume_unique=True))

    def describe(self, constants: Sequence[str]) -> str:
        """Say what is violated."""
        return f"The values differ from those of {self.predicate}"


@dataclass(frozen=True, slots=True)
class Disjoint(PairConstraint):
    """https://www.w3.org/TR/shacl/#DisjointConstraintComponent."""

    predicate: str
    component: ClassVar[str] = sh("DisjointConstraintComponent")

    def clashes(self, engine: Engine, view: View, other: View) -> Rows:
        """Return a row for every violation."""
        return _rows(np.intersect1d(_keys(view), _keys(other), assume_unique=True))

    def describe(self, constants: Sequence[str]) -> str:
        """Say what is violated."""
        return f"Value is also a value of {self.predicate}"


@dataclass(frozen=True, slots=True)
class _Less(PairConstraint):
    """Reports the value node once for every value of the predicate it is not less than."""

    predicate: str
    or_equal: ClassVar[bool]

    def clashes(self, engine: Engine, view: View, other: View) -> Rows:
        starts = other.starts()
        counts = (starts[1:] - starts[:-1])[view.owner]
        mine = np.repeat(np.arange(view.owner.size), counts)
        theirs = spans(starts[view.owner], counts)
        less = compare_columns(
            engine.order(view.nodes),
            view.node[mine],
            engine.order(other.nodes),
            other.node[theirs],
            or_equal=self.or_equal,
        )
        bad = mine[~less]
        return Rows(view.owner[bad], view.nodes.ids[view.node[bad]])


@dataclass(frozen=True, slots=True)
class LessThan(_Less):
    """https://www.w3.org/TR/shacl/#LessThanConstraintComponent."""

    component: ClassVar[str] = sh("LessThanConstraintComponent")
    or_equal: ClassVar[bool] = False

    def describe(self, constants: Sequence[str]) -> str:
        """Say what is violated."""
        return f"Value is not less than a value of {self.predicate}"


@dataclass(frozen=True, slots=True)
class LessThanOrEquals(_Less):
    """https://www.w3.org/TR/shacl/#LessThanOrEqualsConstraintComponent."""

    component: ClassVar[str] = sh("LessThanOrEqualsConstraintComponent")
    or_equal: ClassVar[bool] = True

    def describe(self, constants: Sequence[str]) -> str:
        """Say what is violated."""
        return f"Value is not less than or equal to a value of {self.predicate}"


def read(reader: ShapeReader) -> Iterator[Constraint]:
    """Read the components of this section off a shape."""
    for name in ("lessThan", "lessThanOrEquals"):
        reader.only_in_property_shapes(name, f"{name[0].upper()}{name[1:]}ConstraintComponent")
    for name, kind in (
        ("equals", Equals),
        ("disjoint", Disjoint),
        ("lessThan", LessThan),
        ("lessThanOrEquals", LessThanOrEquals),
    ):
        for term in reader.iris(name, kind.__name__ + "ConstraintComponent"):
            yield kind(reader.predicate(term), term)
