"""Ways between two things in the knowledge, such as from steam to a sequin.

A graph of concepts and rules whose edges are ties that can be said in a sentence and point to the
claims that they rest on. Cheap ties are those that explain something (a technique brings an agent,
an agent harms a material); that two things are named in one breath costs more. What has very many
ties explains little, so passing through it costs more as well.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass, replace
from itertools import combinations, islice, pairwise

import networkx as nx

from leastwise.graph.knowledge.concepts import Catalogue
from leastwise.graph.knowledge.knowledge import Knowledge
from leastwise.graph.reference.values import ClaimEntry, Reference

__all__ = ["LONGEST", "Path", "PathGraph", "Tie", "build_paths", "order_ties"]

#: Ties of a path at most.
LONGEST = 6
_EACH_KIND = 2  # paths that run over the same kinds of tie
_TRIED = 400  # paths that are looked at
_SLACK = 3.0  # that a path may cost more than the cheapest
_HUB = 0.12  # for each doubling of the ties of a thing

#: What a tie costs by its kind.
COSTS = {
    "brings": 1.0, "harms": 1.0, "answers": 1.0, "broader": 0.9, "needs": 1.2, "requires": 1.2,
    "settles": 1.2, "identifies": 1.3, "checks": 1.3, "applies": 1.7, "lifted": 1.8, "names": 1.9,
    "before": 2.0, "rules out": 1.8, "cautions": 2.1, "together": 2.3, "harmless": 2.2,
}  # fmt: skip
HARM_WORDS = {
    1: "does slight harm to",
    2: "does moderate or slow harm to",
    3: "does serious harm to",
    4: "destroys or alters for good",
}
DOSE_WORDS = {1: "trace", 2: "low", 3: "moderate", 4: "full"}
ANSWER_WORDS = ("does nothing for", "hardly answers", "partly answers", "answers", "wholly answers")


@dataclass(frozen=True, slots=True)
class Tie:
    """One tie, as a sentence: *subject* *says* *object* *ends*, *more*.

    It may be walked both ways; the sentence stays the same, but for ties without a direction.
    """

    subject: str
    object: str
    kind: str
    says: str
    more: str = ""
    claims: tuple[str, ...] = ()
    grade: int = -1  # harm, dose or efficacy where the kind has one
    ends: str = ""

    @property
    def cost(self) -> float:
        """What the tie costs: the graver the harm, the higher the dose, the better, the less."""
        spread = {"harms": 0.15, "answers": 0.15, "brings": 0.25}.get(self.kind, 0.0)
        return COSTS[self.kind] + spread * (4 - self.grade if self.grade >= 0 else 0)


@dataclass(frozen=True, slots=True)
class Path:
    """The things on the way, and the ties between them."""

    nodes: tuple[str, ...]
    ties: tuple[Tie, ...]
    cost: float


@dataclass(frozen=True)
class PathGraph:
    """The things and their ties; of several ties between two things the cheapest is walked."""

    graph: nx.Graph[str]

    def __contains__(self, one: object) -> bool:
        return one in self.graph

    def between(self, start: str, end: str, most: int = 5) -> tuple[Path, ...]:
        """Return the cheapest paths of at most LONGEST ties, no more than two of the same make-up.

        None where one of both isn't there, nothing joins them or they are the same.
        """
        if start not in self.graph or end not in self.graph or start == end:
            return ()
        near = self._near(start, end)
        if near is None:
            return ()
        found: list[Path] = []
        kinds: dict[tuple[str, ...], int] = {}
        ways = nx.shortest_simple_paths(near, start, end, weight="cost")
        for nodes in islice(ways, _TRIED):
            if len(nodes) - 1 > LONGEST:
                continue
            path = self._path(nodes)
            made_of = tuple(tie.kind for tie in path.ties)
            kinds[made_of] = kinds.get(made_of, 0) + 1
            if kinds[made_of] <= _EACH_KIND:
                found.append(path)
            if len(found) == most:
                break
        return tuple(found)

    def _near(self, start: str, end: str) -> nx.Graph[str] | None:
        """Return the part of the graph in which all paths lie that cost little more than the best.

        Things that hang on one neighbour only are left out; no path leads through them.
        """
        from_start = nx.single_source_dijkstra_path_length(self.graph, start, weight="cost")
        if end not in from_start:
            return None
        from_end = nx.single_source_dijkstra_path_length(self.graph, end, weight="cost")
        most = from_start[end] + _SLACK
        far = math.inf
        near = [n for n, cost in from_start.items() if cost + from_end.get(n, far) <= most]
        part = self.graph.subgraph(near).copy()
        part.remove_nodes_from([n for n in near if part.degree(n) < 2 and n not in (start, end)])
        return part

    def _path(self, nodes: list[str]) -> Path:
        ties = tuple(_walked(self.graph.edges[step]["tie"], step[0]) for step in pairwise(nodes))
        return Path(tuple(nodes), ties, sum(tie.cost for tie in ties))


def _walked(tie: Tie, start: str) -> Tie:
    """Return a tie without a direction as it is walked; all others as they are."""
    if tie.kind == "together" and tie.subject != start:
        return replace(tie, subject=tie.object, object=tie.subject)
    return tie


def build_paths(book: Reference, knowledge: Knowledge) -> PathGraph:
    """Return the graph of everything in a book of reference that a tie leads to."""
    graph: nx.Graph[str] = nx.Graph()
    for tie in _ties(book, Catalogue(knowledge)):
        ends = tie.subject, tie.object
        if ends[0] == ends[1] or not all(one in book.labels for one in ends):
            continue
        known = graph.edges[ends]["tie"] if graph.has_edge(*ends) else None
        if known is None or tie.cost < known.cost:
            graph.add_edge(*ends, tie=tie)
    for one, other, data in graph.edges(data=True):
        crowd = math.log2(graph.degree(one)) + math.log2(graph.degree(other))
        data["cost"] = data["tie"].cost + _HUB * crowd
    return PathGraph(graph)


def _ties(book: Reference, catalogue: Catalogue) -> Iterator[Tie]:
    yield from _of_techniques(catalogue)
    yield from _of_claims(book)
    yield from _of_tests(catalogue)
    yield from _of_rules(book)
    yield from order_ties(catalogue.knowledge)
    for entry in book.entries.values():
        for up in entry.broader:
            yield Tie(entry.id, up, "broader", ": a kind of")


def _of_techniques(catalogue: Catalogue) -> Iterator[Tie]:
    for t in catalogue.techniques.values():
        for use in t.brings:
            dose = f"dose {use.dose} ({DOSE_WORDS.get(use.dose, 'outside the scale')})"
            kept = "; a sheet can stop it" if use.confined else "; no sheet stops it"
            yield Tie(t.id, use.agent, "brings", "brings", dose + kept, use.rests_on, use.dose)
        for one in t.requires:
            yield Tie(t.id, one, "requires", "requires that this holds:")
        for one in t.needs_tests:
            yield Tie(t.id, one, "needs", "asks first for")
        for one in t.cautions:
            yield Tie(t.id, one, "cautions", "carries the caution")


def _of_claims(book: Reference) -> Iterator[Tie]:
    for entry in book.entries.values():
        if entry.scheme != "material":
            continue
        for row in entry.grades:
            if row.harm > 0 and not row.inherited_from:
                words = HARM_WORDS.get(row.harm, "harms")
                more = "claims disagree, the gravest leads" if row.contested else ""
                yield Tie(row.concept, entry.id, "harms", words, more, row.claims, row.harm)
            elif row.harm == 0 and not row.inherited_from:
                words = "is not known to harm"
                yield Tie(row.concept, entry.id, "harmless", words, "", row.claims, 0)
    for claim in book.claims.values():
        if claim.kind == "effect" and claim.technique and claim.damage:
            if claim.efficacy:
                words = ANSWER_WORDS[min(claim.efficacy, 4)]
                yield Tie(
                    claim.technique, claim.damage, "answers", words, "", (claim.id,), claim.efficacy
                )
        elif claim.kind != "sensitivity":
            yield from _together(claim)


def _together(claim: ClaimEntry) -> Iterator[Tie]:
    named = list(dict.fromkeys((*claim.about, *claim.agents)))
    for one, other in combinations(named[:6], 2):
        ends = "are named in one claim"
        yield Tie(one, other, "together", "and", "", (claim.id,), ends=ends)


def _of_tests(catalogue: Catalogue) -> Iterator[Tie]:
    for t in catalogue.tests.values():
        for agent in sorted(t.clears | t.bars):
            yield Tie(t.id, agent, "settles", "settles what may be brought of", "", t.rests_on)
        for agent in sorted(t.tests_agent):
            yield Tie(t.id, agent, "settles", "tries", "", t.rests_on)
        for one in sorted(t.identifies):
            yield Tie(t.id, one, "identifies", "identifies", "", t.rests_on)
        for one in sorted(t.checks):
            yield Tie(t.id, one, "checks", "checks whether this holds:", "", t.rests_on)
        for one in sorted(t.applies_to):
            yield Tie(t.id, one, "applies", "can be made on", "", t.rests_on)


def _of_rules(book: Reference) -> Iterator[Tie]:
    for one, entry in book.rules.items():
        claims = entry.rule.rests_on
        for name in entry.names:
            yield Tie(one, name, "names", ": a rule that looks at", "", claims)
        for name in entry.rule.lifted_by:
            yield Tie(one, name, "lifted", ": a rule that is settled by", "", claims)
        for name in entry.rule.cautions:
            yield Tie(one, name, "cautions", ": a rule that points to the caution", "", claims)


def order_ties(k: Knowledge) -> Iterator[Tie]:
    """Yield what comes before what among techniques, and what can't follow what."""
    for kind, words, far in (
        ("lw:Precedence", "comes before", "lw:after"),
        ("lw:Conflict", "can't be followed by", "lw:rulesOut"),
    ):
        for node in k.instances(kind):
            for first in k.objects(node, "lw:before"):
                for second in k.objects(node, far):
                    tie = "before" if far == "lw:after" else "rules out"
                    because = k.text(node, "lw:because").rstrip(".")
                    yield Tie(
                        first, second, tie, words, because, tuple(k.objects(node, "lw:restsOn"))
                    )
