"""Growing columns of triples over a term table, from which the rules' columns are made."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass, field

import numpy as np

from leastwise.graph.names import lw, term_of
from leastwise.graph.shacl.terms import Ids, TermTable
from leastwise.graph.shacl.triples import Triples

__all__ = ["Known", "Rows"]

#: A predicate and an object, as terms.
Pairs = Iterable[tuple[str, str]]


@dataclass
class Rows:
    """Three growing columns of term ids over a table that stands on the knowledge's own.

    Long columns come as arrays; they lie beside the single triples and are joined at the end.
    *concept* gives the number of a CURIE's term, *name* that of a name of the vocabulary.
    """

    terms: TermTable
    ids: Mapping[str, int] = field(init=False, repr=False)
    concept: Mapping[object, int] = field(init=False, repr=False)
    name: Mapping[object, int] = field(init=False, repr=False)
    s: list[int] = field(default_factory=list)
    p: list[int] = field(default_factory=list)
    o: list[int] = field(default_factory=list)
    _columns: list[tuple[Ids, Ids, Ids]] = field(default_factory=list, repr=False)
    #: id of a piece of a record -> the piece, which so stays where it is, and what it says
    _said: dict[int, tuple[object, list[int], list[int]]] = field(default_factory=dict, repr=False)

    def __post_init__(self) -> None:
        self.ids = _Numbers(self.terms)
        self.concept, self.name = Known(self, term_of), Known(self, lw)

    def id(self, term: str) -> int:
        """Return the number of a term."""
        return self.ids[term]

    def add(self, subject: str, predicate: str, *objects: str) -> None:
        """Add a triple for each object; all are terms."""
        ids = self.ids
        s, p = ids[subject], ids[predicate]
        for one in objects:
            self.put(s, p, ids[one])

    def put(self, subject: int, predicate: int, value: int) -> None:
        """Add a triple of three numbers."""
        self.s.append(subject)
        self.p.append(predicate)
        self.o.append(value)

    def say(self, subject: str, piece: object, pairs: Callable[[], Pairs]) -> None:
        """Add what a piece of a record says of its own node.

        Cases that are variants of one share most pieces, and each is looked through once.
        """
        known = self._said.get(id(piece))
        if known is None:
            rows = [(self.ids[p], self.ids[o]) for p, o in pairs()]
            known = self._said[id(piece)] = (piece, [p for p, _ in rows], [o for _, o in rows])
        _, p, o = known
        self.s += [self.ids[subject]] * len(p)
        self.p += p
        self.o += o

    def column(self, subjects: Ids, predicate: str, objects: Ids) -> None:
        """Add a triple of one predicate for each two numbers."""
        p = np.full(subjects.size, self.ids[predicate], dtype=np.int32)
        self._columns.append((subjects, p, objects))

    def on(self, knowledge: Triples) -> Triples:
        """Return the knowledge with these rows laid over it."""
        single = (np.array(one, dtype=np.int32) for one in (self.s, self.p, self.o))
        s, p, o = (np.concatenate(one) for one in zip(single, *self._columns, strict=True))
        return knowledge.extended_with(self.terms, s, p, o)


class _Numbers(dict[str, int]):
    """Term -> its number in a table; each term is looked up once."""

    def __init__(self, terms: TermTable) -> None:
        super().__init__()
        self._terms = terms

    def __missing__(self, term: str) -> int:
        found = self[term] = self._terms.intern(term)
        return found


class Known(dict[object, int]):
    """Value -> number of its term; each term is made once."""

    def __init__(self, rows: Rows, term: Callable[[str], str]) -> None:
        super().__init__()
        self._rows, self._term = rows, term

    def __missing__(self, value: object) -> int:
        found = self[value] = self._rows.id(self._term(str(value)))
        return found
