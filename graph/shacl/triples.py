"""Triples as columns of term ids, partitioned by predicate on demand.

A :class:`Triples` is a tuple of blocks over one term table. A block is indexed lazily, one
predicate at a time, and keeps its index: a large constant block (the knowledge base) is
therefore indexed once, however many requests extend it with a small block of their own.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field
from typing import Any, TypeVar

import numpy as np
from numpy.typing import ArrayLike, NDArray

from leastwise.graph.shacl.terms import Flags, Ids, Positions, TermTable

__all__ = ["Block", "Relation", "Triples", "among", "spans"]

#: A closure is kept if it has at most so many times the pairs of what it closes.
MOST_CLOSED = 16
_SHIFT = 32
_LOW = np.int64((1 << _SHIFT) - 1)
_Integer = TypeVar("_Integer", bound=np.signedinteger[Any])


def pack(high: NDArray[np.int32], low: NDArray[np.int32]) -> NDArray[np.int64]:
    """Return one int64 per pair of ids, ordered like the pairs (ids are never negative)."""
    return (high.astype(np.int64) << _SHIFT) | low


def unpack(keys: NDArray[np.int64]) -> tuple[Ids, Ids]:
    """Return the two id columns that :func:`pack` joined."""
    return (keys >> _SHIFT).astype(np.int32), (keys & _LOW).astype(np.int32)


def distinct(values: NDArray[_Integer]) -> NDArray[_Integer]:
    """Return the values ascending and without repetitions; these themselves, if they are that.

    What is written subject by subject is in order already. Does what np.unique does, which on its
    first call imports numpy.ma for tens of milliseconds.
    """
    if values.size < 2 or (values[1:] > values[:-1]).all():
        return values
    values = np.sort(values)
    fresh = np.empty(values.size, dtype=np.bool_)
    fresh[0] = True
    np.not_equal(values[1:], values[:-1], out=fresh[1:])
    return values[fresh]


def among(known: NDArray[np.int64] | Ids, asked: NDArray[np.int64] | Ids) -> Flags:
    """Return whether each of `asked` is in `known`, which ascends and is not empty."""
    place = np.minimum(known.searchsorted(asked), known.size - 1)
    return np.equal(known[place], asked)


def spans(starts: Positions, counts: Positions) -> Positions:
    """Return the concatenation of the ranges start .. start + count.

    >>> spans(np.array([5, 0]), np.array([2, 3])).tolist()
    [5, 6, 0, 1, 2]
    """
    ends = np.cumsum(counts)
    total = int(ends[-1]) if ends.size else 0
    return np.repeat(starts - (ends - counts), counts) + np.arange(total)


@dataclass(frozen=True, slots=True)
class Relation:
    """Distinct pairs of ids: `left` ascending and, within equal `left`, `right` ascending.

    Both arrays are int32 of shape (number of pairs,).
    """

    left: Ids
    right: Ids

    @classmethod
    def of(cls, left: Ids, right: Ids) -> Relation:
        """Return the relation of two parallel id columns in any order, repetitions allowed."""
        if left.size < 2 or (left[1:] > left[:-1]).all():  # as what an exposure says of itself
            return cls(left, right)
        return cls(*unpack(distinct(pack(left, right))))

    def inverse(self) -> Relation:
        """Return the relation with its columns exchanged."""
        return Relation.of(self.right, self.left)

    def is_column_of(self, ids: Ids) -> bool:
        """Return whether each of some ids, which ascend, stands once on the left, and no other."""
        if self.left.size != ids.size or not (self.left == ids).all():
            return False
        return bool((ids[1:] > ids[:-1]).all())

    def joined(self, ids: Ids) -> tuple[Positions, Ids]:
        """Return every (index into `ids`, right) where that id stands on the left, by index."""
        if self.is_column_of(ids):
            return np.arange(ids.size), self.right
        first = self.left.searchsorted(ids)
        counts = self.left.searchsorted(ids, side="right") - first
        hits = counts.nonzero()[0]
        if hits.size == 0:
            return hits, self.right[:0]
        if counts.sum() == hits.size:  # at most one each, as nearly everything a record says
            return hits, self.right[first[hits]]
        return np.arange(ids.size).repeat(counts), self.right[spans(first, counts)]


@dataclass(frozen=True, slots=True, eq=False)
class Block:
    """Three parallel int32 columns of triples and their lazily made index.

    The index is only ever completed, never changed, so a block may be read from any number of
    threads.
    """

    s: Ids
    p: Ids
    o: Ids
    _forward: dict[int, Relation] = field(default_factory=dict, init=False, repr=False)
    _backward: dict[int, Relation] = field(default_factory=dict, init=False, repr=False)
    _closures: dict[tuple[int, bool], Relation | None] = field(
        default_factory=dict, init=False, repr=False
    )
    _outgoing: list[tuple[Ids, Ids, Ids]] = field(default_factory=list, init=False, repr=False)

    def forward(self, predicate: int) -> Relation:
        """Return the (subject, object) pairs of `predicate`, sorted by subject."""
        found = self._forward.get(predicate)
        if found is None:
            rows = (self.p == predicate).nonzero()[0]
            found = self._forward[predicate] = Relation.of(self.s[rows], self.o[rows])
        return found

    def backward(self, predicate: int) -> Relation:
        """Return the (object, subject) pairs of `predicate`, sorted by object."""
        found = self._backward.get(predicate)
        if found is None:
            found = self._backward[predicate] = self.forward(predicate).inverse()
        return found

    def closure(self, predicate: int, *, backward: bool = False) -> Relation | None:
        """Return the pairs joined by `predicate` one or more times, or None if they are too many.

        Where a few steps lead to everything, it costs less to go only from where one stands.
        """
        key = (predicate, backward)
        if key not in self._closures:
            relation = self.backward(predicate) if backward else self.forward(predicate)
            self._closures[key] = _closure_of(relation)
        return self._closures[key]

    def outgoing(self) -> tuple[Ids, Ids, Ids]:
        """Return the columns (s, p, o) sorted by subject, for questions about any predicate."""
        if not self._outgoing:
            order = np.argsort(self.s, kind="stable")
            self._outgoing.append((self.s[order], self.p[order], self.o[order]))
        return self._outgoing[0]


def _closure_of(relation: Relation) -> Relation | None:
    """Return the transitive closure of a relation, or None if it is many times as large."""
    known = fresh = pack(relation.left, relation.right)
    while fresh.size:
        left, middle = unpack(fresh)
        place, right = relation.joined(middle)
        found = distinct(pack(left[place], right))
        fresh = found[~among(known, found)]
        known = np.sort(np.concatenate((known, fresh)))
        if known.size > MOST_CLOSED * max(relation.left.size, 1):
            return None
    return Relation(*unpack(known))


def _column(values: ArrayLike) -> Ids:
    column = np.ascontiguousarray(values, dtype=np.int32)
    if column.ndim != 1:
        raise ValueError(f"a column of term ids has one dimension, not {column.ndim}")
    return column


@dataclass(frozen=True, slots=True, eq=False)
class Triples:
    """A set of triples: a term table and one or more blocks of id columns.

    Make one with :meth:`from_columns`, :meth:`from_terms` or :meth:`from_rdflib`, and add a
    further block with :meth:`extended_with`. Repeated triples count once.
    """

    terms: TermTable
    blocks: tuple[Block, ...] = ()

    @classmethod
    def from_columns(cls, terms: TermTable, s: ArrayLike, p: ArrayLike, o: ArrayLike) -> Triples:
        """Return the triples of three parallel columns of ids of `terms`.

        Raises:
            ValueError: if the columns differ in length or are not one-dimensional.

        """
        return cls(terms).extended_with(terms, s, p, o)

    @classmethod
    def from_terms(
        cls, rows: Iterable[tuple[str, str, str]], terms: TermTable | None = None
    ) -> Triples:
        """Return the triples of rows of term strings, numbered in `terms` (or a new table)."""
        table = TermTable() if terms is None else terms
        flat = table.intern_many(term for row in rows for term in row).reshape(-1, 3)
        return cls.from_columns(table, flat[:, 0], flat[:, 1], flat[:, 2])

    def extended_with(self, terms: TermTable, s: ArrayLike, p: ArrayLike, o: ArrayLike) -> Triples:
        """Return these triples and those of three more columns, in constant time.

        `terms` is the table of the new columns: this table itself or a descendant of it made
        with :meth:`TermTable.child`. The blocks already here are shared with their index.

        Raises:
            ValueError: if the columns differ in length, or `terms` does not extend `self.terms`.

        """
        block = Block(_column(s), _column(p), _column(o))
        if not block.s.size == block.p.size == block.o.size:
            raise ValueError("the columns of subjects, predicates and objects differ in length")
        if self.blocks and not terms.extends(self.terms, len(self.terms)):
            raise ValueError("the term table of the new columns does not extend the present one")
        return Triples(terms, (*self.blocks, block))

    def union(self, other: Triples) -> Triples:
        """Return both sets of triples; one of the two tables must extend the other.

        Raises:
            ValueError: if neither table extends the other.

        """
        for small, large in ((self.terms, other.terms), (other.terms, self.terms)):
            if large.extends(small, len(small)):
                return Triples(large, self.blocks + other.blocks)
        raise ValueError("the two sets of triples are numbered by unrelated term tables")

    @property
    def s(self) -> Ids:
        """Subjects of the distinct triples, int32 of shape (len(self),), parallel to p and o."""
        return self.columns()[0]

    @property
    def p(self) -> Ids:
        """Predicates of the distinct triples, see :attr:`s`."""
        return self.columns()[1]

    @property
    def o(self) -> Ids:
        """Objects of the distinct triples, see :attr:`s`."""
        return self.columns()[2]

    def columns(self) -> tuple[Ids, Ids, Ids]:
        """Return the distinct triples as three parallel columns, sorted by (s, p, o)."""
        if not self.blocks:
            empty = np.empty(0, dtype=np.int32)
            return empty, empty, empty
        s, p, o = (np.concatenate([getattr(b, name) for b in self.blocks]) for name in "spo")
        order = np.lexsort((o, p, s))
        s, p, o = s[order], p[order], o[order]
        fresh = np.ones(s.size, dtype=np.bool_)
        fresh[1:] = (s[1:] != s[:-1]) | (p[1:] != p[:-1]) | (o[1:] != o[:-1])
        return s[fresh], p[fresh], o[fresh]

    def __len__(self) -> int:
        return int(self.columns()[0].size)
