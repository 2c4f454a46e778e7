"""Evaluation of property paths by joins of sorted columns, from the asked nodes outwards."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from leastwise.graph.shacl.paths import Chain, Choice, Closure, Hop, Optional, Step
from leastwise.graph.shacl.terms import Ids, Positions
from leastwise.graph.shacl.triples import Block, Relation, among, distinct, pack, spans

__all__ = ["Pairs", "PathWalker", "distinct_ids"]


def distinct_ids(values: Ids, limit: int) -> tuple[Ids, Positions]:
    """Return the distinct values, ascending, and the place of each value among them.

    `limit` is above every value. Marking a table of that length is several times faster than
    sorting, unless the values are few.
    """
    if values.size * 64 < limit:
        ids = np.sort(values)
        if ids.size > 1:
            fresh = np.ones(ids.size, dtype=np.bool_)
            np.not_equal(ids[1:], ids[:-1], out=fresh[1:])
            ids = ids[fresh]
        return ids, ids.searchsorted(values)
    seen = np.zeros(limit, dtype=np.bool_)
    seen[values] = True
    ids = seen.nonzero()[0].astype(np.int32)
    rank = np.empty(limit, dtype=np.intp)
    rank[ids] = np.arange(ids.size)
    return ids, rank[values]


class Pairs(NamedTuple):
    """Distinct (start, end) pairs of a path, as parallel columns.

    `owner` is a position among the start nodes, ascending; `value` the id of an end node,
    ascending within the owner.
    """

    owner: Positions
    value: Ids

    @classmethod
    def of_keys(cls, keys: NDArray[np.int64]) -> Pairs:
        """Return the pairs of sorted distinct packed keys."""
        return cls((keys >> 32).astype(np.intp), (keys & 0xFFFFFFFF).astype(np.int32))

    def keys(self) -> NDArray[np.int64]:
        """Return the pairs packed, in order."""
        return (self.owner.astype(np.int64) << 32) | self.value


_NO_PAIRS = Pairs(np.empty(0, dtype=np.intp), np.empty(0, dtype=np.int32))


@dataclass(frozen=True, slots=True)
class PathWalker:
    """Walks steps over the blocks of a data graph.

    `constants` gives the term id of each constant of the shapes, -1 if the data lacks it;
    `limit` is above every term id.
    """

    blocks: Sequence[Block]
    constants: Sequence[int]
    limit: int

    def pairs(self, step: Step, ids: Ids) -> Pairs:
        """Return what can be reached through `step` from each of the distinct `ids`, ascending."""
        match step:
            case Hop(predicate, backward):
                return self._hop(self.constants[predicate], ids, backward=backward)
            case Chain(steps):
                found = self.pairs(steps[0], ids)
                for further in steps[1:]:
                    found = self.then(found, further)
                return found
            case Choice(steps):
                return _union([self.pairs(one, ids) for one in steps])
            case Optional(inner):
                return _union([_stay(ids), self.pairs(inner, ids)])
            case Closure(inner, reflexive):
                if reflexive:
                    return self._closure(inner, ids)
                return self.then(self.pairs(inner, ids), Closure(inner, reflexive=True))

    def _hop(self, predicate: int, ids: Ids, *, backward: bool) -> Pairs:
        parts = []
        for block in self.blocks if predicate >= 0 else ():
            relation = block.backward(predicate) if backward else block.forward(predicate)
            if relation.left.size == 0:
                continue
            parts.append(Pairs(*relation.joined(ids)))
        return _union(parts)

    def then(self, found: Pairs, step: Step) -> Pairs:
        """Return what is reached by a step more."""
        middle, place = distinct_ids(found.value, self.limit)
        onward = self.pairs(step, middle)
        if onward.owner.size == 0:
            return onward
        starts = onward.owner.searchsorted(np.arange(middle.size + 1))
        counts = (starts[1:] - starts[:-1])[place]
        owner = found.owner.repeat(counts)
        value = onward.value[spans(starts[place], counts)]
        return Pairs.of_keys(distinct(Pairs(owner, value).keys()))

    def _closure(self, step: Step, ids: Ids) -> Pairs:
        """Return the reflexive transitive closure of `step` from `ids`.

        Each round goes on only from the pairs found in the round before (semi-naive), over the
        edges of the nodes that can be reached at all, each looked up once.
        """
        if isinstance(step, Hop) and (kept := self._kept_closure(step)) is not None:
            return _union([_stay(ids), Pairs(*kept.joined(ids))])
        nodes, edges = self._reachable(step, ids)
        starts = edges.owner.searchsorted(np.arange(nodes.size + 1))
        known = fresh = _stay(ids).keys()
        while fresh.size:
            pairs = Pairs.of_keys(fresh)
            place = nodes.searchsorted(pairs.value)
            counts = starts[place + 1] - starts[place]
            owner = np.repeat(pairs.owner, counts)
            value = edges.value[spans(starts[place], counts)]
            found = distinct(Pairs(owner, value).keys())
            fresh = found[~among(known, found)]
            known = np.sort(np.concatenate((known, fresh)))
        return Pairs.of_keys(known)

    def _kept_closure(self, step: Hop) -> Relation | None:
        """Return the closure of a predicate that only the first of several blocks speaks of.

        That block is there to stay, and so is what is worked out of it.
        """
        predicate, (lasting, *others) = self.constants[step.predicate], self.blocks
        if not others or predicate < 0 or any(one.forward(predicate).left.size for one in others):
            return None
        return lasting.closure(predicate, backward=step.backward)

    def _reachable(self, step: Step, ids: Ids) -> tuple[Ids, Pairs]:
        """Return all nodes reachable from `ids`, ascending, and the edges that leave them."""
        sources, targets = [], []
        seen = ids
        frontier = ids
        while frontier.size:
            found = self.pairs(step, frontier)
            sources.append(frontier[found.owner])
            targets.append(found.value)
            ends = distinct(found.value)
            frontier = ends[~among(seen, ends)]
            seen = np.sort(np.concatenate((seen, frontier)))
        if not sources:
            return ids, _union([])
        left, right = np.concatenate(sources), np.concatenate(targets)
        keys = np.sort(pack(seen.searchsorted(left).astype(np.int32), right))
        return seen, Pairs.of_keys(keys)


def _stay(ids: Ids) -> Pairs:
    return Pairs(np.arange(ids.size), ids)


def _union(parts: Sequence[Pairs]) -> Pairs:
    parts = [part for part in parts if part.owner.size]
    if not parts:
        return _NO_PAIRS
    if len(parts) == 1:
        return parts[0]
    return Pairs.of_keys(distinct(np.concatenate([part.keys() for part in parts])))
