"""Other constraint components: sh:closed, sh:hasValue, sh:in.

https://www.w3.org/TR/shacl/#core-components-others
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import ClassVar

import numpy as np

from leastwise.graph.shacl.bits import Bits
from leastwise.graph.shacl.constraint import (
    Constraint,
    Engine,
    FocusConstraint,
    Rows,
    TermConstraint,
    names,
)
from leastwise.graph.shacl.nodes import Nodes, View, ranked
from leastwise.graph.shacl.reader import ShapeReader
from leastwise.graph.shacl.terms import Flags, Ids, Positions
from leastwise.graph.shacl.vocabulary import sh

__all__ = ["Closed", "HasValue", "In", "read"]


@dataclass(frozen=True, slots=True)
class Closed(Constraint):
    """https://www.w3.org/TR/shacl/#ClosedConstraintComponent."""

    allowed: tuple[int, ...]  # constants, in order
    component: ClassVar[str] = sh("ClosedConstraintComponent")

    def _surplus(self, engine: Engine, view: View) -> tuple[Positions, Ids, Ids]:
        """Return (pair of the view, predicate, object) for every triple that is not allowed."""
        place, predicate, value = engine.outgoing(view.nodes.ids)
        allowed = np.array([engine.constant(i) for i in self.allowed], dtype=np.int32)
        bad = ~np.isin(predicate, allowed)
        index, pairs = _pairs_with(view, place[bad])
        return pairs, predicate[bad][index], value[bad][index]

    def holds(self, engine: Engine, view: View, chosen: Positions | None) -> Flags:
        """Return for which of the chosen focus nodes the constraint holds."""
        part = view.select(chosen)
        if not part.identity and part.node.size < len(part.nodes):
            asked, place = ranked(part.node, len(part.nodes))
            nodes = Nodes(part.nodes.ids[asked])
            part = View(part.size, part.focus, part.owner, place, nodes)
        good = np.ones(part.size, dtype=np.bool_)
        good[part.owner[self._surplus(engine, part)[0]]] = False
        return good

    def rows(self, engine: Engine, view: View) -> Rows:
        """Return a row for every violation."""
        pairs, predicate, value = self._surplus(engine, view)
        return Rows(view.owner[pairs], value, predicate)

    def describe(self, constants: Sequence[str]) -> str:
        """Say what is violated."""
        return f"Predicate is not one of ({names(constants, self.allowed)})"


def _pairs_with(view: View, places: Positions) -> tuple[Positions, Positions]:
    """Return every (index into `places`, pair of the view) such that the pair's node is there."""
    if view.identity:
        return np.arange(places.size), places
    order = np.argsort(view.node, kind="stable")
    first = np.searchsorted(view.node[order], places)
    counts = np.searchsorted(view.node[order], places, side="right") - first
    index = np.repeat(np.arange(places.size), counts)
    offset = np.arange(index.size) - np.repeat(np.cumsum(counts) - counts, counts)
    return index, order[np.repeat(first, counts) + offset]


@dataclass(frozen=True, slots=True)
class HasValue(FocusConstraint):
    """https://www.w3.org/TR/shacl/#HasValueConstraintComponent."""

    term: int
    component: ClassVar[str] = sh("HasValueConstraintComponent")
    cost: ClassVar[int] = 0

    def holds(self, engine: Engine, view: View, chosen: Positions | None) -> Flags:
        """Return for which of the chosen focus nodes the constraint holds."""
        flags = np.zeros(view.size, dtype=np.bool_)
        flags[view.owners_of(engine.constant(self.term))] = True
        return flags if chosen is None else flags[chosen]

    def among(self, engine: Engine, view: View, alive: Bits) -> Bits:
        """Return for which focus nodes of a set the constraint holds."""
        return alive & view.reaching(engine.constant(self.term))

    def failing(self, engine: Engine, view: View) -> Positions:
        """Return the focus node of every violation."""
        return np.flatnonzero(~self.holds(engine, view, None))

    def describe(self, constants: Sequence[str]) -> str:
        """Say what is violated."""
        return f"{constants[self.term]} is not among the values"


@dataclass(frozen=True, slots=True)
class In(TermConstraint):
    """https://www.w3.org/TR/shacl/#InConstraintComponent."""

    members: tuple[int, ...]  # constants
    component: ClassVar[str] = sh("InConstraintComponent")
    cost: ClassVar[int] = 1

    def test(self, engine: Engine, nodes: Nodes) -> Flags:
        """Return which nodes are acceptable."""
        flags = np.zeros(len(nodes), dtype=np.bool_)
        members = np.array([engine.constant(i) for i in self.members], dtype=np.int32)
        places = nodes.ids.searchsorted(members)
        inside = places < len(nodes)
        places, members = places[inside], members[inside]
        flags[places[nodes.ids[places] == members]] = True
        return flags

    def describe(self, constants: Sequence[str]) -> str:
        """Say what is violated."""
        return f"Value is not in ({names(constants, self.members)})"


def read(reader: ShapeReader) -> Iterator[Constraint]:
    """Read the components of this section off a shape."""
    component = "ClosedConstraintComponent"
    ignored = list(reader.lists("ignoredProperties", component, at_most=1))
    if reader.boolean("closed", component) in ("true", "1"):
        allowed = set(reader.property_predicates())
        for members in ignored:
            allowed.update(reader.checked_iri("ignoredProperties", m, component) for m in members)
        yield Closed(tuple(sorted(reader.constant(term) for term in allowed)))
    for term in reader.values("hasValue", "HasValueConstraintComponent"):
        yield HasValue(reader.constant(term))
    for members in reader.lists("in", "InConstraintComponent", at_most=1):
        yield In(tuple(reader.constant(term) for term in members))
