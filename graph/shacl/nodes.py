"""Sets of nodes under validation and their value nodes, as columns."""

from __future__ import annotations

from collections.abc import Callable, Iterable
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

#: Of so many pairs all that each value node is reached from is worked out at once, one by one.
FEW_PAIRS = 256


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
        size: how many they are.
        views: value nodes by path index.
        walked: what is reached by the first steps of a path, which paths have in common.
        every: the set of all of them.
        verdicts: for a criterion (index), whether each node meets it.
        meeting: for a criterion (index), the nodes that meet it.
        accepted: for a constraint (identity), whether it accepts each node.
        order: the nodes as comparable values, once asked for.

    """

    __slots__ = (
        "accepted", "every", "ids", "meeting", "order", "size", "verdicts", "views", "walked",
    )  # fmt: skip

    def __init__(self, ids: Ids) -> None:
        self.ids = ids
        self.size = int(ids.size)
        self.every = every_bit(self.size)
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
        chosen = positions(alive, self.size)
        return of_positions(chosen[ask(chosen)], self.size)

    def __len__(self) -> int:
        return self.size


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

    __slots__ = (
        "_index", "_reaching", "_some", "_starts", "focus", "identity", "node", "nodes", "owner",
        "size",
    )  # fmt: skip

    def __init__(  # noqa: PLR0913, PLR0917 - by hand, since hundreds are made for each case
        self,
        size: int,
        focus: Nodes,
        owner: Positions,
        node: Positions,
        nodes: Nodes,
        identity: bool = False,
    ) -> None:
        self.size, self.focus, self.owner = size, focus, owner
        self.node, self.nodes, self.identity = node, nodes, identity
        self._index: tuple[Positions, Positions] | None = None
        self._starts: Positions | None = None
        self._reaching: dict[int, Bits] | None = None
        self._some: Bits | None = None

    @classmethod
    def of_node_shape(cls, nodes: Nodes) -> View:
        """Return the view in which each node is its own only value node."""
        every = np.arange(len(nodes))
        return cls(len(nodes), nodes, every, every, nodes, identity=True)

    def starts(self) -> Positions:
        """Return, for each focus node and one beyond, where its pairs start; shape (size + 1,)."""
        if self._starts is None:
            self._starts = self.owner.searchsorted(np.arange(self.size + 1))
        return self._starts

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
        if self._index is None:
            keys = np.sort((self.node << 32) | self.owner)  # faster than argsort
            starts = (keys >> 32).searchsorted(np.arange(self.nodes.size + 1))
            self._index = keys & 0xFFFFFFFF, starts
        return self._index

    def some(self) -> Bits:
        """Return the focus nodes that have a value node at all."""
        if self._some is None:
            self._some = of_positions(self.owner, self.size)
        return self._some

    def owners_of(self, term: int) -> Positions:
        """Return the numbers of the focus nodes that have `term` among their value nodes."""
        place = int(self.nodes.ids.searchsorted(np.int32(term)))
        if place == self.nodes.size or self.nodes.ids[place] != term:
            return self.owner[:0]
        owners, starts = self._by_node()
        return owners[starts[place] : starts[place + 1]]

    def reaching(self, term: int) -> Bits:
        """Return the focus nodes that have `term` among their value nodes."""
        known = self._reaching
        if known is None:
            known = self._reaching = self._all_reached() if self.owner.size <= FEW_PAIRS else {}
        found = known.get(term)
        if found is None:
            if self.owner.size <= FEW_PAIRS:
                return 0
            found = known[term] = of_positions(self.owners_of(term), self.size)
        return found

    def _all_reached(self) -> dict[int, Bits]:
        """Return for each value node the focus nodes that have it; of a few pairs."""
        ids, found = self.nodes.ids.tolist(), dict[int, Bits]()
        for owner, place in zip(self.owner.tolist(), self.node.tolist(), strict=True):
            term = ids[place]
            found[term] = found.get(term, 0) | 1 << owner
        return found

    def reaching_any(self, terms: Iterable[int]) -> Bits:
        """Return the focus nodes that have one of `terms` among their value nodes."""
        found = 0
        for term in terms:
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
