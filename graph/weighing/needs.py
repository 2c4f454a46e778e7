"""Needs: what the object needs for its aim, whether or not it is damaged.

A need is recorded, or it follows from the record by the conditions of seed_data/needs.ttl. From
then on it is weighed as damage is: techniques answer it, and unanswered it stands in the way of
the aim.
"""

from __future__ import annotations

from collections.abc import Iterator

from leastwise.graph.case.record import Case, DamageFound, Tri
from leastwise.graph.knowledge.concepts import Catalogue, Need
from leastwise.graph.weighing.conditions import About, ConditionReader

__all__ = ["NeedHere", "derive_needs", "problems"]


class NeedHere(DamageFound):
    """A need of one object, in the form of a damage: ``damage`` is its kind, a ``need:``."""

    derived: bool = False


def problems(
    case: Case, catalogue: Catalogue, reader: ConditionReader | None = None
) -> tuple[DamageFound, ...]:
    """Return the damages of a case and its needs: recorded ones first, then those derived."""
    recorded = tuple(_recorded(case))
    known = {up for one in recorded for up in catalogue.knowledge.broader(one.damage)}
    derived = derive_needs(case, catalogue, reader)
    further = tuple(one for one in derived if one.damage not in known)
    return (*case.damages, *recorded, *further)


def _recorded(case: Case) -> Iterator[NeedHere]:
    for one in case.needs:
        parts = one.parts or [part.id for part in case.parts]
        yield NeedHere(
            id=one.id,
            damage=one.need,
            other=one.other,
            parts=parts,
            evidence=Tri.NOT_APPLICABLE,
            note=one.note,
        )


def derive_needs(
    case: Case, catalogue: Catalogue, reader: ConditionReader | None = None
) -> tuple[NeedHere, ...]:
    """Return the needs that follow from the record, in the order of their names.

    A need arises if each of its conditions is *yes* on some part; what is not known raises none.
    It concerns the parts that its ``lw:ofParts`` doesn't rule out, if one meets it for sure, and
    all parts if it names no such condition.
    """
    reader = reader or ConditionReader(case, catalogue)
    asked = [
        c for need in catalogue.needs.values() for c in (*need.arises_when, need.of_parts) if c
    ]
    key = ("needs", reader.mark(asked), reader.shared.mark([case.parts]))
    return reader.shared.made(key, lambda: _derived(case, catalogue, reader))


def _derived(case: Case, catalogue: Catalogue, reader: ConditionReader) -> tuple[NeedHere, ...]:
    found = ((need, _parts(need, case, reader)) for need in catalogue.needs.values())
    return tuple(
        NeedHere(
            id=need.id.replace(":", "-"),
            damage=need.id,
            parts=parts,
            evidence=Tri.NOT_APPLICABLE,
            derived=True,
        )
        for need, parts in found
        if parts
    )


def _parts(need: Need, case: Case, reader: ConditionReader) -> list[str]:
    """Return the parts of which a need arises, in the order of the record; none if it doesn't."""
    everything, about = [part.id for part in case.parts], About()
    if not need.arises_when:
        return []  # it is recorded or not there
    for condition in need.arises_when:
        if reader.on_any(condition, everything, about) is not Tri.YES:
            return []
    if not need.of_parts:
        return everything
    answers = {p: reader.at(need.of_parts, p, about) for p in everything}
    if Tri.YES not in answers.values():
        return []
    return [part for part, answer in answers.items() if answer is not Tri.NO]
