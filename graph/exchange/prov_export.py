"""How an answer was made, in PROV-O: from which record, knowledge, rules, claims and policy.

Nothing here reads a clock: a time is written only if it is passed in, so that the same answer
gives the same graph.
"""

from __future__ import annotations

import hashlib
from dataclasses import dataclass
from datetime import datetime
from functools import cached_property

from rdflib import Graph, Literal, Namespace, URIRef
from rdflib.namespace import DCTERMS, PROV, RDF, RDFS, SKOS
from rdflib.term import Node

from leastwise.graph.answer import Answer, ClaimView, OptionAnswer, Reason
from leastwise.graph.case.record import Case
from leastwise.graph.exchange.rdf_out import INVENTED, name, new_graph
from leastwise.graph.names import BASE, LW
from leastwise.graph.weighing.facts import case_base

__all__ = ["prov_graph"]

_LW = Namespace(LW)


def prov_graph(case: Case, answer: Answer, *, at: datetime | None = None) -> Graph:
    """Return the provenance of an answer to a case.

    Args:
        case: the record that was weighed.
        answer: what was said of it.
        at: when the weighing ended, where that is to be told.

    """
    return _Export(case, answer, at).graph()


@dataclass(frozen=True)
class _Export:
    case: Case
    answer: Answer
    at: datetime | None

    @cached_property
    def _graph(self) -> Graph:
        return new_graph()

    @cached_property
    def _id(self) -> str:
        """Name the answer by its content."""
        return hashlib.sha256(self.answer.as_json().encode()).hexdigest()[:16]

    def _iri(self, local: str) -> URIRef:
        return URIRef(case_base(self.case) + local)

    def _add(self, subject: Node, predicate: URIRef, *objects: Node) -> None:
        for one in objects:
            self._graph.add((subject, predicate, one))

    def graph(self) -> Graph:
        act, answer = self._iri(f"weighing/{self._id}"), self._iri(f"answer/{self._id}")
        self._add(act, RDF.type, PROV.Activity)
        self._add(act, RDFS.label, Literal("weighing of options", lang="en"))
        self._add(answer, RDF.type, PROV.Entity, PROV.Collection)
        self._add(answer, DCTERMS.title, Literal(self.answer.case.title))
        self._add(answer, PROV.wasGeneratedBy, act)
        if self.at is not None:
            self._add(act, PROV.endedAtTime, Literal(self.at))
        self._used(act, answer)
        self._agent(act)
        for claim, view in self.answer.claims.items():
            self._add(act, PROV.used, name(claim))
            self._claim(claim, view)
        for option in self.answer.options():
            self._option(option, act, answer)
        return self._graph

    def _used(self, act: URIRef, answer: URIRef) -> None:
        """Add the record, the knowledge and the rules, the last two named by their digests."""
        stamp, record = self.answer.stamp, self._iri("record")
        self._add(record, RDF.type, PROV.Entity, _LW.Case)
        self._add(record, DCTERMS.title, Literal(self.case.title))
        self._add(answer, PROV.wasDerivedFrom, record)
        if self.case.demo:
            self._add(record, SKOS.note, INVENTED)
            self._add(answer, SKOS.note, INVENTED)
        for what, digest in (("knowledge", stamp.knowledge), ("rules", stamp.rules)):
            me = URIRef(f"{BASE}release/{what}/{digest}")
            self._add(me, RDF.type, PROV.Entity)
            self._add(me, RDFS.label, Literal(f"{what} of Leastwise", lang="en"))
            self._add(me, DCTERMS.identifier, Literal(digest))
            self._add(act, PROV.used, me)
        self._add(act, PROV.used, record)

    def _agent(self, act: URIRef) -> None:
        """Add the software, and the policy that it followed as its plan."""
        agent, policy = URIRef(f"{BASE}software/leastwise"), name(self.answer.policy.id)
        self._add(agent, RDF.type, PROV.SoftwareAgent)
        self._add(agent, RDFS.label, Literal("Leastwise"))
        self._add(agent, DCTERMS.hasVersion, Literal(self.answer.stamp.program))
        how = self._iri(f"weighing/{self._id}/policy")
        self._add(act, PROV.wasAssociatedWith, agent)
        self._add(act, PROV.qualifiedAssociation, how)
        self._add(how, RDF.type, PROV.Association)
        self._add(how, PROV.agent, agent)
        self._add(how, PROV.hadPlan, policy)
        self._add(policy, RDF.type, PROV.Plan, _LW.Policy)
        self._add(policy, RDFS.label, Literal(self.answer.policy.label))

    def _claim(self, claim: str, view: ClaimView) -> None:
        me = name(claim)
        self._add(me, RDF.type, PROV.Entity, _LW.Claim)
        self._add(me, _LW.statement, Literal(view.statement))
        for predicate, value in ((_LW.basis, view.basis), (_LW.confidence, view.confidence)):
            if value:
                self._add(me, predicate, _LW[value])
        if view.source:
            source, origin = self.answer.sources[view.source], name(view.source)
            self._add(me, PROV.wasDerivedFrom, origin)
            self._add(origin, RDF.type, PROV.Entity, _LW.Source)
            self._add(origin, DCTERMS.bibliographicCitation, Literal(source.citation))
            if source.address:
                self._add(origin, RDFS.seeAlso, URIRef(source.address))

    def _option(self, option: OptionAnswer, act: URIRef, answer: URIRef) -> None:
        """Add one option with its verdict, and the claims and rules that the verdict rests on."""
        me = self._iri(f"option/{option.id}")
        self._add(me, RDF.type, PROV.Plan, _LW.Option)
        self._add(me, RDFS.label, Literal(option.label))
        self._add(me, PROV.wasGeneratedBy, act)
        self._add(answer, PROV.hadMember, me)
        self._add(me, _LW.technique, name(option.technique))
        self._add(me, _LW.verdict, _LW[option.verdict])
        cited = {c for view in option.findings for c in view.claims} | _cited(option.reasons)
        self._add(me, PROV.wasDerivedFrom, *(name(one) for one in sorted(cited)))
        for rule in sorted({view.rule for view in option.findings}):
            self._add(act, PROV.used, name(rule))
            self._add(name(rule), RDF.type, PROV.Entity)
            self._add(me, PROV.wasDerivedFrom, name(rule))


def _cited(reason: Reason) -> set[str]:
    return {*reason.claims, *(one for inner in reason.reasons for one in _cited(inner))}
