"""One concept with all that is said of it: labels, claims, rules."""

from __future__ import annotations

import difflib
from collections.abc import Mapping
from dataclasses import dataclass

from leastwise.graph.errors import NotFound
from leastwise.graph.knowledge.knowledge import Knowledge
from leastwise.graph.knowledge.rules import RuleBook
from leastwise.graph.names import BASE, SCHEMES, iri_of

__all__ = ["ConceptView", "concept_told", "view_concept"]

#: Values of a concept that have a line of their own.
TOLD_ABOVE = ("rdf:type", "skos:broader", "skos:definition", "lw:statement")


@dataclass(frozen=True, slots=True)
class ConceptView:
    """A concept, claim, source or rule, with its outgoing values and what points to it."""

    id: str
    iri: str
    label: str
    definition: str
    types: tuple[str, ...]
    broader: tuple[str, ...]
    values: Mapping[str, tuple[str, ...]]
    claims: tuple[str, ...]
    rules: tuple[str, ...]


def view_concept(
    curie: str, knowledge: Knowledge, rules: RuleBook, base: str = BASE
) -> ConceptView:
    """Return what is said of *curie*.

    Raises:
        NotFound: nothing is called so; names near to it are suggested.

    """
    if curie in rules.rules:
        rule = rules.rules[curie]
        return ConceptView(
            curie, _published(curie, base), rule.message, rule.note, ("sh:NodeShape",), (),
            {"sh:severity": (rule.severity,), "lw:verdictEffect": (rule.effect,)},
            tuple(rule.rests_on), (),
        )  # fmt: skip
    if curie not in knowledge or curie.partition(":")[0] not in {*SCHEMES, "lw"}:
        names = [*knowledge.instances("skos:Concept"), *rules.rules]
        raise NotFound("concept", curie, difflib.get_close_matches(curie, names, n=3))
    values = {p: _plain(o) for p, o in sorted(knowledge.predicates(curie).items())}
    return ConceptView(
        id=curie,
        iri=_published(curie, base),
        label=knowledge.label(curie),
        definition=knowledge.text(curie, "skos:definition")
        or knowledge.text(curie, "lw:statement"),
        types=tuple(knowledge.objects(curie, "rdf:type")),
        broader=tuple(knowledge.broader(curie)[1:]),
        values=values,
        claims=tuple(
            c for c in knowledge.instances("lw:Claim") if curie in _mentions(knowledge, c)
        ),
        rules=tuple(
            sorted(
                r.id
                for r in rules.rules.values()
                if curie in (*r.rests_on, *r.lifted_by, *r.cautions)
            )
        ),
    )


def concept_told(view: ConceptView) -> list[str]:
    """Return what is said of a concept as lines of text, for people."""
    lines = [f"{view.id}: {view.label}", f"  {view.iri}"]
    if view.definition:
        lines.append(f"  {view.definition}")
    for name, found in (
        ("a", view.types),
        ("below", view.broader),
        *view.values.items(),
        ("claims", view.claims),
        ("rules", view.rules),
    ):
        if found and name not in TOLD_ABOVE:
            lines.append(f"  {name}: {', '.join(found)}")
    return lines


def _mentions(knowledge: Knowledge, claim: str) -> list[str]:
    return [*knowledge.objects(claim, "lw:about"), *knowledge.objects(claim, "lw:agent")]


def _plain(objects: list[str]) -> tuple[str, ...]:
    from leastwise.graph.shacl.terms import split_literal  # noqa: PLC0415 - beside its use

    return tuple(split_literal(o)[0] if o[:1] == '"' else o for o in objects)


def _published(curie: str, base: str) -> str:
    iri = iri_of(curie)
    return base + iri.removeprefix(BASE) if iri.startswith(BASE) else iri
