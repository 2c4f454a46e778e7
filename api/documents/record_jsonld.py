"""A treatment record as JSON-LD: what happened in CIDOC CRM, who and what it rests on in PROV-O.

A step that was begun is an E11 Modification that used the planned procedure (P33); one that was
not done is no event and stays an entry. A reading is an E16 Measurement with its dimension and
unit, an outcome an E14 Condition Assessment. The rest is said with Dublin Core and SKOS.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from urllib.parse import quote

from rdflib import XSD, Graph, Literal, Namespace, URIRef
from rdflib.namespace import DCTERMS, PROV, RDF, RDFS, SKOS
from rdflib.term import Node

from leastwise.api.documents.case_statements import CaseStatements
from leastwise.graph.exchange.jsonld import CONTEXT_PREFIXES
from leastwise.graph.exchange.rdf_out import name, published, written
from leastwise.graph.names import BASE, LW
from leastwise.graph.proposal.report.values import Report
from leastwise.graph.proposal.report.words import cleaned
from leastwise.graph.shacl.rdf import to_node
from leastwise.graph.treatment.record import FollowUp, MaterialUsed, PartOutcome, Reading, StepDone
from leastwise.graph.treatment.report import (
    MANNER_WORDS,
    QUANTITY_WORDS,
    RESULT_WORDS,
    STATE_WORDS,
    Treatment,
)
from leastwise.graph.weighing.facts import number

__all__ = ["record_jsonld"]

CRM, _LW = Namespace(CONTEXT_PREFIXES["crm"]), Namespace(LW)


def record_jsonld(report: Report, work: Treatment, base: str = BASE) -> str:
    """Return a treatment record as JSON-LD; the same record gives the same text."""
    return written(published(_Export(report, work.case, work).graph(), base), "jsonld")


@dataclass(frozen=True)
class _Export(CaseStatements):
    work: Treatment

    def _say(self, subject: Node, predicate: URIRef, text: str) -> None:
        if text.strip():
            self._add(subject, predicate, Literal(cleaned(text)))

    def graph(self) -> Graph:
        report, me, record = self.report, self._iri("treatment"), self.work.record
        self._add(me, RDF.type, PROV.Entity, CRM.E31_Document)
        self._add(me, CRM.P70_documents, self._iri("object"))
        self._add(self._iri("object"), RDF.type, CRM["E22_Human-Made_Object"])
        self._begin(me, f"{report.title}: treatment record")
        for place, lack in enumerate(self.work.lacks, 1):
            node = self._iri(f"treatment/missing/{place:03d}")
            self._add(node, RDF.type, PROV.Entity)
            self._add(node, DCTERMS.description, Literal(f"Still missing: {lack.what}", lang="en"))
            self._add(node, PROV.wasDerivedFrom, name(lack.claim))
            self._add(me, DCTERMS.hasPart, node)
        for step in record.steps:
            self._step(self._entry(me, "step", step.id), step)
        for reading in record.readings:
            self._reading(self._entry(me, "reading", reading.id), reading)
        for used in record.materials:
            self._material(self._entry(me, "material-used", used.id), used)
        for outcome in record.outcomes:
            self._outcome(self._entry(me, "outcome", outcome.id), outcome)
        for follow_up in record.follow_ups:
            self._follow_up(self._entry(me, "follow-up", follow_up.id), follow_up)
        self._photographs(me)
        self._final(me)
        return self._graph

    def _entry(self, me: URIRef, kind: str, entry: str) -> URIRef:
        node = self._iri(f"treatment/{kind}/{quote(entry, '')}")
        self._add(me, DCTERMS.hasPart, node)
        return node

    def _who_when(self, node: URIRef, who: str, day: date) -> None:
        self._add(node, DCTERMS.date, Literal(day.isoformat(), datatype=XSD.date))
        if who.strip():
            person = self._iri(f"person/{quote(cleaned(who), '')}")
            self._add(person, RDF.type, PROV.Agent)
            self._add(person, RDFS.label, Literal(cleaned(who)))
            self._add(node, PROV.wasAssociatedWith, person)

    def _thing(self, part: str) -> URIRef:
        return self._iri(f"part/{part}" if part else "object")

    def _planned(self, option: str) -> URIRef:
        """Say what was planned, and return the name that it has."""
        plan = self._iri(f"option/{quote(option, '/')}")
        self._add(plan, RDF.type, CRM.E29_Design_or_Procedure)
        self._say(plan, RDFS.label, self.work.planned.get(option, ""))
        return plan

    def _step(self, node: URIRef, step: StepDone) -> None:
        happened = step.state != "not-done"
        if happened:
            self._add(node, RDF.type, CRM.E11_Modification, PROV.Activity)
            self._add(node, CRM.P31_has_modified, self._iri("object"))
        else:
            self._add(node, RDF.type, PROV.Entity)
        self._say(node, RDFS.label, step.what)
        self._add(node, DCTERMS.type, Literal(STATE_WORDS[step.state], lang="en"))
        self._who_when(node, step.by, step.date)
        if step.planned:
            used = CRM.P33_used_specific_technique if happened else DCTERMS.references
            self._add(node, used, self._planned(step.planned))
        if step.hours is not None:
            self._add(node, DCTERMS.extent, Literal(f"{step.hours:g} h"))
        if step.deviation:
            approved = step.approved_by or "nobody in writing"
            words = f"Deviation: {step.deviation} (approved by {approved})"
            self._say(node, SKOS.changeNote, words)
        self._say(node, SKOS.note, step.note)

    def _reading(self, node: URIRef, one: Reading) -> None:
        size = URIRef(f"{node}/value")
        unit = self._iri(f"unit/{quote(cleaned(one.unit), '')}")
        self._add(node, RDF.type, CRM.E16_Measurement, PROV.Activity)
        self._add(node, CRM.P39_measured, self._thing(one.part))
        self._add(node, CRM.P40_observed_dimension, size)
        self._add(size, RDF.type, CRM.E54_Dimension)
        self._add(size, RDFS.label, Literal(QUANTITY_WORDS[one.quantity], lang="en"))
        self._add(size, CRM.P90_has_value, to_node(number(one.value)))
        self._add(size, CRM.P91_has_unit, unit)
        self._add(unit, RDF.type, CRM.E58_Measurement_Unit)
        self._say(unit, RDFS.label, one.unit)
        self._who_when(node, one.by, one.date)
        self._say(node, DCTERMS.temporal, one.time)
        self._say(node, SKOS.note, one.note)

    def _material(self, node: URIRef, one: MaterialUsed) -> None:
        self._add(node, RDF.type, PROV.Entity)
        self._say(node, RDFS.label, one.what)
        self._add(node, DCTERMS.type, Literal(MANNER_WORDS[one.manner], lang="en"))
        self._add(node, DCTERMS.relation, self._thing(one.part))
        self._add(node, DCTERMS.date, Literal(one.date.isoformat(), datatype=XSD.date))
        self._say(node, DCTERMS.identifier, f"batch {one.batch}" if one.batch else "")
        self._say(node, DCTERMS.publisher, one.maker)
        self._say(node, DCTERMS.extent, one.amount)
        self._say(node, SKOS.note, one.note)

    def _outcome(self, node: URIRef, one: PartOutcome) -> None:
        self._add(node, RDF.type, CRM.E14_Condition_Assessment, PROV.Activity)
        self._add(node, CRM.P34_concerned, self._thing(one.part))
        self._add(node, _LW.technique, name(one.technique))
        self._add(node, _LW.addresses, self._iri(f"damage/{one.damage}"))
        self._add(node, DCTERMS.type, Literal(RESULT_WORDS[one.result], lang="en"))
        self._who_when(node, one.by, one.date)
        self._say(node, SKOS.note, one.note)

    def _follow_up(self, node: URIRef, one: FollowUp) -> None:
        self._add(node, RDF.type, PROV.Entity, PROV.Plan)
        self._say(node, DCTERMS.description, one.what)
        self._add(node, DCTERMS.date, Literal(one.due.isoformat(), datatype=XSD.date))
        if one.done:
            looked = URIRef(f"{node}/looked")
            self._add(looked, RDF.type, CRM.E14_Condition_Assessment, PROV.Activity)
            self._add(looked, CRM.P34_concerned, self._iri("object"))
            self._add(looked, PROV.used, node)
            self._who_when(looked, one.by, one.done)
            self._say(looked, SKOS.note, one.found)

    def _photographs(self, me: URIRef) -> None:
        section = next(s for s in self.report.sections if s.key == "images")
        for block in section.passages[0].blocks:
            if block.kind == "figure":
                node = self._entry(me, "photograph", block.key)
                self._add(node, RDF.type, PROV.Entity)
                self._say(node, DCTERMS.title, block.caption)

    def _final(self, me: URIRef) -> None:
        final = self.work.record.final
        for key, text in (
            ("state after treatment", final.state_after),
            ("what changed", final.changes),
            ("what was learnt", final.new_information),
            ("what was added for looks", final.compensation),
            ("advice for future care", final.future_care),
        ):
            if text.strip():
                node = self._entry(me, "final", key.replace(" ", "-"))
                self._add(node, RDF.type, PROV.Entity)
                self._add(node, DCTERMS.title, Literal(key, lang="en"))
                self._say(node, RDF.value, text)
        self._say(me, DCTERMS.creator, final.recorder)
