"""A case with its condition and what is proposed, in the CIDOC CRM (version 7.1.3).

Only classes and properties whose names, domains and ranges were read are used. What has not
happened is no event: a proposed option is an E29 Design or Procedure and never an E11
Modification; once the work is done, its record can point to the procedure with P33. The CRM has no
class for a risk or a verdict; those stay in our own vocabulary.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from functools import cached_property
from urllib.parse import quote

from rdflib import XSD, Graph, Literal, Namespace, URIRef
from rdflib.namespace import DCTERMS, RDF, RDFS, SKOS
from rdflib.term import Node

from leastwise.graph.answer import Answer, OptionAnswer
from leastwise.graph.case.record import Case, Contact, DamageFound, Extent, Part, TestDone
from leastwise.graph.exchange.jsonld import CONTEXT_PREFIXES
from leastwise.graph.exchange.rdf_out import INVENTED, add_labels, name, new_graph
from leastwise.graph.knowledge.knowledge import Knowledge
from leastwise.graph.meanings import Verdict
from leastwise.graph.names import LW, camel
from leastwise.graph.shacl.rdf import to_node
from leastwise.graph.weighing.facts import case_base, number

__all__ = ["crm_graph"]

CRM = Namespace(CONTEXT_PREFIXES["crm"])
AAT = Namespace(CONTEXT_PREFIXES["aat"])
_LW = Namespace(LW)

_OBJECT = CRM["E22_Human-Made_Object"]
#: Units for which AAT identifiers were read; the others get a name of their own in the export.
_AAT_UNITS = {"cm": AAT["300379098"], "percent": AAT["300417377"]}
_SIGNIFICANCE = AAT["300379665"]
_PROPOSED = (Verdict.ACCEPTED, Verdict.UNDECIDED)


def crm_graph(case: Case, answer: Answer, knowledge: Knowledge) -> Graph:
    """Return object, parts, materials, contacts, condition, tests and proposed options of a case.

    *answer* is what :meth:`Adviser.weigh` said of this case. Options that it defeated are left out:
    they aren't proposed. The same case, answer and knowledge give the same graph.
    """
    return _Export(case, answer, knowledge).graph()


@dataclass(frozen=True)
class _Export:
    case: Case
    answer: Answer
    knowledge: Knowledge

    @cached_property
    def _graph(self) -> Graph:
        return new_graph()

    def graph(self) -> Graph:
        self._object()
        for part in self.case.parts:
            self._part(part)
        for i, contact in enumerate(self.case.contacts):
            self._contact(i, contact)
        for damage in self.case.damages:
            self._damage(damage)
        for i, test in enumerate(self.case.tests):
            self._test(i, test)
        for option in self.answer.options():
            if option.verdict in _PROPOSED:
                self._option(option)
        return self._graph

    def _iri(self, local: str) -> URIRef:
        return URIRef(case_base(self.case) + local)

    def _add(self, subject: Node, predicate: URIRef, *objects: Node) -> None:
        for one in objects:
            self._graph.add((subject, predicate, one))

    def _concept(self, curie: str, kind: str) -> URIRef:
        """Return a concept of the knowledge, described as an E55 Type or E57 Material."""
        me = name(curie)
        self._add(me, RDF.type, CRM[kind])
        add_labels(self._graph, self.knowledge, curie)
        return me

    def _value(self, word: str) -> URIRef:
        return self._concept(camel(word), "E55_Type")

    def _note(self, subject: Node, *texts: str) -> None:
        self._add(subject, SKOS.note, *(Literal(text) for text in texts if text))

    def _object(self) -> None:
        case, thing, record = self.case, self._iri("object"), self._iri("record")
        self._add(thing, RDF.type, _OBJECT, _LW.Object)
        self._add(thing, RDFS.label, Literal(case.object.name))
        self._add(thing, CRM.P2_has_type, self._value(case.object.kind))
        self._add(thing, DCTERMS.created, *_known(case.object.made))
        for text in _known(case.object.identifier):
            sign = self._iri("identifier")
            self._add(thing, CRM.P1_is_identified_by, sign)
            self._add(sign, RDF.type, CRM.E42_Identifier)
            self._add(sign, CRM.P190_has_symbolic_content, text)
        self._add(record, RDF.type, CRM.E31_Document, _LW.Case)
        self._add(record, CRM.P70_documents, thing)
        self._add(record, DCTERMS.title, Literal(case.title))
        self._add(record, DCTERMS.creator, *_known(case.record.recorder))
        self._add(record, DCTERMS.date, *_known(str(case.record.date), XSD.date))
        if case.demo:
            self._add(record, _LW.isDemo, Literal(True))
            self._add(record, SKOS.note, INVENTED)
            self._add(thing, SKOS.note, INVENTED)
        self._significance(thing)

    def _significance(self, thing: URIRef) -> None:
        stated = self.case.significance
        if not stated.statement and not stated.keep:
            return
        me = self._iri("significance")
        self._add(me, RDF.type, CRM.E13_Attribute_Assignment, _LW.Significance)
        self._add(me, CRM.P140_assigned_attribute_to, thing)
        self._add(me, CRM.P177_assigned_property_of_type, _SIGNIFICANCE)
        self._add(_SIGNIFICANCE, RDF.type, CRM.E55_Type)
        self._add(_SIGNIFICANCE, RDFS.label, Literal("significance", lang="en"))
        self._when_and_who(me, str(self.case.record.date), self.case.record.recorder)
        if stated.statement:
            said = self._iri("significance/statement")
            self._add(me, CRM.P141_assigned, said)
            self._add(said, RDF.type, CRM.E33_Linguistic_Object)
            self._add(said, CRM.P190_has_symbolic_content, Literal(stated.statement))
        self._add(self._iri("record"), _LW.keep, *(Literal(text) for text in stated.keep))

    def _part(self, part: Part) -> None:
        me = self._iri(f"part/{part.id}")
        self._add(me, RDF.type, _OBJECT, _LW.Part)
        self._add(me, RDFS.label, Literal(part.name))
        self._add(self._iri("object"), CRM.P46_is_composed_of, me)
        self._note(me, part.note, *(one.note for one in part.materials))
        for one in part.materials:
            groups = self.knowledge.broader(one.material)
            if "material:structure" in groups:  # how it is made, not what it is made of
                self._add(me, CRM.P2_has_type, self._concept(one.material, "E55_Type"))
            else:
                self._add(me, CRM.P45_consists_of, self._concept(one.material, "E57_Material"))

    def _contact(self, place: int, contact: Contact) -> None:
        me = self._iri(f"contact/{place}")
        self._add(me, RDF.type, CRM.E26_Physical_Feature, _LW.Contact)
        self._add(me, CRM.P2_has_type, self._concept(f"contact:{contact.kind}", "E55_Type"))
        for end in contact.between:
            self._add(self._iri(f"part/{end}"), CRM.P56_bears_feature, me)
        self._note(me, contact.note)

    def _damage(self, damage: DamageFound) -> None:
        state, looked = self._iri(f"damage/{damage.id}"), self._iri("assessment")
        self._add(state, RDF.type, CRM.E3_Condition_State, _LW.DamageFound)
        self._add(state, CRM.P2_has_type, self._concept(damage.damage, "E55_Type"))
        self._add(state, _LW.severityFound, self._value(damage.severity))
        self._add(state, _LW.activityFound, self._value(damage.activity))
        self._note(state, damage.note)
        self._add(looked, RDF.type, CRM.E14_Condition_Assessment)
        self._add(looked, CRM.P34_concerned, self._iri("object"))
        self._add(looked, CRM.P35_has_identified, state)
        self._when_and_who(looked, str(self.case.record.date), self.case.record.recorder)
        for part in damage.parts:
            self._add(self._iri(f"part/{part}"), CRM.P44_has_condition, state)
        if isinstance(damage.extent, Extent):
            self._extent(damage, state, damage.extent)

    def _extent(self, damage: DamageFound, state: URIRef, extent: Extent) -> None:
        """Add the measuring of a damage: of the parts, since a state is no thing to be measured."""
        act = self._iri(f"damage/{damage.id}/measuring")
        self._add(act, RDF.type, CRM.E16_Measurement)
        for part in damage.parts:
            self._add(act, CRM.P39_measured, self._iri(f"part/{part}"))
        self._add(act, CRM.P17_was_motivated_by, state)
        self._when_and_who(act, str(self.case.record.date), self.case.record.recorder)
        self._dimension(act, f"damage/{damage.id}/extent", extent.value, extent.unit)

    def _dimension(self, act: URIRef, local: str, value: float, unit: str) -> None:
        size = self._iri(local)
        measure = _AAT_UNITS.get(unit) or self._iri(f"unit/{quote(unit, safe='')}")
        self._add(act, CRM.P40_observed_dimension, size)
        self._add(size, RDF.type, CRM.E54_Dimension)
        self._add(size, CRM.P90_has_value, to_node(number(value)))
        self._add(size, CRM.P91_has_unit, measure)
        self._add(measure, RDF.type, CRM.E58_Measurement_Unit)
        self._add(measure, RDFS.label, Literal(unit))

    def _when_and_who(self, act: URIRef, date: str, who: str) -> None:
        """Add when something was done and by whom, as far as the record says so."""
        for day in _known(date, XSD.date):
            span = URIRef(f"{act}/time")
            self._add(act, CRM["P4_has_time-span"], span)
            self._add(span, RDF.type, CRM["E52_Time-Span"])
            self._add(span, CRM.P82_at_some_time_within, day)
        for name_of in _known(who):
            actor = self._iri(f"actor/{quote(who, safe='')}")
            self._add(act, CRM.P14_carried_out_by, actor)
            self._add(actor, RDF.type, CRM.E39_Actor)
            self._add(actor, RDFS.label, name_of)

    def _test(self, place: int, test: TestDone) -> None:
        """Add a test: the assigning of an attribute, and a measurement only with a reading."""
        me, part = self._iri(f"test/{place}"), self._iri(f"part/{test.part}")
        self._add(me, RDF.type, CRM.E13_Attribute_Assignment, _LW.TestDone)
        self._add(me, CRM.P140_assigned_attribute_to, part)
        self._add(me, CRM.P141_assigned, self._value(test.result))
        self._add(me, CRM.P32_used_general_technique, self._concept(test.test, "E55_Type"))
        self._add(me, _LW.result, self._value(test.result))
        self._when_and_who(me, str(test.date), test.by or "unknown")
        if test.reading is not None:
            self._add(me, RDF.type, CRM.E16_Measurement)
            self._add(me, CRM.P39_measured, part)
            self._dimension(me, f"test/{place}/reading", test.reading.value, test.reading.unit)
        if test.identified is not None:
            self._add(me, CRM.P141_assigned, self._concept(test.identified, "E55_Type"))
        for predicate, curie in ((_LW.material, test.material), (_LW.agent, test.agent)):
            if curie is not None:
                self._add(me, predicate, name(curie))
        self._note(me, test.note)

    def _option(self, option: OptionAnswer) -> None:
        me, record = self._iri(f"option/{option.id}"), self._iri("record")
        self._add(me, RDF.type, CRM.E29_Design_or_Procedure, _LW.Option)
        self._add(me, RDFS.label, Literal(option.label))
        self._add(me, CRM.P2_has_type, self._concept(option.technique, "E55_Type"))
        self._add(me, _LW.addresses, self._iri(f"damage/{option.id.problem}"))
        for work in option.work:
            self._add(me, _LW.part, *(self._iri(f"part/{part}") for part in work.parts))
        self._add(me, _LW.verdict, self._value(option.verdict))
        burden = Literal(f"{option.burden:.4f}", datatype=XSD.decimal, normalize=False)
        self._add(me, _LW.burden, burden)
        self._add(me, _LW.meetsAim, Literal(option.meets_aim))
        self._note(me, option.verdict_in_words)
        self._add(record, CRM.P70_documents, me)


def _known(text: str, datatype: URIRef | None = None) -> Iterable[Literal]:
    return () if text == "unknown" else (Literal(text, datatype=datatype),)
