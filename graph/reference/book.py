"""The knowledge as a book of reference: an entry for each concept, with all that is said of it.

Pure content in a fixed order: names stay CURIEs and grades figures; doors word it and lay it out.
"""

from __future__ import annotations

import json
import re
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from functools import cached_property

from leastwise.graph.knowledge.concepts import Catalogue
from leastwise.graph.knowledge.judged import judged_by
from leastwise.graph.knowledge.knowledge import Knowledge
from leastwise.graph.knowledge.rules import RuleBook
from leastwise.graph.names import SCHEMES
from leastwise.graph.reference.apart import neighbours_of
from leastwise.graph.reference.mentions import (
    practices_by_concept,
    read_rules,
    rules_by_concept,
    techniques_by_concept,
    tests_by_concept,
)
from leastwise.graph.reference.values import (
    ClaimEntry,
    Contest,
    Entry,
    Fact,
    GradeRow,
    Mention,
    Reference,
    RuleEntry,
    SchemeEntry,
    SourceEntry,
    Value,
)
from leastwise.graph.shacl import split_literal

__all__ = ["build_reference"]

OTHER = "other"

#: What an entry shows in a place of its own; all else that is said of a concept is a fact.
_PLACED = frozenset({
    "rdf:type", "skos:inScheme", "skos:prefLabel", "skos:altLabel", "skos:hiddenLabel",
    "skos:definition", "skos:broader", "lw:brings", "lw:requires", "lw:needsTest", "lw:burdens",
    "lw:hours", "lw:setUp", "lw:monitoring", "lw:stopSign", "lw:caution", "lw:equipment",
    "lw:basis", "lw:restsOn", "lw:hinders", "lw:letterCode", "lw:notWhile", "lw:onlyFor", "lw:rate",
    "lw:lookFor", "lw:drawingShows", "lw:spokenOf", "lw:harmlessAs", "dcterms:creator",
    "dcterms:created",
})  # fmt: skip
_SCHEME_OF_CLASS = {
    "lw:Technique": "technique", "lw:Agent": "agent", "lw:Damage": "damage", "lw:Test": "test",
    "lw:Caution": "caution", "lw:Condition": "condition", "lw:Aim": "aim", "lw:Axis": "axis",
    "lw:ContactKind": "contact", "lw:Policy": "policy",
}  # fmt: skip


def build_reference(knowledge: Knowledge, rules: RuleBook) -> Reference:
    """Return the content of the book of *knowledge* and *rules*.

    >>> from leastwise.graph import load_adviser
    >>> adviser = load_adviser()
    >>> book = build_reference(adviser.knowledge, adviser.rules)
    >>> book.entries["material:gelatin-sequins"].label
    'gelatin sequins'
    """
    return _Builder(knowledge, rules).reference()


def _local(curie: str) -> str:
    return curie.rpartition(":")[2]


