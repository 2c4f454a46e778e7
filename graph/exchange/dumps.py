"""The knowledge as files to take away: which there are, and what stands in each."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass

from leastwise.graph.errors import NotFound
from leastwise.graph.exchange.derived import (
    about_claims,
    about_concepts,
    about_terms,
    own_terms,
)
from leastwise.graph.exchange.rules_out import described_rules
from leastwise.graph.exchange.statements import Statement, all_said, said_of
from leastwise.graph.knowledge.knowledge import Knowledge

__all__ = ["DUMPS", "Dump", "statements_of"]


@dataclass(frozen=True, slots=True)
class Dump:
    """One file: its title, what is in it, the class that it counts, and how it is made."""

    title: str
    about: str
    counts: str
    make: Callable[[Knowledge], Iterator[Statement]]


def _vocabulary(k: Knowledge) -> Iterator[Statement]:
    yield from said_of(k, own_terms(k))
    yield from about_terms(k)


def _concepts(k: Knowledge) -> Iterator[Statement]:
    schemes = k.instances("skos:ConceptScheme")
    concepts = [one for one in k.instances("skos:Concept") if one[:2] != "_:"]
    yield from said_of(k, [*schemes, *concepts, *k.instances("lw:LabelSet")])
    yield from about_concepts(k)


def _claims(k: Knowledge) -> Iterator[Statement]:
    yield from said_of(k, [*k.instances("lw:Claim"), *k.instances("lw:Source"), "lw:authors"])
    yield from about_claims(k)


def _everything(k: Knowledge) -> Iterator[Statement]:
    yield from all_said(k)
    yield from about_terms(k)
    yield from about_concepts(k)
    yield from about_claims(k)


#: Name -> file. All but the rules are parts of ``knowledge``.
DUMPS: dict[str, Dump] = {
    "knowledge": Dump(
        "Knowledge of Leastwise",
        "Everything but the rules: terms, concepts with labels in all languages, claims, sources.",
        "skos:Concept",
        _everything,
    ),
    "vocabulary": Dump(
        "Vocabulary of Leastwise",
        "The ontology: classes, properties, schemes and fixed values.",
        "rdf:Property",
        _vocabulary,
    ),
    "concepts": Dump(
        "Concepts of Leastwise",
        "Materials, damages, techniques, agents, tests and the rest as SKOS, with matches.",
        "skos:Concept",
        _concepts,
    ),
    "claims": Dump(
        "Claims and sources of Leastwise",
        "Each claim with its source or who judged it, how much was read, how far it is trusted.",
        "lw:Claim",
        _claims,
    ),
    "rules": Dump(
        "Rules and forms of Leastwise",
        "SHACL Core shapes with names, groups and messages that any engine can print.",
        "sh:NodeShape",
        described_rules,
    ),
}


def statements_of(name: str, knowledge: Knowledge) -> list[Statement]:
    """Return what stands in a file, each statement once, in fixed order.

    Raises:
        NotFound: there is no such file; names those there are.

    """
    if name not in DUMPS:
        raise NotFound("dump", name, list(DUMPS))
    return sorted(set(DUMPS[name].make(knowledge)))
