"""Compiled shapes: the shapes graph as an immutable model of indices and constants."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import NamedTuple

from leastwise.graph.shacl.constraint import Constraint
from leastwise.graph.shacl.paths import CompiledPath
from leastwise.graph.shacl.terms import TermTable

__all__ = ["CompiledShapes", "Criterion", "Demand", "Shape", "Targets"]


@dataclass(frozen=True, slots=True)
class Targets:
    """Target declarations, https://www.w3.org/TR/shacl/#targets; all are constants.

    Implicit class targets are among the classes.
    """

    nodes: tuple[int, ...]
    classes: tuple[int, ...]
    subjects_of: tuple[int, ...]
    objects_of: tuple[int, ...]

    def __bool__(self) -> bool:
        return bool(self.nodes or self.classes or self.subjects_of or self.objects_of)


@dataclass(frozen=True, slots=True)
class Shape:
    """A shape as results see it.

    Attributes:
        node: the shape itself, as a term.
        path: path index, -1 for a node shape.
        deactivated: https://www.w3.org/TR/shacl/#deactivated.
        severity: index into the severities.
        messages: literal terms.
        targets: index into the target declarations, -1 without any.
        constraints: indices into the constraints.
        criterion: what it takes to conform to the shape.

    """

    node: str
    path: int
    deactivated: bool
    severity: int
    messages: tuple[str, ...]
    targets: int
    constraints: tuple[int, ...]
    criterion: int


@dataclass(frozen=True, slots=True)
class Criterion:
    """A shape as conformance checking sees it: shapes that ask the same share one criterion.

    Attributes:
        path: path index, -1 for a node shape.
        constraints: indices into the constraints, the cheapest first.
        uses: how many references there are to it.

    """

    path: int
    constraints: tuple[int, ...]
    uses: int


class Demand(NamedTuple):
    """Along a path (an index) one of some constants has to be reached."""

    path: int
    constants: tuple[int, ...]


@dataclass(frozen=True, slots=True, eq=False)
class CompiledShapes:
    """A checked shapes graph, ready to be evaluated against any number of data graphs.

    Attributes:
        shapes: every shape, the referenced ones before those that refer to them.
        aimed: the shapes (indices) that have targets and are not deactivated.
        demands: for each shape what it takes at least to violate it, where that is known.
        criteria: what the shapes ask, see :class:`Criterion`.
        named: for each criterion the constants that alone meet it, where it asks for no more.
        constraints: all constraints; results point here for what was violated.
        paths: the distinct paths.
        targets: the distinct target declarations.
        components: constraint component IRIs (terms) that results point to.
        severities: severity IRIs (terms) that results point to.
        constants: every term the shapes compare data with.
        constant_ids: the ids of the constants in `terms`, -1 where it lacks them.
        terms: the term table of the shapes graph.
        term_count: the length of that table at the time.

    """

    shapes: tuple[Shape, ...]
    aimed: tuple[int, ...]
    demands: tuple[tuple[Demand, ...], ...]
    criteria: tuple[Criterion, ...]
    named: tuple[tuple[int, ...] | None, ...]
    constraints: tuple[Constraint, ...]
    paths: tuple[CompiledPath, ...]
    targets: tuple[Targets, ...]
    components: tuple[str, ...]
    severities: tuple[str, ...]
    constants: tuple[str, ...]
    constant_ids: tuple[int, ...]
    terms: TermTable
    term_count: int

    def constants_in(self, terms: TermTable) -> list[int]:
        """Return the id of every constant in a term table, -1 where it lacks it."""
        if not terms.extends(self.terms, self.term_count):
            return [terms.find(term) for term in self.constants]
        known: Sequence[int] = self.constant_ids
        return [
            index if index >= 0 else terms.find(term)
            for index, term in zip(known, self.constants, strict=True)
        ]
