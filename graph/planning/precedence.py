"""In which order techniques follow one another, and what can't follow or go with what.

Both are knowledge. An ``lw:Precedence`` says that what *before* names comes before what *after*
names. An ``lw:Conflict`` says that once *before* is done, what *rulesOut* names can't follow,
*unless* something holds; without *before*, of all that *rulesOut* names an object can have one
only. What is said of a group holds for every technique under it, and only where both are used on
the same parts.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass, field
from functools import cached_property
from itertools import chain, permutations
from typing import Literal, TypeVar

import networkx as nx

from leastwise.graph.errors import KnowledgeError
from leastwise.graph.knowledge.knowledge import Knowledge

__all__ = ["Conflict", "OrderBook", "OrderError", "Precedence", "order_book", "share_parts"]

Work = TypeVar("Work")


class OrderError(KnowledgeError):
    """Precedences that contradict each other; names the circle and the entries that make it."""

    def __init__(self, cycle: list[str], entries: list[str], members: list[int]) -> None:
        self.cycle, self.entries, self.members = tuple(cycle), tuple(entries), tuple(members)
        way = " before ".join([*cycle, cycle[0]])
        mend = f"Mend or remove one of {', '.join(entries)}."
        super().__init__("order of the work", f"{way} is a circle.", mend)


@dataclass(frozen=True, slots=True)
class Precedence:
    """What *before* names is done before what *after* names; each a technique or a group.

    It says nothing of what *except_for* names, which belongs to one of the groups all the same.
    What is *tried_first* is done on the same damage, before heavier work that was chosen for it.
    """

    id: str
    before: tuple[str, ...]
    after: tuple[str, ...]
    because: str
    basis: str
    rests_on: tuple[str, ...]
    except_for: tuple[str, ...] = ()
    tried_first: bool = False


@dataclass(frozen=True, slots=True)
class Conflict:
    """What can't follow what, or (without *before*) what can't go together."""

    id: str
    before: tuple[str, ...]
    rules_out: tuple[str, ...]
    unless: str
    because: str
    basis: str
    rests_on: tuple[str, ...]


Entry = Precedence | Conflict


class _Said(dict[tuple[str, str], list[tuple[Precedence, int]]]):
    """What is said of the order of two techniques, each entry with how far off it speaks."""

    def __init__(self, book: OrderBook) -> None:
        super().__init__()
        self.book = book

    def __missing__(self, pair: tuple[str, str]) -> list[tuple[Precedence, int]]:
        first, second = pair
        book = self.book
        both = book.naming(first, "before") & book.naming(second, "after")
        self[pair] = found = [
            (p, book.far(first, p.before) + book.far(second, p.after))
            for p in (book.precedences[place] for place in sorted(both))
            if book.says(first, second, p.before, p.after)
            and not any(book.under(one, p.except_for) for one in pair)
        ]
        return found


def share_parts(one: Iterable[str], other: Iterable[str]) -> bool:
    """Return whether two pieces of work touch a part in common; no parts means the whole object."""
    mine, theirs = set(one), set(other)
    return not mine or not theirs or bool(mine & theirs)


@dataclass(frozen=True)
class OrderBook:
    """The precedences and conflicts of a knowledge, asked by technique."""

    knowledge: Knowledge
    _must: dict[tuple[str, str], tuple[Entry, ...]] = field(
        default_factory=dict, repr=False, compare=False
    )
    _naming: dict[tuple[str, str], frozenset[int]] = field(
        default_factory=dict, repr=False, compare=False
    )

    @cached_property
    def precedences(self) -> tuple[Precedence, ...]:
        """Return all precedences, in the order of their names."""
        k = self.knowledge
        tried = frozenset(k.instances("lw:TriedFirst"))
        return tuple(
            Precedence(
                _name(one),
                tuple(k.objects(one, "lw:before")),
                tuple(k.objects(one, "lw:after")),
                k.text(one, "lw:because"),
                (k.object(one, "lw:basis") or "").removeprefix("lw:"),
                tuple(k.objects(one, "lw:restsOn")),
                tuple(k.objects(one, "lw:exceptFor")),
                one in tried,
            )
            for one in k.instances("lw:Precedence")
        )

    @cached_property
    def conflicts(self) -> tuple[Conflict, ...]:
        """Return all conflicts, in the order of their names."""
        k = self.knowledge
        return tuple(
            Conflict(
                _name(one),
                tuple(k.objects(one, "lw:before")),
                tuple(k.objects(one, "lw:rulesOut")),
                k.text(one, "lw:unless"),
                k.text(one, "lw:because"),
                (k.object(one, "lw:basis") or "").removeprefix("lw:"),
                tuple(k.objects(one, "lw:restsOn")),
            )
            for one in k.instances("lw:Conflict")
        )

    def under(self, technique: str, named: tuple[str, ...]) -> bool:
        """Return whether a technique is one of those named, or narrower than one."""
        return not set(self.knowledge.broader(technique)).isdisjoint(named)

    def naming(self, technique: str, side: Literal["before", "after"]) -> frozenset[int]:
        """Return the places of the precedences that name a technique, or a group of it, there."""
        known = self._naming.get((technique, side))
        if known is None:
            named = self._named[side]
            places = (named.get(one, ()) for one in self.knowledge.broader(technique))
            known = self._naming[technique, side] = frozenset(chain.from_iterable(places))
        return known

    @cached_property
    def _named(self) -> dict[str, dict[str, list[int]]]:
        """Return by side and name the places of the precedences that name it there."""
        found: dict[str, dict[str, list[int]]] = {"before": {}, "after": {}}
        for place, one in enumerate(self.precedences):
            for side, names in (("before", one.before), ("after", one.after)):
                for name in names:
                    found[side].setdefault(name, []).append(place)
        return found

    def says(self, first: str, second: str, one: tuple[str, ...], other: tuple[str, ...]) -> bool:
        """Return whether an entry speaks of the two in this direction only.

        Where each of the two belongs on both sides, the entry says nothing of them.
        """
        forward = self.under(first, one) and self.under(second, other)
        return forward and not (self.under(second, one) and self.under(first, other))

    def says_before(self, first: str, second: str) -> list[Precedence]:
        """Return the precedences by which *first* is done before *second*.

        Where others say the opposite, those count that speak of the nearer groups.
        """
        forth, back = self._said[first, second], self._said[second, first]
        nearest = min((far for _, far in back), default=math.inf)
        return [p for p, _ in forth] if min((far for _, far in forth), default=0) <= nearest else []

    @cached_property
    def _said(self) -> _Said:
        return _Said(self)

    def far(self, technique: str, named: tuple[str, ...]) -> int:
        """Return how far up the nearest of the names is above a technique; 0 is itself."""
        up = self.knowledge.broader(technique)
        return min(up.index(one) for one in named if one in up)

    def barred_after(self, first: str, second: str) -> list[Conflict]:
        """Return the conflicts by which *second* can't follow *first*, hedged ones included."""
        return [
            c
            for c in self.conflicts
            if c.before and self.says(first, second, c.before, c.rules_out)
        ]

    def barred_together(self, one: str, other: str) -> list[Conflict]:
        """Return the conflicts by which the same parts can't have both, in whatever order."""
        return [
            c
            for c in self.conflicts
            if not c.before
            and one != other
            and any(self.says(one, other, (a,), (b,)) for a, b in permutations(c.rules_out, 2))
        ]

    def must_precede(self, first: str, second: str) -> tuple[Entry, ...]:
        """Return why *first* has to be done before *second*.

        Either a precedence says so, or *first* could not follow *second* any more.
        """
        known = self._must.get((first, second))
        if known is None:
            barred = [c for c in self.barred_after(second, first) if not c.unless]
            known = self._must[first, second] = (*self.says_before(first, second), *barred)
        return known

    def exclusive(self, one: str, other: str) -> list[Conflict]:
        """Return the conflicts by which the same parts can't have both techniques.

        Besides what can't go together, that is what could only be done each before the other.
        """
        circle = (*self.must_precede(one, other), *self.must_precede(other, one))
        both_ways = self.must_precede(one, other) and self.must_precede(other, one)
        circular = [e for e in circle if isinstance(e, Conflict)] if both_ways else []
        return [*self.barred_together(one, other), *circular]

    def order_of(
        self,
        works: Sequence[Work],
        technique: Callable[[Work], str],
        parts: Callable[[Work], Iterable[str]],
    ) -> nx.DiGraph[int]:
        """Return the order among pieces of work, by their places: an edge means before.

        What may follow something only under a condition is put before it wherever it can be.

        Raises:
            OrderError: the order goes round in a circle; names it.

        """
        order: nx.DiGraph[int] = nx.DiGraph()
        order.add_nodes_from(range(len(works)))
        touched = [tuple(parts(work)) for work in works]
        order.add_edges_from(
            (i, j)
            for i, j in permutations(range(len(works)), 2)
            if self.must_precede(technique(works[i]), technique(works[j]))
            and share_parts(touched[i], touched[j])
        )
        names = [technique(work) for work in works]
        self._check(order, names)
        for i, j in permutations(range(len(works)), 2):
            hedged = any(self.waits(names[j], names[i])) and share_parts(touched[i], touched[j])
            if hedged and not nx.has_path(order, j, i):
                order.add_edge(i, j)
        self._across_parts(order, names)
        return order

    def _across_parts(self, order: nx.DiGraph[int], names: list[str]) -> None:
        """Put work on different parts in the same order too, wherever nothing forces another.

        Parts of one object share its dust, its handling and its mount.
        """
        for i, j in permutations(range(len(names)), 2):
            says = not order.has_edge(i, j) and self.must_precede(names[i], names[j])
            if says and not nx.has_path(order, j, i):
                order.add_edge(i, j)

    def _check(self, order: nx.DiGraph[int], techniques: list[str]) -> None:
        try:
            edges = nx.find_cycle(order)
        except nx.NetworkXNoCycle:
            return
        pairs = [(edge[0], edge[1]) for edge in edges]
        entries = [e.id for a, b in pairs for e in self.must_precede(techniques[a], techniques[b])]
        labels = [self.knowledge.label(techniques[a]) for a, _ in pairs]
        raise OrderError(labels, list(dict.fromkeys(entries)), [a for a, _ in pairs])

    def check(self) -> None:
        """Raise OrderError if the precedences themselves, over all techniques, form a circle."""
        order: nx.DiGraph[int] = nx.DiGraph()
        names = self.knowledge.instances("lw:Technique")
        order.add_edges_from(
            (i, j)
            for i, j in permutations(range(len(names)), 2)
            if self.says_before(names[i], names[j])
        )
        self._check(order, names)

    def waits(self, first: str, second: str) -> Iterator[Conflict]:
        """Yield what has to hold before *second* may follow *first*: the hedged conflicts."""
        yield from (c for c in self.barred_after(first, second) if c.unless)


def order_book(knowledge: Knowledge) -> OrderBook:
    """Return the order of work of a knowledge; kept, since it learns by use."""
    return knowledge.made("order book", lambda k, _: OrderBook(k))


def _name(node: str) -> str:
    """Return a short name of an entry, with or without a prefix of its own.

    >>> _name("https://w3id.org/leastwise/precedence/dry-before-wet")
    'precedence:dry-before-wet'
    """
    return f"precedence:{node.rpartition('/')[2].rpartition(':')[2]}"
