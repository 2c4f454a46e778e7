"""Sets of nodes under validation and their value nodes, as columns."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field
from typing import TYPE_CHECKING

import numpy as np

from leastwise.graph.shacl.bits import Bits, every_bit, of_flags, of_positions, positions
from leastwise.graph.shacl.ordering import OrderColumn
from leastwise.graph.shacl.terms import Flags, Ids, Positions
from leastwise.graph.shacl.triples import spans

if TYPE_CHECKING:
    from leastwise.graph.shacl.path_evaluation import Pairs
    from leastwise.graph.shacl.paths import Step

__all__ = ["Nodes", "View", "ranked"]


def ranked(places: Positions, size: int) -> tuple[Positions, Positions]:
    """Return the distinct places below `size`, ascending, and the rank of each among them.

    Marking a table is several times faster than np.unique on the small sets met here.

    >>> [x.tolist() for x in ranked(np.array([7, 2, 7]), 9)]
    [[2, 7], [1, 0, 1]]
    """
    seen = np.zeros(size, dtype=np.bool_)
    seen[places] = True
    return seen.nonzero()[0], (seen.cumsum() - 1)[places]


class Nodes:
    """A set of nodes that shapes are asked about, with what one evaluation found out so far.

    Attributes:
        ids: the term ids, ascending and distinct.
        views: value nodes by path index.
        walked: what is reached by the first steps of a path, which paths have in common.
        every: the set of all of them.
        verdicts: for a criterion (index), whether each node meets it.
        meeting: for a criterion (index), the nodes that meet it.
        accepted: for a constraint (identity), whether it accepts each node.
        order: the nodes as comparable values, once asked for.

    """

    __slots__ = ("accepted", "every", "ids", "meeting", "order", "verdicts", "views", "walked")

    def __init__(self, ids: Ids) -> None:
        self.ids = ids
        self.every = every_bit(int(ids.size))
        self.views: dict[int, View] = {}
        self.walked: dict[tuple[Step, ...], Pairs] = {}
        self.verdicts: dict[int, Flags] = {}
        self.meeting: dict[int, Bits] = {}
        self.accepted: dict[int, Flags] = {}
        self.order: OrderColumn | None = None

    def flagged(self, alive: Bits, ask: Callable[[Positions | None], Flags]) -> Bits:
        """Return which nodes of a set are flagged by what is asked of their places (None: all)."""
        if alive == self.every:
            return of_flags(ask(None))
        chosen = positions(alive, len(self))
        return of_positions(chosen[ask(chosen)], len(self))

    def __len__(self) -> int:
        return int(self.ids.size)


@dataclass(frozen=True, slots=True, eq=False)
class View:
    """The value nodes of some focus nodes: distinct (focus node, value node) pairs.

    https://www.w3.org/TR/shacl/#value-nodes

    Attributes:
        size: the number of focus nodes; they are numbered 0 .. size - 1.
        focus: the focus nodes (of a selection: the set selected from).
        owner: for each pair the number of the focus node, ascending.
        node: for each pair the position of the value node in `nodes`.
        nodes: the distinct value nodes (of a selection: of the set selected from).
        identity: whether this is the view of a node shape: each focus node its own value node.

    """

    size: int
    focus: Nodes
    owner: Positions
    node: Positions
    nodes: Nodes
    identity: bool = False
    _index: list[tuple[Positions, Positions]] = field(default_factory=list, init=False, repr=False)
    _starts: list[Positions] = field(default_factory=list, init=False, repr=False)
    _reaching: dict[int, Bits] = field(default_factory=dict, init=False, repr=False)

    @classmethod
    def of_node_shape(cls, nodes: Nodes) -> View:
        """Return the view in which each node is its own only value node."""
        every = np.arange(len(nodes))
        return cls(len(nodes), nodes, every, every, nodes, identity=True)

    def starts(self) -> Positions:
        """Return, for each focus node and one beyond, where its pairs start; shape (size + 1,)."""
        if not self._starts:
            self._starts.append(self.owner.searchsorted(np.arange(self.size + 1)))
        return self._starts[0]

    def counts(self) -> Positions:
        """Return the number of value nodes of each focus node; shape (size,)."""
        return np.bincount(self.owner, minlength=self.size)

    def select(self, chosen: Positions | None) -> View:
        """Return the view of the focus nodes numbered `chosen` (ascending), renumbered from 0."""
        if chosen is None:
            return self
        starts = self.starts()
        counts = starts[chosen + 1] - starts[chosen]
        pairs = spans(starts[chosen], counts)
        owner = np.repeat(np.arange(chosen.size), counts)
        return View(chosen.size, self.focus, owner, self.node[pairs], self.nodes)

    def _by_node(self) -> tuple[Positions, Positions]:
        if not self._index:
            keys = np.sort((self.node << 32) | self.owner)  # faster than argsort
            starts = (keys >> 32).searchsorted(np.arange(len(self.nodes) + 1))
            self._index.append((keys & 0xFFFFFFFF, starts))
        return self._index[0]

    def owners_of(self, term: int) -> Positions:
        """Return the numbers of the focus nodes that have `term` among their value nodes."""
        place = int(self.nodes.ids.searchsorted(np.int32(term)))
        if place == len(self.nodes) or self.nodes.ids[place] != term:
            return self.owner[:0]
        owners, starts = self._by_node()
        return owners[starts[place] : starts[place + 1]]

    def reaching(self, term: int) -> Bits:
        """Return the focus nodes that have `term` among their value nodes."""
        found = self._reaching.get(term)
        if found is None:
            found = self._reaching[term] = of_positions(self.owners_of(term), self.size)
        return found

    def reaching_any(self, terms: Ids) -> Bits:
        """Return the focus nodes that have one of `terms` among their value nodes."""
        places = np.minimum(self.nodes.ids.searchsorted(terms), max(len(self.nodes) - 1, 0))
        there = terms[self.nodes.ids[places] == terms] if len(self.nodes) else terms[:0]
        found = 0
        for term in there.tolist():
            found |= self.reaching(term)
        return found

    def expand(self, places: Positions) -> tuple[Positions, Positions]:
        """Return every (index into `places`, focus number) such that the focus has that node."""
        owners, starts = self._by_node()
        counts = starts[places + 1] - starts[places]
        return np.repeat(np.arange(places.size), counts), owners[spans(starts[places], counts)]

    def without(self, bad_pairs: Flags) -> Flags:
        """Return which focus nodes have no pair flagged in `bad_pairs`; shape (size,)."""
        good = np.ones(self.size, dtype=np.bool_)
        good[self.owner[bad_pairs]] = False
        return good