@dataclass(frozen=True)
class _Builder:
    """Collects what is said of each concept; each look-up is made once."""

    k: Knowledge
    rules: RuleBook

    @cached_property
    def catalogue(self) -> Catalogue:
        return Catalogue(self.k)

    @cached_property
    def concepts(self) -> dict[str, str]:
        """Concept -> its kind."""
        return {one: self._scheme(one) for one in self.k.instances("skos:Concept")}

    def _scheme(self, one: str) -> str:
        prefix = one.partition(":")[0]
        if prefix in SCHEMES:
            return prefix
        kinds = [_SCHEME_OF_CLASS.get(kind, "") for kind in self.k.objects(one, "rdf:type")]
        return next((kind for kind in kinds if kind), OTHER)

    @cached_property
    def claims(self) -> dict[str, ClaimEntry]:
        return {one: self._claim(one) for one in self.k.instances("lw:Claim")}

    @cached_property
    def against(self) -> dict[str, set[str]]:
        """Claim -> claims that disagree with it, both ways."""
        found: dict[str, set[str]] = {}
        for one in self.k.instances("lw:Claim"):
            for other in self.k.objects(one, "lw:disagreesWith"):
                if other != one and other in self.k:
                    found.setdefault(one, set()).add(other)
                    found.setdefault(other, set()).add(one)
        return found

    def _claim(self, one: str) -> ClaimEntry:
        k = self.k
        efficacy, low = k.number(one, "lw:efficacy"), k.number(one, "lw:efficacyLow")
        severity = k.number(one, "lw:severity")
        only_if = k.object(one, "lw:onlyIf")
        return ClaimEntry(
            id=one,
            kind=self._claim_kind(one),
            about=tuple(k.objects(one, "lw:about")),
            agents=tuple(k.objects(one, "lw:agent")),
            statement=k.text(one, "lw:statement"),
            basis=_local(k.object(one, "lw:basis") or ""),
            confidence=_local(k.object(one, "lw:confidence") or ""),
            sources=tuple(k.objects(one, "dcterms:source")),
            rests_on=tuple(k.objects(one, "lw:restsOn")),
            disagrees_with=tuple(sorted(self.against.get(one, ()))),
            severity=None if severity is None else int(severity),
            beneficial=k.is_true(one, "lw:beneficial"),
            only_if=None if only_if is None else self._value(only_if),
            technique=k.object(one, "lw:technique") or "",
            damage=k.object(one, "lw:damage") or "",
            efficacy=None if efficacy is None else int(efficacy),
            efficacy_low=None if low is None else int(low),
            under=k.text(one, "lw:under"),
            value=k.number(one, "lw:value"),
            value_high=k.number(one, "lw:valueHigh"),
            unit=k.text(one, "lw:unit"),
            at=k.text(one, "lw:at"),
            formula=k.text(one, "lw:formula"),
            series=_series(k.text(one, "lw:series")),
            better=tuple(k.objects(one, "lw:better")),
            worse=tuple(k.objects(one, "lw:worse")),
            in_respect_of=k.text(one, "lw:inRespectOf"),
            analogy=k.is_true(one, "lw:analogy"),
            needs_check=k.is_true(one, "lw:needsCheck"),
            judged=judged_by(one, k),
            read_as=_local(k.object(one, "lw:readAs") or ""),
        )

    def _claim_kind(self, one: str) -> str:
        types = self.k.objects(one, "rdf:type")
        if "lw:EffectClaim" in types:
            return "effect"
        if "lw:SensitivityClaim" in types:
            return "sensitivity"
        compared = self.k.objects(one, "lw:inRespectOf") or self.k.objects(one, "lw:better")
        default = "comparison" if compared else "statement"
        kind = self.k.text(one, "lw:claimKind", default)
        # an effect that is told and not graded is not one that the ranking can use
        return "statement" if kind in ("effect", "sensitivity") else kind

    @cached_property
    def about(self) -> dict[str, list[ClaimEntry]]:
        found: dict[str, list[ClaimEntry]] = {}
        for claim in self.claims.values():
            for one in dict.fromkeys(claim.about):
                found.setdefault(one, []).append(claim)
        return found

    @cached_property
    def by_agent(self) -> dict[str, list[ClaimEntry]]:
        found: dict[str, list[ClaimEntry]] = {}
        for claim in self.claims.values():
            for one in dict.fromkeys(claim.agents):
                found.setdefault(one, []).append(claim)
        return found

    @cached_property
    def narrower(self) -> dict[str, list[str]]:
        found: dict[str, list[str]] = {}
        for one in self.concepts:
            for up in self.k.objects(one, "skos:broader"):
                found.setdefault(up, []).append(one)
        return found

    @cached_property
    def graded_agents(self) -> tuple[str, ...]:
        return tuple(a.id for a in self.catalogue.agents.values() if a.graded)

    def _value(self, term: str) -> Value:
        """Return a term in words: a literal, a concept, a fixed value, a node's own values."""
        if term[:1] == '"':
            text, datatype, _ = split_literal(term)
            if datatype.endswith("#boolean"):
                text = "yes" if text in ("true", "1") else "no"
            return Value(text)
        if term.startswith("_:"):
            inner = self.k.predicates(term).items()
            said = (f"{self.k.label(p)}: {self._value(o).text}" for p, os in inner for o in os)
            return Value(", ".join(said))
        if "://" in term:
            return Value(term)
        return Value(self.k.label(term), term if term in self.concepts else "")

    def _facts(self, one: str) -> Iterator[Fact]:
        for predicate, objects in sorted(self.k.predicates(one).items()):
            if predicate not in _PLACED:
                values = tuple(self._value(o) for o in objects)
                label = re.sub(r"(?<=[a-z])(?=[A-Z])", " ", self.k.label(predicate))
                yield Fact(predicate, label.lower(), values)

    def _entry(self, one: str) -> Entry:
        k, scheme = self.k, self.concepts[one]
        about = self.about.get(one, [])
        effects = sorted(
            (c for c in about if c.kind == "effect" and one in (c.technique, c.damage)),
            key=lambda c: (-(c.efficacy or 0), c.id),
        )
        placed = {c.id for c in effects}
        sensitivities = [c.id for c in about if c.kind == "sensitivity"]
        placed.update(sensitivities)
        return Entry(
            id=one,
            scheme=scheme,
            label=k.label(one),
            also=tuple(k.texts(one, "skos:altLabel")),
            definition=k.text(one, "skos:definition"),
            letter=k.text(one, "lw:letterCode"),
            basis=_local(k.object(one, "lw:basis") or ""),
            broader=tuple(dict.fromkeys(k.objects(one, "skos:broader"))),
            narrower=tuple(sorted(self.narrower.get(one, ()), key=self._by_label)),
            facts=tuple(self._facts(one)),
            technique=self.catalogue.techniques.get(one),
            hinders=self._hinders(one),
            grades=tuple(self._grades(one)),
            claims=tuple(c.id for c in about if c.id not in placed),
            sensitivities=tuple(sensitivities),
            effects=tuple(c.id for c in effects),
            mentions=self._mentions(one),
            rests_on=tuple(c for c in k.objects(one, "lw:restsOn") if c in self.claims),
            rules=self._rules_of.get(one, ()),
            techniques=self._techniques_of.get(one, ()),
            tests=self._tests_of.get(one, ()),
            practices=self._practices_of.get(one, ()),
            look_for=k.text(one, "lw:lookFor"),
            apart=tuple(a for a in neighbours_of(one, k) if a.other in self.concepts),
            drawing_shows=k.text(one, "lw:drawingShows"),
            judged=judged_by(one, k),
        )

    def _hinders(self, one: str) -> tuple[tuple[str, int], ...]:
        k = self.k
        return tuple(
            (k.object(n, "lw:aim") or "", int(k.number(n, "lw:grade") or 0))
            for n in k.objects(one, "lw:hinders")
        )

    def _mentions(self, one: str) -> tuple[str, ...]:
        found = self.by_agent.get(one, ())
        return tuple(c.id for c in found if c.kind != "sensitivity" and one not in c.about)

    def _by_label(self, one: str) -> tuple[str, str]:
        return self.k.label(one).casefold(), one

    def _grades(self, one: str) -> Iterator[GradeRow]:
        if self.concepts[one] == "agent":
            by_material: dict[str, list[ClaimEntry]] = {}
            for claim in self.by_agent.get(one, ()):
                if claim.kind == "sensitivity":
                    for material in claim.about:
                        by_material.setdefault(material, []).append(claim)
            for material in sorted(by_material, key=self._by_label):
                if self.concepts.get(material) == "material":
                    yield self._grade(material, one, by_material[material], material)
        elif self.concepts[one] == "material":
            mine = [c for c in self.about.get(one, ()) if c.kind == "sensitivity"]
            others = sorted({a for c in mine for a in c.agents} - {*self.graded_agents})
            for agent in (*self.graded_agents, *others):
                yield self._grade(one, agent, [c for c in mine if agent in c.agents], agent)

    def _grade(
        self, material: str, agent: str, claims: Iterable[ClaimEntry], other: str
    ) -> GradeRow:
        found = self.catalogue.sensitivity(material, agent)
        beside = tuple(c.id for c in claims if c.id not in found.claims)
        return GradeRow(
            other, found.harm, found.claims, beside, found.contested, found.inherited_from
        )

    @cached_property
    def rule_entries(self) -> dict[str, RuleEntry]:
        return read_rules(self.rules, self.concepts)

    @cached_property
    def _rules_of(self) -> dict[str, tuple[Mention, ...]]:
        return rules_by_concept(self.rule_entries, self.claims)

    @cached_property
    def _techniques_of(self) -> dict[str, tuple[Mention, ...]]:
        return techniques_by_concept(self.catalogue, self.claims)

    @cached_property
    def _practices_of(self) -> dict[str, tuple[Mention, ...]]:
        return practices_by_concept(self.k)

    @cached_property
    def _tests_of(self) -> dict[str, tuple[Mention, ...]]:
        return tests_by_concept(self.catalogue)

    def _schemes(self) -> Iterator[SchemeEntry]:
        for key in (*SCHEMES, OTHER):
            members = sorted((c for c, s in self.concepts.items() if s == key), key=self._by_label)
            if members:
                scheme = self.k.object(members[0], "skos:inScheme") if key != OTHER else None
                label = self.k.label(scheme) if scheme else "Further concepts"
                yield SchemeEntry(key, label, tuple(members), self._top(members))

    def _top(self, members: list[str]) -> tuple[str, ...]:
        """Return the members from which all others are reached by going narrower."""
        inside = set(members)
        top = [m for m in members if not inside & {*self.k.objects(m, "skos:broader")} - {m}]
        reached: set[str] = set()
        for start in (*top, *members):  # a ring of broader concepts has no top of its own
            if start in reached:
                continue
            if start not in top:
                top.append(start)
            waiting = [start]
            while waiting:
                one = waiting.pop()
                if one not in reached:
                    reached.add(one)
                    waiting += [n for n in self.narrower.get(one, ()) if n in inside]
        return tuple(top)

    def _sources(self) -> dict[str, SourceEntry]:
        cited: dict[str, list[str]] = {}
        for claim in self.claims.values():
            for source in claim.sources:
                cited.setdefault(source, []).append(claim.id)
        k = self.k
        return {
            one: SourceEntry(
                one,
                k.text(one, "dcterms:bibliographicCitation") or k.label(one),
                _address(k.object(one, "rdfs:seeAlso")),
                k.is_true(one, "lw:lowAuthority"),
                k.is_true(one, "lw:notOpened"),
                tuple(cited.get(one, ())),
            )
            for one in sorted({*k.instances("lw:Source"), *cited})
        }

    def _contests(self) -> Iterator[Contest]:
        for material in (c for c, s in self.concepts.items() if s == "material"):
            for agent in self.catalogue.agents:
                found = self.catalogue.sensitivity(material, agent)
                if found.contested and not found.inherited_from:
                    grades = [self.claims[c].severity or 0 for c in found.claims]
                    yield Contest(material, agent, min(grades), max(grades), found.claims)

    def reference(self) -> Reference:
        entries = {one: self._entry(one) for one in self.concepts}
        schemes, sources = tuple(self._schemes()), self._sources()
        pairs = sorted({(min(a, b), max(a, b)) for a, bs in self.against.items() for b in bs})
        labels = {one: self.k.label(one) for one in entries}
        labels |= {one: _local(one) for one in (*self.claims, *sources)}
        labels |= {r: _local(r).replace("-", " ") for r in self.rule_entries}
        return Reference(
            knowledge_digest=self.k.digest,
            rules_digest=self.rules.digest,
            labels=labels,
            schemes=schemes,
            entries=entries,
            claims=self.claims,
            sources=sources,
            rules=self.rule_entries,
            graded_agents=self.graded_agents,
            disagreements=tuple(pairs),
            contests=tuple(self._contests()),
        )


def _series(text: str) -> tuple[tuple[str, str], ...]:
    """Return the pairs of a series; a series that is not JSON of pairs stays one row as it is."""
    if not text:
        return ()
    try:
        return tuple((str(a), str(b)) for a, b in json.loads(text))
    except (ValueError, TypeError):
        return (("", text),)


def _address(term: str | None) -> str:
    return "" if not term else split_literal(term)[0] if term[0] == '"' else term
