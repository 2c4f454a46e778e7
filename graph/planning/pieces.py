"""Chosen options as pieces of work: their parts, what is done before, what their hours rest on."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

from leastwise.graph.answer import OptionAnswer
from leastwise.graph.planning.choose import Choice
from leastwise.graph.weighing.candidates import Candidate
from leastwise.graph.weighing.working_time import size_of

__all__ = ["Chosen", "hours_basis", "new_shares", "parts_of"]


@dataclass(frozen=True, slots=True)
class Chosen:
    """A chosen option from its three sides: as it was counted, answered and traced."""

    choice: Choice
    option: OptionAnswer
    candidate: Candidate


def new_shares(work: Sequence[Chosen]) -> list[float]:
    """Return for each piece of a treatment the share of its work not done by one before.

    What goes over whole parts is done once on each; where the extents of the damages are
    recorded, they add up, and a damage of no recorded size on the same parts adds nothing: what
    stands for it is work on a piece of common size.
    """
    seen: set[str] = set()
    measured = {p for one in work if _measured(one) for p in one.candidate.parts}
    shares = []
    for one in work:
        parts = set(one.candidate.parts)
        if one.choice.whole:
            share = 0.0 if seen else 1.0
        elif _measured(one):
            share = 1.0
        else:
            share = _size(one, parts - seen - measured) / _size(one, parts)
        shares.append(share)
        seen |= parts
    return shares


def _measured(one: Chosen) -> bool:
    """Return whether the hours follow from the extent of the damage as it is recorded."""
    return one.candidate.time.by_size and not one.candidate.time.over_parts


def _size(one: Chosen, parts: set[str]) -> float:
    """Return how large some parts are, by their area; where one has none, all count alike."""
    areas = {part.id: size_of(part, "cm2") for part in one.candidate.sized}
    return sum(areas[p] for p in parts) if all(areas.values()) else float(len(parts))


def hours_basis(work: Sequence[Chosen], label: Callable[[str], str]) -> str:
    """Return what the hours of a piece of work rest on, damage by damage where they differ."""
    said: dict[str, list[str]] = {}
    for one in work:
        if one.option.hours_basis:
            named = one.candidate.damage.in_words(label)
            said.setdefault(one.option.hours_basis, []).append(named)
    if len(said) == 1:
        return next(iter(said))
    return "; ".join(f"{', '.join(damages)}: {words}" for words, damages in said.items())


def parts_of(work: list[Chosen]) -> tuple[str, ...]:
    """Return the parts that a piece of work touches; none for the whole object."""
    if work[0].choice.whole:
        return ()
    return tuple(part for one in work for part in one.candidate.parts)
