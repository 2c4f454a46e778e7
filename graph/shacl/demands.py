"""What has to be in the data before a shape can say anything: most shapes are silent on most data.

A shape of one ``sh:not`` is violated only by a node that conforms to what is inside. Where that
asks for certain values along a path, and the path reaches none of them from any node that the
shape aims at, no node conforms, and the shape need not be asked at all.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import NamedTuple

from leastwise.graph.shacl.cardinality import MinCount
from leastwise.graph.shacl.constraint import Constraint
from leastwise.graph.shacl.logical import And, Not
from leastwise.graph.shacl.other import HasValue, In
from leastwise.graph.shacl.shape_based import Node, QualifiedMinCount
from leastwise.graph.shacl.shapes import Criterion, Demand, Shape

__all__ = ["demands_of", "named_by"]


class _Pieces(NamedTuple):
    """The criteria and constraints of a shapes graph, by their indices."""

    criteria: Sequence[Criterion]
    constraints: Sequence[Constraint]


def demands_of(
    shape: Shape, criteria: Sequence[Criterion], constraints: Sequence[Constraint]
) -> tuple[Demand, ...]:
    """Return what the nodes that a shape aims at have to reach, or no result is possible.

    Nothing is returned for a shape that may be violated in another way than by one ``sh:not``.
    """
    asked = [constraints[index] for index in shape.constraints]
    if shape.path >= 0 or len(asked) != 1 or not isinstance(asked[0], Not):
        return ()
    return tuple(dict.fromkeys(_of_criterion(asked[0].criterion, _Pieces(criteria, constraints))))


def named_by(criterion: Criterion, constraints: Sequence[Constraint]) -> tuple[int, ...] | None:
    """Return the constants that alone meet a criterion, or None if it asks for something else."""
    if criterion.path >= 0 or len(criterion.constraints) != 1:
        return None
    asked = constraints[criterion.constraints[0]]
    if isinstance(asked, HasValue):
        return (asked.term,)
    return asked.members if isinstance(asked, In) else None


def _of_criterion(index: int, pieces: _Pieces) -> Iterator[Demand]:
    """Yield what it takes at least to conform to a criterion, the cheapest question first."""
    criterion = pieces.criteria[index]
    asked = [pieces.constraints[one] for one in criterion.constraints]
    if criterion.path < 0:
        for one in asked:
            members = one.members if isinstance(one, And) else ()
            further = (one.criterion,) if isinstance(one, Node) else ()
            for inner in (*members, *further):
                yield from _of_criterion(inner, pieces)
        return
    some = any(isinstance(one, MinCount) and one.count > 0 for one in asked)
    for one in asked:
        terms = _of_constraint(one, pieces, some=some)
        if terms is not None:
            yield Demand(criterion.path, terms)


def _of_constraint(
    constraint: Constraint, pieces: _Pieces, *, some: bool
) -> tuple[int, ...] | None:
    """Return the constants one of which has to be among the values, or None if others will do.

    *some* says whether there has to be a value at all.
    """
    if isinstance(constraint, HasValue):
        return (constraint.term,)
    if isinstance(constraint, In):
        return constraint.members if some else None
    if isinstance(constraint, QualifiedMinCount) and constraint.count > 0:
        inner = pieces.criteria[constraint.criterion]
        if inner.path >= 0:
            return None
        asked = (pieces.constraints[one] for one in inner.constraints)
        found = (_of_constraint(one, pieces, some=True) for one in asked)
        return next((terms for terms in found if terms is not None), None)
    return None
