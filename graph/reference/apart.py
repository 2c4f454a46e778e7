"""Things that are easily taken for one another: what tells a concept from its neighbours."""

from __future__ import annotations

from leastwise.graph.knowledge.knowledge import Knowledge
from leastwise.graph.reference.values import Apart

__all__ = ["neighbours_of"]


def neighbours_of(concept: str, knowledge: Knowledge) -> tuple[Apart, ...]:
    """Return what a concept is easily taken for, in the order of the knowledge.

    >>> from leastwise.graph import load_adviser
    >>> [one.other for one in neighbours_of("damage:slit", load_adviser().knowledge)]
    ['damage:split']
    """
    return knowledge.made(("neighbours",), _read).get(concept, ())


def _read(knowledge: Knowledge, _: tuple[str]) -> dict[str, tuple[Apart, ...]]:
    found: dict[str, list[Apart]] = {}
    for one in knowledge.instances("lw:Distinction"):
        pair = knowledge.objects(one, "lw:between")
        says = knowledge.text(one, "lw:tellsApart")
        for concept in pair:
            found.setdefault(concept, []).extend(
                Apart(other, says) for other in pair if other != concept
            )
    order = {c: i for i, c in enumerate(knowledge.instances("skos:Concept"))}
    return {
        concept: tuple(sorted(others, key=lambda a: order.get(a.other, len(order))))
        for concept, others in found.items()
    }
