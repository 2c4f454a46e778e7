"""Which rules, techniques and tests have to do with a concept, and how."""

from __future__ import annotations

from collections.abc import Container, Iterator, Mapping

from leastwise.graph.knowledge.concepts import Catalogue
from leastwise.graph.knowledge.knowledge import Knowledge
from leastwise.graph.knowledge.rules import RuleBook
from leastwise.graph.names import curie_of
from leastwise.graph.reference.values import ClaimEntry, Mention, RuleEntry
from leastwise.graph.shacl.other import HasValue, In

__all__ = [
    "practices_by_concept",
    "read_rules",
    "rules_by_concept",
    "techniques_by_concept",
    "tests_by_concept",
]

Mentions = dict[str, tuple[Mention, ...]]


def read_rules(book: RuleBook, concepts: Container[str]) -> dict[str, RuleEntry]:
    """Return the rules in alphabetical order, each with the *concepts* that its shape names."""
    shapes = {curie_of(shape.node): shape.constraints for shape in book.compiled.shapes}
    found = {}
    for one in sorted(book.rules):
        names = {curie_of(term) for term in _constants(book, shapes.get(one, ()))}
        found[one] = RuleEntry(book.rules[one], tuple(sorted(n for n in names if n in concepts)))
    return found


def _constants(book: RuleBook, constraints: tuple[int, ...]) -> Iterator[str]:
    """Yield the IRIs that constraints, and the shapes they refer to, ask for."""
    compiled, waiting, seen = book.compiled, list(constraints), set[int]()
    while waiting:
        number = waiting.pop()
        if number in seen:
            continue
        seen.add(number)
        constraint = compiled.constraints[number]
        indices: tuple[int, ...] = ()
        if isinstance(constraint, HasValue):
            indices = (constraint.term,)
        elif isinstance(constraint, In):
            indices = constraint.members
        yield from (t for t in (compiled.constants[i] for i in indices) if t[0] == "<")
        for criterion in constraint.asks():
            waiting += compiled.criteria[criterion].constraints


def rules_by_concept(rules: Mapping[str, RuleEntry], claims: Mapping[str, ClaimEntry]) -> Mentions:
    """Return concept -> rules, each once with its closest tie.

    The ties, closest first: *names* it, is *lifts*-ed by it, *cautions* with it, or *rests* on
    claims (given in *via*) that speak of it.
    """
    found: dict[str, dict[str, Mention]] = {}
    for entry in rules.values():
        rule = entry.rule
        ties = (("names", entry.names), ("lifts", rule.lifted_by), ("cautions", rule.cautions))
        for how, concepts in ties:
            for one in concepts:
                found.setdefault(one, {}).setdefault(rule.id, Mention(rule.id, how))
        via: dict[str, list[str]] = {}
        for claim in rule.rests_on:
            said = claims.get(claim)
            for one in dict.fromkeys((*said.about, *said.agents)) if said else ():
                via.setdefault(one, []).append(claim)
        for one, through in via.items():
            mention = Mention(rule.id, "rests", via=tuple(through))
            found.setdefault(one, {}).setdefault(rule.id, mention)
    return {one: tuple(mentions.values()) for one, mentions in found.items()}


def techniques_by_concept(catalogue: Catalogue, claims: Mapping[str, ClaimEntry]) -> Mentions:
    """Return concept -> techniques that use it.

    A technique *brings* an agent (grade: dose), *requires* a condition, *asks* for a test,
    *cautions*, *burdens* an axis (grade), or is spoken of together with a material in *claims*.
    """
    label = catalogue.knowledge.label
    together = _named_together(claims)
    found: dict[str, list[Mention]] = {}
    for t in sorted(catalogue.techniques.values(), key=lambda t: (t.label.casefold(), t.id)):
        for use in t.brings:
            found.setdefault(use.agent, []).append(Mention(t.id, "brings", use.dose))
        ties = (("requires", t.requires), ("asks", t.needs_tests), ("cautions", t.cautions))
        for how, concepts in ties:
            for one in dict.fromkeys(concepts):
                found.setdefault(one, []).append(Mention(t.id, how))
        for axis, grade in t.burdens:
            found.setdefault(axis, []).append(Mention(t.id, "burdens", grade))
        for one, via in sorted(together.get(t.id, {}).items(), key=lambda item: label(item[0])):
            found.setdefault(one, []).append(Mention(t.id, "claims", via=tuple(via)))
    return {one: tuple(mentions) for one, mentions in found.items()}


def _named_together(claims: Mapping[str, ClaimEntry]) -> dict[str, dict[str, list[str]]]:
    """Return technique -> material -> claims that are about both."""
    found: dict[str, dict[str, list[str]]] = {}
    for claim in claims.values():
        materials = [one for one in claim.about if one.startswith("material:")]
        for technique in claim.about if materials else ():
            if technique.startswith("technique:"):
                for one in materials:
                    found.setdefault(technique, {}).setdefault(one, []).append(claim.id)
    return found


def practices_by_concept(knowledge: Knowledge) -> Mentions:
    """Return concept -> practices not to use, each once with its closest tie.

    A practice *harms* a material, is done *for* a damage, and has a technique that is *gentler*.
    """
    k, found = knowledge, dict[str, dict[str, Mention]]()
    practices = k.instances("lw:RefusedPractice")
    for one in sorted(practices, key=lambda p: (k.label(p).casefold(), p)):
        harmed = [k.object(node, "lw:material") or "" for node in k.objects(one, "lw:harms")]
        ties = (
            ("harms", harmed),
            ("for", k.objects(one, "lw:doneFor")),
            ("gentler", k.objects(one, "lw:insteadUse")),
        )
        for how, concepts in ties:
            for concept in concepts:
                found.setdefault(concept, {}).setdefault(one, Mention(one, how))
    return {concept: tuple(mentions.values()) for concept, mentions in found.items()}


def tests_by_concept(catalogue: Catalogue) -> Mentions:
    """Return concept -> tests, each once with its closest tie.

    A good result *clears* an agent, a bad one *bars* it, a test *tries* it; a test *identifies* a
    material or *applies* to it; it *checks* a condition.
    """
    found: dict[str, dict[str, Mention]] = {}
    for t in sorted(catalogue.tests.values(), key=lambda t: (t.label.casefold(), t.id)):
        ties = (
            ("clears", t.clears),
            ("bars", t.bars),
            ("tries", t.tests_agent),
            ("identifies", t.identifies),
            ("checks", t.checks),
            ("applies", t.applies_to),
        )
        for how, concepts in ties:
            for one in sorted(concepts):
                found.setdefault(one, {}).setdefault(t.id, Mention(t.id, how))
    return {one: tuple(mentions.values()) for one, mentions in found.items()}
