"""Value range constraint components: sh:min and sh:max, Exclusive and Inclusive.

https://www.w3.org/TR/shacl/#core-components-range
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import ClassVar

import numpy as np

from leastwise.graph.shacl.constraint import Constraint, Engine, TermConstraint
from leastwise.graph.shacl.nodes import Nodes
from leastwise.graph.shacl.ordering import Comparable, OrderColumn, comparable, compare_columns
from leastwise.graph.shacl.reader import ShapeReader
from leastwise.graph.shacl.terms import Flags, split_literal
from leastwise.graph.shacl.vocabulary import sh

__all__ = ["MaxExclusive", "MaxInclusive", "MinExclusive", "MinInclusive", "read"]


@dataclass(frozen=True, slots=True)
class _Bound(TermConstraint):
    """Compares the value nodes with one literal; what cannot be compared is out of bounds."""

    literal: int
    bound: Comparable
    is_minimum: ClassVar[bool]
    or_equal: ClassVar[bool]
    sign: ClassVar[str]

    def test(self, engine: Engine, nodes: Nodes) -> Flags:
        values = engine.order(nodes)
        bound = OrderColumn.of([self.bound])
        every = np.arange(len(nodes))
        only = np.zeros(len(nodes), dtype=np.intp)
        if self.is_minimum:
            return compare_columns(bound, only, values, every, or_equal=self.or_equal)
        return compare_columns(values, every, bound, only, or_equal=self.or_equal)

    def describe(self, constants: Sequence[str]) -> str:
        return f"Value is not {self.sign} {constants[self.literal]}"


@dataclass(frozen=True, slots=True)
class MinExclusive(_Bound):
    """https://www.w3.org/TR/shacl/#MinExclusiveConstraintComponent."""

    component: ClassVar[str] = sh("MinExclusiveConstraintComponent")
    is_minimum: ClassVar[bool] = True
    or_equal: ClassVar[bool] = False
    sign: ClassVar[str] = ">"


@dataclass(frozen=True, slots=True)
class MinInclusive(_Bound):
    """https://www.w3.org/TR/shacl/#MinInclusiveConstraintComponent."""

    component: ClassVar[str] = sh("MinInclusiveConstraintComponent")
    is_minimum: ClassVar[bool] = True
    or_equal: ClassVar[bool] = True
    sign: ClassVar[str] = ">="


@dataclass(frozen=True, slots=True)
class MaxExclusive(_Bound):
    """https://www.w3.org/TR/shacl/#MaxExclusiveConstraintComponent."""

    component: ClassVar[str] = sh("MaxExclusiveConstraintComponent")
    is_minimum: ClassVar[bool] = False
    or_equal: ClassVar[bool] = False
    sign: ClassVar[str] = "<"


@dataclass(frozen=True, slots=True)
class MaxInclusive(_Bound):
    """https://www.w3.org/TR/shacl/#MaxInclusiveConstraintComponent."""

    component: ClassVar[str] = sh("MaxInclusiveConstraintComponent")
    is_minimum: ClassVar[bool] = False
    or_equal: ClassVar[bool] = True
    sign: ClassVar[str] = "<="


def read(reader: ShapeReader) -> Iterator[Constraint]:
    """Read the components of this section off a shape."""
    for name, kind in (
        ("minExclusive", MinExclusive),
        ("minInclusive", MinInclusive),
        ("maxExclusive", MaxExclusive),
        ("maxInclusive", MaxInclusive),
    ):
        for term in reader.literals(name, kind.__name__ + "ConstraintComponent"):
            yield kind(reader.constant(term), comparable(*split_literal(term)))
