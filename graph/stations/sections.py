"""Which parts are humidified together and which one by one, and in which order.

Parts between which vapour passes can't take one pack without damping each other: they are done
one by one, with a film between. What lets vapour pass is said of each kind of contact in
seed_data/contacts.ttl. Parts that lie free of the others that are treated may be done together if
the same pack suits them; a contact that nobody recorded is unknown, and told so. The order begins
where least can go wrong: with the part whose neighbours vapour harms least (our judgement,
practice).
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from math import ceil

import networkx as nx

from leastwise.graph.case.record import Case, Contact, Part, Tri
from leastwise.graph.knowledge.concepts import Catalogue

__all__ = [
    "Section",
    "Stations",
    "contacts_of",
    "risk_of",
    "sections_of",
    "stations_of",
    "vapour_harms",
]

VAPOUR = "agent:water-vapour"
#: A reaction that nobody knows counts as one that does plain harm, for the order of work.
UNKNOWN_RISK = 3
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
        (part, other)
        for part in parts
        for other, _ in contacts_of(case, part, catalogue)
        if other in parts
    )
    joined = {part for part in parts if graph.degree(part)}
    risks = {part: risk_of(case, part, parts, catalogue) for part in parts}
    alone = _alike(case, [part for part in parts if part not in joined])
    order = sorted(
        [(part,) for part in parts if part in joined] + alone,
        key=lambda one: (max(risks[p] for p in one), graph.degree(one[0]), parts.index(one[0])),
    )
    found = []
    for place, one in enumerate(order):
        risk = max(risks[p] for p in one)
        how = JOINED if one[0] in joined else _how_free(case, one, parts)
        begun = "Begun here" if place == 0 else "Here"
        because = f"{begun}: {_near_in_words(risk)}. {how}".strip()
        found.append(Section(one, one[0] in joined, risk, because))
    return tuple(found)


def _alike(case: Case, parts: Iterable[str]) -> list[tuple[str, ...]]:
    """Return parts that lie free by what they are made of and how they lie."""
    found: dict[tuple[object, ...], list[str]] = {}
    for part in parts:
        one = _part(case, part)
        made = frozenset(c.material for c in one.materials)
        found.setdefault((made, one.lies_flat), []).append(part)
    return [tuple(one) for one in found.values()]


def vapour_harms(case: Case, part: str, catalogue: Catalogue) -> list[int]:
    """Return what vapour does to each material of a part, damaged as it is; -1 is unknown."""
    damage = case.damage_on(part)
    materials = _part(case, part).materials
    return [catalogue.sensitivity(c.material, VAPOUR, damage).harm for c in materials]


def risk_of(case: Case, part: str, treated: Sequence[str], catalogue: Catalogue) -> int:
    """Return the gravest harm that vapour does to a neighbour that isn't treated, 0 to 4."""
    grades = [
        grade if grade >= 0 else UNKNOWN_RISK
        for other, _ in contacts_of(case, part, catalogue)
        if other not in treated
        for grade in vapour_harms(case, other, catalogue)
    ]
    return max(grades, default=0)


def contacts_of(case: Case, part: str, catalogue: Catalogue) -> list[tuple[str, Contact]]:
    """Return the neighbours that vapour may reach from a part, with the contact, each once."""
    manner = catalogue.agents[VAPOUR].travels
    found: dict[str, Contact] = {}
    for contact in case.contacts:
        passes = manner in catalogue.contact_kinds[contact.kind].passes
        if part in contact.between and passes and contact.parting != "done":
            first, second = contact.between
            found.setdefault(second if first == part else first, contact)
    return list(found.items())


def _part(case: Case, name: str) -> Part:
    return next(part for part in case.parts if part.id == name)


JOINED = "Vapour passes to others that are treated, so it is done alone with a film between."


def _how_free(case: Case, one: Sequence[str], parts: Sequence[str]) -> str:
    """Return how parts that no contact joins to the others are done, and whether anybody looked."""
    if len(parts) == 1:
        return ""
    looked = {frozenset(contact.between) for contact in case.contacts}
    silent = any(frozenset((p, q)) not in looked for p in one for q in parts if p != q)
    if silent:
        return (
            "As no contact between them is recorded, see that they lie free of one another before "
            "the first pack is laid."
        )
    if len(one) > 1:
        return "Lie free of one another and take the same pack, so done together."
    return "Lies free of the others that are treated."


def _near_in_words(risk: int) -> str:
    if not risk:
        return "nothing else beside it is harmed by vapour, as far as it is recorded"
    if risk == 1:
        return "what else lies beside it takes vapour with slight harm at most"
    return "what else lies beside it is harmed by vapour, or nobody knows"


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
