"""What every constraint can do, and the three ways constraints look at value nodes."""

from __future__ import annotations

from abc import ABC, abstractmethod
from collections.abc import Sequence
from dataclasses import dataclass
from typing import ClassVar, Protocol

import numpy as np

from leastwise.graph.shacl.bits import Bits, of_positions, positions
from leastwise.graph.shacl.nodes import Nodes, View, ranked
from leastwise.graph.shacl.ordering import OrderColumn
from leastwise.graph.shacl.terms import Flags, Ids, Positions

__all__ = [
    "CLASS_PATH",
    "INSTANCE_PATH",
    "WHOLE_SET_SHARE",
    "Constraint",
    "Engine",
    "FocusConstraint",
    "PairConstraint",
    "Rows",
    "TermConstraint",
    "ValueConstraint",
    "is_small_part",
    "names",
]

# Two paths every compiled shapes graph has, whatever its shapes say.
CLASS_PATH = 0  # rdf:type/rdfs:subClassOf*, from an instance to its classes
INSTANCE_PATH = 1  # the inverse, from a class to its instances

# A conclusion is drawn for a whole set of nodes, and kept, unless a question is about less than
# one part in this many of the set.
WHOLE_SET_SHARE = 8


def is_small_part(chosen: Positions | None, nodes: Nodes) -> bool:
    """Return whether a question about the chosen nodes is not worth asking about all of them."""
    return chosen is not None and chosen.size * WHOLE_SET_SHARE < len(nodes)


class Engine(Protocol):
    """What constraints ask of the evaluation they take part in."""

    def constant(self, index: int) -> int:
        """Return the term id of a constant of the shapes, -1 if the data does not have it."""
        ...

    def view(self, nodes: Nodes, path: int) -> View:
        """Return the value nodes of `nodes` for a path index (-1: of a node shape)."""
        ...

    def conforms(self, criterion: int, nodes: Nodes, chosen: Positions | None) -> Flags:
        """Return whether each of the `chosen` nodes (all if None) meets a criterion."""
        ...

    def meeting(self, criterion: int, nodes: Nodes, alive: Bits) -> Bits:
        """Return which of the nodes of a set meet a criterion."""
        ...

    def named(self, criterion: int) -> tuple[int, ...] | None:
        """Return the constants that alone meet a criterion, None if it asks for something else."""
        ...

    def terms(self, ids: Ids) -> Sequence[str]:
        """Return the term strings of `ids`."""
        ...

    def literals(self, ids: Ids) -> Sequence[tuple[str, str, str] | None]:
        """Return (lexical form, datatype, language) of each term, None where not a literal."""
        ...

    def order(self, nodes: Nodes) -> OrderColumn:
        """Return the nodes as comparable values."""
        ...

    def outgoing(self, ids: Ids) -> tuple[Positions, Ids, Ids]:
        """Return (position in `ids`, predicate, object) of every distinct triple from `ids`."""
        ...


@dataclass(frozen=True, slots=True, eq=False)
class Rows:
    """Violations as parallel columns.

    Attributes:
        focus: the position of the focus node.
        value: the term id of the value node; None if the component reports no value.
        predicate: the predicate id sh:closed objects to; None for other components.

    """

    focus: Positions
    value: Ids | None = None
    predicate: Ids | None = None


def names(constants: Sequence[str], indices: Sequence[int]) -> str:
    """Return some constants for a message."""
    return ", ".join(constants[i] for i in indices)


@dataclass(frozen=True, slots=True)
class Constraint(ABC):
    """One constraint: a component with the values of its parameters.

    Terms are indices into the constants of the compiled shapes, shapes are criterion indices.
    """

    component: ClassVar[str]
    cost: ClassVar[int] = 3  # of a decision, relative to the other components

    @abstractmethod
    def holds(self, engine: Engine, view: View, chosen: Positions | None) -> Flags:
        """Return, for each chosen focus node of the view, whether the constraint holds."""

    def among(self, engine: Engine, view: View, alive: Bits) -> Bits:
        """Return for which focus nodes of a set the constraint holds."""
        return view.focus.flagged(alive, lambda chosen: self.holds(engine, view, chosen))

    @abstractmethod
    def rows(self, engine: Engine, view: View) -> Rows:
        """Return a row for every violation among all focus nodes of the view."""

    @abstractmethod
    def describe(self, constants: Sequence[str]) -> str:
        """Return the message used when the shape has none: what is violated."""

    def asks(self) -> tuple[int, ...]:
        """Return the criteria that the constraint refers to."""
        return ()


