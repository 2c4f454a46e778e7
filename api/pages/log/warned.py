"""Practices not to use that a treatment record speaks of, as its pages show them at the entry."""

from __future__ import annotations

from dataclasses import dataclass

from leastwise.graph.knowledge.knowledge import Knowledge
from leastwise.graph.proposal.refused import refused_words
from leastwise.graph.treatment.not_to_use import not_to_use_in
from leastwise.graph.treatment.record import TreatmentRecord

__all__ = ["Warned", "warnings_of"]


@dataclass(frozen=True, slots=True)
class Warned:
    """A practice not to use that an entry speaks of: its words, why not, and what is gentler."""

    words: str
    practice: str
    label: str
    why: str
    instead: tuple[tuple[str, str], ...]


def warnings_of(
    record: TreatmentRecord, knowledge: Knowledge
) -> dict[str, dict[str, list[Warned]]]:
    """Return list -> entry -> practices not to use that it speaks of; "final" has no entries."""
    found: dict[str, dict[str, list[Warned]]] = {}
    for one in not_to_use_in(record, refused_words(knowledge)):
        practice = one.hit.practice
        gentler = tuple((each, knowledge.label(each)) for each in practice.instead)
        warned = Warned(one.hit.words, practice.id, practice.label, practice.why, gentler)
        found.setdefault(one.listing, {}).setdefault(one.entry, []).append(warned)
    return found
