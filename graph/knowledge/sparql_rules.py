"""Rules of a collection that need SPARQL: set apart from the others, and asked by pySHACL.

SHACL Core can't compare two values of different nodes or count across them. A rule that has to
says so with ``sh:sparql`` (https://www.w3.org/TR/shacl/#sparql-constraints), and is asked of the
same graph as the others. It costs a second or two for each round of weighing, where rules of SHACL
Core cost milliseconds: the shipped rules use Core alone.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from functools import cached_property
from typing import TYPE_CHECKING, TypeAlias

from leastwise.graph.names import PREFIXES, curie_of, term_of
from leastwise.graph.shacl.errors import ShaclError
from leastwise.graph.shacl.terms import split_literal
from leastwise.graph.shacl.triples import Triples

if TYPE_CHECKING:
    import rdflib

__all__ = ["SparqlRuleError", "SparqlRules", "set_apart"]

Term3: TypeAlias = tuple[str, str, str]

_SPARQL = term_of("sh:sparql")
_SELECT = term_of("sh:select")
_PREFIXES = term_of("sh:prefixes")
_DECLARE = term_of("sh:declare")


class SparqlRuleError(ShaclError):
    """A rule whose query can't be asked."""


@dataclass(frozen=True)
class SparqlRules:
    """The rules that need SPARQL, each with all that it says."""

    names: tuple[str, ...] = ()  # CURIEs
    triples: tuple[Term3, ...] = ()

    def __bool__(self) -> bool:
        return bool(self.names)

    def flagged(self, data: Triples) -> list[tuple[str, int]]:
        """Return (rule, number of the node that it flags) for a case laid over its knowledge.

        Raises:
            SparqlRuleError: a query does what SHACL-SPARQL forbids.

        """
        if not self.names:
            return []
        from leastwise.graph.shacl.rdf import decode, from_node  # noqa: PLC0415 - rdflib is slow to load

        found = self._asked(decode(data))
        numbers = {(curie_of(from_node(s)), data.terms.intern(from_node(f))) for s, f in found}
        return sorted(numbers)

    def read(self) -> None:
        """Read the queries, so that a fault is told before a case is weighed.

        Raises:
            SparqlRuleError: a query can't be read, or would reach for another service or graph.

        """
        for rule, query in self._queries():
            self._read(rule, query)

    def _queries(self) -> Iterator[tuple[str, str]]:
        asked = {o: s for s, p, o in self.triples if p == _SPARQL}
        for s, p, o in self.triples:
            if p == _SELECT:
                yield curie_of(asked.get(s, s)), split_literal(o)[0]

    @staticmethod
    def _read(rule: str, query: str) -> None:
        from pyparsing import ParseException  # noqa: PLC0415 - only where a rule needs it
        from rdflib.plugins.sparql import prepareQuery  # noqa: PLC0415
        from rdflib.plugins.sparql.algebra import traverse  # noqa: PLC0415

        names = set[str]()
        try:
            algebra = prepareQuery(query, initNs=PREFIXES).algebra
        except ParseException as error:
            raise SparqlRuleError(f"{rule}: its query can't be read: {error}") from error
        traverse(algebra, visitPre=lambda one: names.add(getattr(one, "name", "")))
        if "ServiceGraphPattern" in names or algebra.datasetClause:
            raise SparqlRuleError(f"{rule}: a query asks this case alone, without SERVICE or FROM")

    def _asked(self, data: rdflib.Graph) -> list[tuple[rdflib.term.Node, rdflib.term.Node]]:
        """Return (shape, focus node) of every result of pySHACL."""
        import pyshacl  # noqa: PLC0415 - only where a rule needs it
        from pyshacl.errors import ValidationFailure  # noqa: PLC0415
        from rdflib.namespace import SH  # noqa: PLC0415

        _, report, _ = pyshacl.validate(
            data, shacl_graph=self._shapes, inplace=True, inference="none"
        )
        if isinstance(report, (ValidationFailure, bytes, str)):
            said = getattr(report, "message", repr(report))
            raise SparqlRuleError(f"a rule in SPARQL can't be asked: {said}")
        return [
            (shape, focus)
            for result, shape in report.subject_objects(SH.sourceShape)
            for focus in report.objects(result, SH.focusNode)
        ]

    @cached_property
    def _shapes(self) -> rdflib.Graph:
        from leastwise.graph.shacl.rdf import decode  # noqa: PLC0415 - rdflib is slow to load

        return decode(Triples.from_terms([*self.triples, *_declared(self.triples)]))


def set_apart(triples: Triples) -> tuple[Triples, SparqlRules]:
    """Return a graph of rules without those that need SPARQL, and these by themselves.

    A rule needs SPARQL if its own node says ``sh:sparql``; deeper inside a rule it is refused, as
    everything is that isn't SHACL Core.
    """
    terms = triples.terms
    if terms.find(_SPARQL) < 0:  # as in all that is shipped
        return triples, SparqlRules()
    rows: dict[str, list[Term3]] = {}
    for s, p, o in zip(*(column.tolist() for column in triples.columns()), strict=True):
        rows.setdefault(terms[s], []).append((terms[s], terms[p], terms[o]))
    asked = [s for s, said in rows.items() if s[0] == "<" and any(p == _SPARQL for _, p, _ in said)]
    if not asked:
        return triples, SparqlRules()
    own = [one for node in asked for one in _closure(node, rows)]
    apart = {s for s, _, _ in own}
    rest = [one for s, said in rows.items() if s not in apart for one in said]
    names = tuple(sorted(curie_of(node) for node in asked))
    return Triples.from_terms(rest), SparqlRules(names, tuple(sorted(set(own))))


def _closure(node: str, rows: Mapping[str, list[Term3]]) -> Iterator[Term3]:
    """Yield what a rule says, with the nameless nodes that it points to."""
    todo, seen = [node], set[str]()
    while todo:
        one = todo.pop()
        if one in seen:
            continue
        seen.add(one)
        for triple in rows.get(one, ()):
            yield triple
            if triple[2].startswith("_:"):
                todo.append(triple[2])


def _declared(triples: Iterable[Term3]) -> Iterator[Term3]:
    """Yield our prefixes for the queries that declare none."""
    said = list(triples)
    queries = {s for s, p, _ in said if p == _SELECT}
    bare = queries - {s for s, p, _ in said if p == _PREFIXES}
    ours = term_of("lw:")
    for query in bare:
        yield query, _PREFIXES, ours
    for number, (prefix, iri) in enumerate(PREFIXES.items()):
        node = f"_:prefix{number}"
        yield ours, _DECLARE, node
        yield node, term_of("sh:prefix"), f'"{prefix}"'
        yield node, term_of("sh:namespace"), f'"{iri}"^^<http://www.w3.org/2001/XMLSchema#anyURI>'