@dataclass(frozen=True, slots=True)
class ValueConstraint(Constraint):
    """Judges each value node on its own; a violation reports the value node."""

    @abstractmethod
    def accepts(self, engine: Engine, nodes: Nodes, chosen: Positions | None) -> Flags:
        """Return whether each of the chosen nodes (all if None) is acceptable as a value node."""

    def holds(self, engine: Engine, view: View, chosen: Positions | None) -> Flags:
        """Return for which of the chosen focus nodes the constraint holds."""
        if view.identity:
            return self.accepts(engine, view.nodes, chosen)
        part = view.select(chosen)
        return part.without(~self._accepted_pairs(engine, part))

    def among(self, engine: Engine, view: View, alive: Bits) -> Bits:
        """Return for which focus nodes of a set the constraint holds."""
        if view.identity:
            return self.accepted(engine, view.nodes, alive)
        return Constraint.among(self, engine, view, alive)

    def accepted(self, engine: Engine, nodes: Nodes, alive: Bits) -> Bits:
        """Return which of the nodes of a set are acceptable as value nodes."""
        return nodes.flagged(alive, lambda chosen: self.accepts(engine, nodes, chosen))

    def rows(self, engine: Engine, view: View) -> Rows:
        """Return a row for every violation."""
        if view.identity:
            every = view.focus.every
            bad = positions(every ^ self.among(engine, view, every), view.size)
            return Rows(bad, view.nodes.ids[bad])
        bad = (~self._accepted_pairs(engine, view)).nonzero()[0]
        return Rows(view.owner[bad], view.nodes.ids[view.node[bad]])

    def _accepted_pairs(self, engine: Engine, view: View) -> Flags:
        if not is_small_part(view.node, view.nodes):
            return self.accepts(engine, view.nodes, None)[view.node]
        asked, place = ranked(view.node, len(view.nodes))
        return self.accepts(engine, view.nodes, asked)[place]


@dataclass(frozen=True, slots=True)
class TermConstraint(ValueConstraint):
    """Judges a value node by its term alone."""

    @abstractmethod
    def test(self, engine: Engine, nodes: Nodes) -> Flags:
        """Return whether each node is acceptable; shape (len(nodes),)."""

    def accepts(self, engine: Engine, nodes: Nodes, chosen: Positions | None) -> Flags:
        """Return which of the chosen nodes are acceptable."""
        known = nodes.accepted.get(id(self))
        if known is None:
            if chosen is not None and is_small_part(chosen, nodes):
                return self.test(engine, Nodes(nodes.ids[chosen]))
            known = nodes.accepted[id(self)] = self.test(engine, nodes)
        return known if chosen is None else known[chosen]

    def among(self, engine: Engine, view: View, alive: Bits) -> Bits:
        """Return for which focus nodes of a set the constraint holds."""
        if view.identity or alive.bit_count() * WHOLE_SET_SHARE < view.size:
            return ValueConstraint.among(self, engine, view, alive)
        accepted = self.accepts(engine, view.nodes, None)
        if accepted.all():
            return alive
        return alive & ~of_positions(view.owner[~accepted[view.node]], view.size)


@dataclass(frozen=True, slots=True)
class FocusConstraint(Constraint):
    """Judges the value nodes of a focus node together; a violation reports no value node."""

    @abstractmethod
    def failing(self, engine: Engine, view: View) -> Positions:
        """Return the number of the focus node of every violation."""

    def holds(self, engine: Engine, view: View, chosen: Positions | None) -> Flags:
        """Return for which of the chosen focus nodes the constraint holds."""
        part = view.select(chosen)
        good = np.ones(part.size, dtype=np.bool_)
        good[self.failing(engine, part)] = False
        return good

    def rows(self, engine: Engine, view: View) -> Rows:
        """Return a row for every violation."""
        return Rows(self.failing(engine, view))


@dataclass(frozen=True, slots=True)
class PairConstraint(Constraint):
    """Compares the value nodes with the values of a predicate (a path index) at the focus node."""

    path: int

    @abstractmethod
    def clashes(self, engine: Engine, view: View, other: View) -> Rows:
        """Return the violations; `other` has the values of the predicate, for the same focus."""

    def holds(self, engine: Engine, view: View, chosen: Positions | None) -> Flags:
        """Return for which of the chosen focus nodes the constraint holds."""
        other = engine.view(view.focus, self.path).select(chosen)
        part = view.select(chosen)
        good = np.ones(part.size, dtype=np.bool_)
        good[self.clashes(engine, part, other).focus] = False
        return good

    def rows(self, engine: Engine, view: View) -> Rows:
        """Return a row for every violation."""
        return self.clashes(engine, view, engine.view(view.focus, self.path))
