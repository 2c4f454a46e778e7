"""The loaded graph by subject and by class, as it is whatever the language of its labels."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field
from functools import cached_property
from itertools import chain, islice

from leastwise.graph.names import curie_of
from leastwise.graph.shacl.triples import Triples

__all__ = ["Indexed", "short"]


@dataclass(frozen=True, eq=False)
class Indexed:
    """Triples by subject and by class; each index is made once, when it is first asked for."""

    triples: Triples = field(repr=False)
    beneath: Indexed | None = field(default=None, repr=False)  # whose triples come first in these

    @cached_property
    def by_subject(self) -> dict[str, dict[str, list[str]]]:
        """Subject -> predicate -> objects, as CURIEs and literal terms, in file order."""
        if self.beneath is not None:
            return self._over(self.beneath)
        names = [short(term) for term in self.triples.terms]
        index: dict[str, dict[str, list[str]]] = {}
        last, said = -1, index.setdefault("", {})  # what is said of one subject stands together
        for s, p, o in self._rows():
            if s != last:
                last, said = s, index.setdefault(names[s], {})
            if names[p] in said:
                said[names[p]].append(names[o])
            else:
                said[names[p]] = [names[o]]
        del index[""]
        return index

    def _over(self, beneath: Indexed) -> dict[str, dict[str, list[str]]]:
        """Return the index beneath, with what is laid over it; the former is left as it is."""
        index, mine = beneath.by_subject.copy(), set[str]()
        first = sum(block.s.size for block in beneath.triples.blocks)
        for row in islice(self._rows(), first, None):
            subject, predicate, value = (short(self.triples.terms[one]) for one in row)
            if subject not in mine:
                mine.add(subject)
                index[subject] = {p: os.copy() for p, os in index.get(subject, {}).items()}
            index[subject].setdefault(predicate, []).append(value)
        return index

    def _rows(self) -> Iterator[tuple[int, int, int]]:
        """Return the triples of all blocks, as numbers of terms."""
        return chain.from_iterable(
            zip(b.s.tolist(), b.p.tolist(), b.o.tolist(), strict=True) for b in self.triples.blocks
        )

    @cached_property
    def by_class(self) -> dict[str, list[str]]:
        """Class -> its instances, in alphabetical order."""
        classes: dict[str, list[str]] = {}
        for subject, values in self.by_subject.items():
            for kind in values.get("rdf:type", ()):
                classes.setdefault(kind, []).append(subject)
        return {kind: sorted(members) for kind, members in classes.items()}

    @cached_property
    def ancestors(self) -> dict[str, tuple[str, ...]]:
        """Concept -> itself and all broader ones, of those that were asked for."""
        return {}


def short(term: str) -> str:
    """Return a name as a CURIE; a literal or a blank node as it is."""
    return curie_of(term) if term[0] == "<" else term
