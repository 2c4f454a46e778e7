"""What follows from the knowledge and is not written down in it, for readers elsewhere.

SKOS: top concepts, notations, scope notes, relations, spellings by country. PROV: who has judged
a claim, or from which source it was drawn.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from leastwise.graph.exchange.statements import Statement, lit, term
from leastwise.graph.knowledge.knowledge import Knowledge
from leastwise.graph.knowledge.languages import has_tag
from leastwise.graph.names import ENGLISH, ONTOLOGY

__all__ = ["about_claims", "about_concepts", "about_terms", "from_header", "own_terms"]

_TERMS = ("owl:Class", "rdf:Property", "lw:Value", "skos:ConceptScheme")


def own_terms(k: Knowledge) -> list[str]:
    """Return the terms of the vocabulary, its header first, in alphabetical order."""
    kinds = {one for kind in _TERMS for one in k.instances(kind) if one.startswith("lw:")}
    people = [one for one in k.instances("prov:Agent") if one.startswith("lw:")]
    return [ONTOLOGY, *sorted(kinds), *people, *k.instances("owl:AllDisjointClasses")]


def from_header(k: Knowledge, me: str, predicates: Iterable[str]) -> Iterator[Statement]:
    """Yield of a document what the header of the vocabulary says by these predicates."""
    for predicate in predicates:
        for said in k.objects(ONTOLOGY, predicate):
            yield me, term(predicate), term(said)


def about_terms(k: Knowledge) -> Iterator[Statement]:
    """Yield of each term in which document it is defined."""
    for one in own_terms(k):
        if one.startswith("lw:"):
            yield term(one), term("rdfs:isDefinedBy"), term(ONTOLOGY)


def about_concepts(k: Knowledge) -> Iterator[Statement]:
    """Yield top concepts, notations, scope notes, relations and spellings."""
    for one in k.instances("skos:Concept"):
        if one[:2] == "_:":
            continue
        me = term(one)
        sign = k.text(one, "lw:letterCode") or one.rpartition(":")[2]
        yield me, term("skos:notation"), lit(sign)
        for said in k.objects(one, "lw:lookFor"):
            yield me, term("skos:scopeNote"), said
        if not k.objects(one, "skos:broader"):
            for scheme in k.objects(one, "skos:inScheme"):
                yield me, term("skos:topConceptOf"), term(scheme)
                yield term(scheme), term("skos:hasTopConcept"), me
        yield from _spellings(k, one)
    yield from _related(k)


def _spellings(k: Knowledge, one: str) -> Iterator[Statement]:
    """Yield that an English name is the British one, where an American one stands beside it."""
    american = any(has_tag(said, "en-us") for said in k.objects(one, "skos:altLabel"))
    for said in k.objects(one, "skos:prefLabel"):
        if american and has_tag(said, ENGLISH):
            yield term(one), term("skos:prefLabel"), f"{said[: said.rindex('@')]}@en-GB"


def _related(k: Knowledge) -> Iterator[Statement]:
    """Yield that two things are related which are easily taken for one another."""
    for pair in k.instances("lw:Distinction"):
        ends = [
            one
            for one in k.objects(pair, "lw:between")
            if "skos:Concept" in k.objects(one, "rdf:type")
        ]
        for one in ends:
            for other in ends:
                kin = other in k.broader(one) or one in k.broader(other)
                if one != other and not kin:  # SKOS keeps related apart from broader
                    yield term(one), term("skos:related"), term(other)


def about_claims(k: Knowledge) -> Iterator[Statement]:
    """Yield of each claim who judged it and when, or from what it was drawn."""
    for one in k.instances("lw:Claim"):
        me = term(one)
        for source in (*k.objects(one, "dcterms:source"), *k.objects(one, "lw:restsOn")):
            yield me, term("prov:wasDerivedFrom"), term(source)
        basis = k.object(one, "lw:basis") or ""
        if basis == "lw:read":
            continue
        if not k.objects(one, "dcterms:creator"):
            yield me, term("prov:wasAttributedTo"), term("lw:authors")
        for day in k.objects(one, "dcterms:created") or k.objects(basis, "dcterms:created"):
            yield me, term("dcterms:created"), day
