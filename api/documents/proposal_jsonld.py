"""A proposal as JSON-LD: the case, what is proposed, and every statement with where it comes from.

A statement that was derived points to its claims with ``prov:wasDerivedFrom``, and those to their
sources; own words are the writer's, what is from the record is the recorder's. What was decided
and signed in Review is an activity each, that used the frozen version it speaks of. Only terms of
our vocabulary, Dublin Core, SKOS and PROV are used.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from urllib.parse import quote

from rdflib import XSD, Graph, Literal, Namespace, URIRef
from rdflib.namespace import DCTERMS, PROV, RDF, RDFS, SKOS

from leastwise.api.documents.case_statements import CaseStatements
from leastwise.graph.case.record import Case
from leastwise.graph.exchange.rdf_out import name, published, written
from leastwise.graph.names import BASE, LW
from leastwise.graph.proposal.report.reviews import Given, Reviewed
from leastwise.graph.proposal.report.values import (
    STATE_WORDS,
    ChosenOption,
    Figure,
    Heading,
    Line,
    Report,
    Section,
    Table,
    lines_of,
)

__all__ = ["proposal_jsonld"]

_LW = Namespace(LW)


def proposal_jsonld(report: Report, case: Case, base: str = BASE) -> str:
    """Return a proposal as JSON-LD; the same report and case give the same text."""
    return written(published(_Export(report, case).graph(), base), "jsonld")


@dataclass(frozen=True)
class _Export(CaseStatements):
    def graph(self) -> Graph:
        report, me = self.report, self._iri("proposal")
        self._add(me, RDF.type, PROV.Entity, PROV.Plan)
        self._add(me, DCTERMS.identifier, Literal(f"sha256:{report.edition.case_digest}"))
        self._begin(me, report.title)
        self._agents()
        for one in report.chosen:
            self._option(me, one)
        for element in report.elements:
            node = self._iri(f"proposal/element/{element.key.replace(':', '-')}")
            said = f"{element.duty}: {STATE_WORDS[element.state]}"
            said += f" ({element.remark})" if element.remark else ""
            self._add(node, RDF.type, PROV.Entity)
            self._add(node, RDFS.label, Literal(element.label, lang="en"))
            self._add(node, DCTERMS.description, Literal(said, lang="en"))
            self._add(node, PROV.wasDerivedFrom, *map(name, element.claims))
            self._add(me, DCTERMS.hasPart, node)
        for number, section in enumerate(report.sections, 1):
            self._section(me, number, section)
        if report.reviews is not None:
            for version in report.reviews.versions:
                self._reviewed(me, version)
        self._references()
        return self._graph

    def _agents(self) -> None:
        reviewed = self.report.reviews is not None and bool(self.report.reviews.versions)
        if reviewed:
            self._add(self._agent("review"), RDF.type, PROV.Agent)
            self._add(self._agent("review"), RDFS.label, Literal("who reviewed it", lang="en"))
        for node, kind, label in (
            (self._agent("derived"), PROV.SoftwareAgent, "Leastwise"),
            (self._agent("own"), PROV.Agent, "writer of the proposal"),
            (self._agent("record"), PROV.Agent, "recorder of the case"),
        ):
            self._add(node, RDF.type, kind)
            self._add(node, RDFS.label, Literal(label, lang="en"))

    def _agent(self, by: str) -> URIRef:
        if by == "derived":
            return URIRef(f"{BASE}software/leastwise")
        who = {"own": "writer", "record": "recorder", "review": "reviewers"}[by]
        return self._iri(f"proposal/{who}")

    def _reviewed(self, me: URIRef, one: Reviewed) -> None:
        """Tell a frozen version and what was decided and signed of it.

        Only the version that says the same as the present text is the same proposal; of every
        other the present text is a revision.
        """
        node = URIRef(f"{BASE}proposal/{one.case}/{one.number}")
        self._add(node, RDF.type, PROV.Entity, PROV.Plan)
        self._add(node, DCTERMS.identifier, Literal(f"sha256:{one.sha256}"))
        self._add(node, DCTERMS.hasVersion, Literal(one.name))
        self._add(node, DCTERMS.description, Literal(one.state, lang="en"))
        self._add(me, PROV.wasRevisionOf if one.differs else PROV.alternateOf, node)
        if one.differs:
            self._add(node, SKOS.note, Literal(f"Since then {one.changed_since}.", lang="en"))
        for given in one.given:
            self._given(node, given)

    def _given(self, version: URIRef, given: Given) -> None:
        node, who = URIRef(f"{BASE}review/{given.id}"), self._iri(f"person/{quote(given.who, '')}")
        self._add(who, RDF.type, PROV.Agent, PROV.Person)
        self._add(who, RDFS.label, Literal(given.who))
        self._add(node, RDF.type, PROV.Activity)
        self._add(node, DCTERMS.type, Literal(given.what, lang="en"))
        self._add(node, PROV.used, version)
        self._add(node, PROV.endedAtTime, Literal(given.instant, datatype=XSD.dateTime))
        self._add(node, PROV.wasAssociatedWith, who)
        self._add(node, DCTERMS.description, Literal(f"{given.words} ({given.role})"))
        if given.reasons:
            self._add(node, SKOS.note, Literal(given.reasons))
        if given.sha256:
            self._add(node, DCTERMS.identifier, Literal(f"sha256:{given.sha256}"))

    def _option(self, me: URIRef, one: ChosenOption) -> None:
        if not one.option:
            return
        node = self._iri(f"option/{one.option}")
        self._add(node, RDF.type, _LW.Option, PROV.Plan)
        self._add(node, RDFS.label, Literal(one.label))
        self._add(node, _LW.technique, name(one.technique))
        self._add(node, _LW.addresses, self._iri(f"damage/{one.damage}"))
        self._add(node, _LW.verdict, _LW[one.verdict])
        self._add(node, PROV.wasDerivedFrom, *map(name, one.because.claims), *map(name, one.rules))
        for line in (one.because, *one.against):
            self._add(node, SKOS.note, Literal(line.text, lang="en"))
        if one.reason:
            self._add(node, SKOS.editorialNote, Literal(one.reason))
        self._add(me, DCTERMS.hasPart, node)

    def _section(self, me: URIRef, number: int, section: Section) -> None:
        node = self._iri(f"proposal/section/{section.key}")
        self._add(node, RDF.type, PROV.Entity)
        self._add(node, DCTERMS.title, Literal(section.title, lang="en"))
        self._add(node, DCTERMS.identifier, Literal(f"{number:02d}"))
        self._add(me, DCTERMS.hasPart, node)
        count = 0
        for passage in section.passages:
            for text, claims in _statements(passage.blocks):
                count += 1
                said = self._iri(f"proposal/section/{section.key}/{count:03d}")
                self._add(said, RDF.type, PROV.Entity)
                self._add(said, RDF.value, Literal(text))
                self._add(said, PROV.wasAttributedTo, self._agent(passage.by))
                self._add(said, PROV.wasDerivedFrom, *map(name, claims))
                if passage.by == "record":
                    self._add(said, PROV.wasDerivedFrom, self._iri("record"))
                self._add(node, DCTERMS.hasPart, said)

    def _references(self) -> None:
        for reference in self.report.references:
            me, view = name(reference.claim), reference.view
            self._add(me, RDF.type, PROV.Entity, _LW.Claim)
            self._add(me, _LW.statement, Literal(view.statement))
            for predicate, value in ((_LW.basis, view.basis), (_LW.confidence, view.confidence)):
                if value:
                    self._add(me, predicate, _LW[value])
            if view.source:
                self._add(me, DCTERMS.source, name(view.source))
        for _, source, cited in self.report.sources:
            self._add(name(source), RDF.type, PROV.Entity, _LW.Source)
            self._add(name(source), DCTERMS.bibliographicCitation, Literal(cited.citation))
            if cited.address:
                self._add(name(source), RDFS.seeAlso, URIRef(cited.address))


def _statements(blocks: Iterable[object]) -> Iterable[tuple[str, tuple[str, ...]]]:
    """Yield what is said, each with its claims; a row of a table is one statement."""
    heading = ""
    for block in blocks:
        if isinstance(block, Heading):
            heading = block.text
        elif isinstance(block, Table):
            for row in block.rows:
                cells = zip(block.head, row, strict=True)
                text = "; ".join(f"{h}: {c.text}" for h, c in cells if c.text.strip())
                yield _under(heading, text), tuple(x for c in row for x in c.claims)
        elif isinstance(block, Figure):
            yield _under(heading, block.caption), ()
        else:
            yield from _of_block(block, heading)


def _of_block(block: object, heading: str) -> Iterable[tuple[str, tuple[str, ...]]]:
    if getattr(block, "kind", "") == "facts":
        rows: tuple[tuple[str, Line], ...] = block.rows  # type: ignore[attr-defined]
        for term, line in rows:
            yield _under(heading, f"{term}: {line.text or 'still missing'}"), line.claims
        return
    for line in lines_of(block):  # type: ignore[arg-type]
        if line.text.strip():
            yield _under(heading, line.text), line.claims


def _under(heading: str, text: str) -> str:
    return f"{heading}: {text}" if heading else text
