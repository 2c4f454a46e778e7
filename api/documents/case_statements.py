"""What the linked data of a proposal and of a treatment record have in common.

Each stands beside the triples of its case, and says title, version, day, and from which release of
knowledge and rules it was made.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

from rdflib import XSD, Graph, Literal, URIRef
from rdflib.namespace import DCTERMS, PROV, RDF, SKOS
from rdflib.term import Node

from leastwise.api.documents.proposal_plain import ADVICE
from leastwise.graph.case.record import Case
from leastwise.graph.exchange.rdf_out import case_graph
from leastwise.graph.names import BASE
from leastwise.graph.proposal.report.values import Report
from leastwise.graph.weighing.facts import case_base

__all__ = ["CaseStatements"]


@dataclass(frozen=True)
class CaseStatements:
    """A document of a case on its way to triples."""

    report: Report
    case: Case

    @cached_property
    def _graph(self) -> Graph:
        return case_graph(self.case)

    def _iri(self, local: str) -> URIRef:
        return URIRef(case_base(self.case) + local)

    def _add(self, subject: Node, predicate: URIRef, *objects: Node) -> None:
        for one in objects:
            self._graph.add((subject, predicate, one))

    def _begin(self, me: URIRef, title: str) -> None:
        """Say what the document *me* is called, which edition it is, and what it was made from."""
        edition = self.report.edition
        self._add(me, DCTERMS.title, Literal(title))
        self._add(me, DCTERMS.hasVersion, Literal(edition.version))
        self._add(me, DCTERMS.date, Literal(edition.date, datatype=XSD.date))
        self._add(me, PROV.wasDerivedFrom, self._iri("record"))
        self._add(me, SKOS.note, Literal(ADVICE, lang="en"))
        for what, digest in (("knowledge", edition.knowledge), ("rules", edition.rules)):
            release = URIRef(f"{BASE}release/{what}/{digest}")
            self._add(release, RDF.type, PROV.Entity)
            self._add(release, DCTERMS.identifier, Literal(digest))
            self._add(me, PROV.wasDerivedFrom, release)
