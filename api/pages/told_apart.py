"""What a word is easily taken for, as pages show it: its drawing, and what tells it apart."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from markupsafe import Markup

from leastwise.api.drawings.told_apart.draw import drawing_of
from leastwise.graph.case.reading import find_concept
from leastwise.graph.knowledge.knowledge import Knowledge
from leastwise.graph.reference.apart import neighbours_of

__all__ = ["Looks", "damage_looks", "drawn", "looks_of", "neighbouring_damages"]


@dataclass(frozen=True, slots=True)
class Looks:
    """A thing with its drawing, and its neighbours with what tells each of them apart."""

    id: str
    label: str
    look_for: str
    drawing: Markup
    neighbours: tuple[tuple[Looks, str], ...] = ()


def drawn(concept: str, label: str, shows: str, within: str) -> Markup:
    """Return the drawing of a concept as markup; *within* keeps the ids of a page apart."""
    return Markup(drawing_of(concept, label, shows, within))  # noqa: S704 - its texts are escaped


def looks_of(concept: str, knowledge: Knowledge, within: str) -> Looks:
    """Return how a thing looks beside its neighbours."""
    neighbours = (
        (_alone(one.other, knowledge, f"{within}-beside"), one.says)
        for one in neighbours_of(concept, knowledge)
    )
    alone = _alone(concept, knowledge, within)
    return Looks(alone.id, alone.label, alone.look_for, alone.drawing, tuple(neighbours))


def _alone(concept: str, knowledge: Knowledge, within: str) -> Looks:
    label, look_for = knowledge.label(concept), knowledge.text(concept, "lw:lookFor")
    shows = knowledge.text(concept, "lw:drawingShows") or look_for
    return Looks(concept, label, look_for, drawn(concept, label, shows, within))


def damage_looks(said: str, place: str, knowledge: Knowledge) -> Looks | None:
    """Return how the damage looks that somebody chose by its name, None for no such name."""
    found = find_concept(said, "damage", knowledge) if said else None
    return looks_of(found, knowledge, place) if found else None


def neighbouring_damages(knowledge: Knowledge) -> Iterable[tuple[Looks, Looks, str]]:
    """Yield the pairs of damages that are easily taken for one another, each pair once."""
    for number, one in enumerate(knowledge.instances("lw:Distinction")):
        pair = [c for c in knowledge.objects(one, "lw:between") if c.startswith("damage:")]
        if len(pair) == 2:
            first, second = (_alone(c, knowledge, f"pair-{number}") for c in pair)
            yield first, second, knowledge.text(one, "lw:tellsApart")
