"""Which parts are humidified together and which one by one, and in which order.

Parts that are sewn, glued or laid one upon another can't take one pack without damping through
each other: they are done one by one, with a film between. Parts that touch no other of those that
are treated may be done together if the same pack suits them. The order begins where least can go
wrong: with the part whose neighbours vapour harms least (our judgement, practice).
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from math import ceil

import networkx as nx

from leastwise.graph.case.record import Case, Contact, Part, Tri
from leastwise.graph.knowledge.concepts import Catalogue

__all__ = ["Section", "Stations", "contacts_of", "risk_of", "sections_of", "stations_of"]

VAPOUR = "agent:water-vapour"
#: A reaction that nobody knows counts as one that does plain harm, for the order of work.
UNKNOWN_RISK = 3
APART = ("apart", "near")
#: What one person can watch at a time, in cm: lying, and hung or held by a shape (practice).
LYING, HELD = (30.0, 30.0), (20.0, 30.0)


@dataclass(frozen=True, slots=True)
class Section:
    """Parts that are done in one go; *together* where there are several of them."""

    parts: tuple[str, ...]
    joined: bool  # to other parts that are treated, so that it is done alone
    risk: int  # the gravest harm that vapour does to a neighbour, 0 to 4
    because: str

    @property
    def together(self) -> bool:
        """Whether several parts are done with the same pack, in one go or in any order."""
        return len(self.parts) > 1


@dataclass(frozen=True, slots=True)
class Stations:
    """How many places a pack is laid on, one after another; 0 where no size is recorded."""

    number: int
    width_cm: float
    height_cm: float
    in_words: str


def sections_of(case: Case, parts: Sequence[str], catalogue: Catalogue) -> tuple[Section, ...]:
    """Return the sections of the parts to be humidified, in order of work."""
    graph: nx.Graph[str] = nx.Graph()
    graph.add_nodes_from(parts)
    graph.add_edges_from(
        contact.between
        for contact in case.contacts
        if _touches(contact) and set(contact.between) <= set(parts)
    )
    components = [sorted(one, key=parts.index) for one in nx.connected_components(graph)]
    joined = {part for one in components if len(one) > 1 for part in one}
    risks = {part: risk_of(case, part, parts, catalogue) for part in parts}
    alone = _alike(case, [part for part in parts if part not in joined])
    found = [(part,) for part in parts if part in joined] + alone
    order = sorted(
        found,
        key=lambda one: (max(risks[p] for p in one), graph.degree(one[0]), parts.index(one[0])),
    )
    return tuple(
        Section(
            one,
            one[0] in joined,
            max(risks[p] for p in one),
            _because(one, joined, max(risks[p] for p in one), first=place == 0),
        )
        for place, one in enumerate(order)
    )


def _alike(case: Case, parts: Iterable[str]) -> list[tuple[str, ...]]:
    """Return parts that touch none of the others by what they are made of and how they lie."""
    found: dict[tuple[object, ...], list[str]] = {}
    for part in parts:
        one = _part(case, part)
        made = frozenset(c.material for c in one.materials)
        found.setdefault((made, one.lies_flat), []).append(part)
    return [tuple(one) for one in found.values()]


def risk_of(case: Case, part: str, treated: Sequence[str], catalogue: Catalogue) -> int:
    """Return the gravest harm that vapour does to a neighbour that isn't treated, 0 to 4."""
    grades = [
        grade if grade >= 0 else UNKNOWN_RISK
        for other, _ in contacts_of(case, part)
        if other not in treated
        for grade in [
            catalogue.sensitivity(c.material, VAPOUR).harm for c in _part(case, other).materials
        ]
    ]
    return max(grades, default=0)


def contacts_of(case: Case, part: str) -> list[tuple[str, Contact]]:
    """Return the neighbours that a part touches, with the contact, each once."""
    found: dict[str, Contact] = {}
    for contact in case.contacts:
        if part in contact.between and _touches(contact):
            first, second = contact.between
            found.setdefault(second if first == part else first, contact)
    return list(found.items())


def _touches(contact: Contact) -> bool:
    return contact.kind not in APART and contact.parting != "done"


def _part(case: Case, name: str) -> Part:
    return next(part for part in case.parts if part.id == name)


def _because(one: Sequence[str], joined: Iterable[str], risk: int, *, first: bool) -> str:
    how = (
        "Joined to others that are treated, so done alone with a film between."
        if one[0] in joined
        else "Lie free of one another and take the same pack, so done together."
        if len(one) > 1
        else "Touches none of the others that are treated."
    )
    near = (
        "nothing else beside it is harmed by vapour"
        if not risk
        else "what else lies beside it takes vapour with slight harm at most"
        if risk == 1
        else "what else lies beside it is harmed by vapour, or nobody knows"
    )
    return f"{'Begun here: ' if first else 'Here '}{near}. {how}"


def stations_of(part: Part, share: float) -> Stations:
    """Return the places on a part, of which *share* (0 to 1) is to be treated.

    The more there is to do, the more stations: the area, or the length where only that is known,
    over what one person can watch (practice).
    """
    lying = part.lies_flat is Tri.YES
    width, height = LYING if lying else HELD
    area = part.size.area
    if not area:
        words = "size not recorded: move along the crease, a pack at a time"
        return Stations(0, width, height, words)
    number = max(1, ceil(share * area / (width * height)))
    words = (
        f"{share:.0%} of {area:g} cm² in packs of {width:g} by {height:g} cm "
        f"({'lying' if lying else 'held by a shape'}; practice)"
    )
    return Stations(number, width, height, words)
