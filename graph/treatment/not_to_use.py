"""Practices not to use in a treatment record: what its words say was done, with the gentler way.

Looked through are the words that say what was done, used or is advised. What was removed, what was
not done and what was only seen doesn't count.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from leastwise.graph.proposal.refused import RefusedHit, RefusedWords
from leastwise.graph.treatment.record import TreatmentRecord

__all__ = ["NotToUse", "not_to_use_in"]

#: The final record has no entry of its own.
FINAL = ("compensation", "future_care")


@dataclass(frozen=True, slots=True)
class NotToUse:
    """A practice that an entry speaks of; *listing* is ``final`` and *entry* empty for the end."""

    listing: str
    entry: str
    hit: RefusedHit


def not_to_use_in(record: TreatmentRecord, words: RefusedWords) -> list[NotToUse]:
    """Return the practices not to use that the entries of a record speak of, once an entry."""
    found: dict[tuple[str, str, str], NotToUse] = {}
    for listing, entry, text in _said(record):
        for hit in words.found_in(text):
            found.setdefault((listing, entry, hit.practice.id), NotToUse(listing, entry, hit))
    return list(found.values())


def _said(record: TreatmentRecord) -> Iterator[tuple[str, str, str]]:
    """Yield (list, entry, text) of what was done, used or is advised."""
    for step in record.steps:
        if step.state != "not-done":
            yield "steps", step.id, step.what
            yield "steps", step.id, step.deviation
    for material in record.materials:
        if material.manner != "removed":
            yield "materials", material.id, material.what
    for one in record.follow_ups:
        yield "follow_ups", one.id, one.what
    for name in FINAL:
        yield "final", "", getattr(record.final, name)
