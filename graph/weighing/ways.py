"""Places of a list: options that go much the same way stand in one place, led by the best.

Which techniques go the same way, and what decides between them, is said in seed_data/ways.ttl.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import Generic, TypeVar

from leastwise.graph.answer import OptionAnswer, Place
from leastwise.graph.knowledge.knowledge import Knowledge
from leastwise.graph.weighing.headline import first_of

__all__ = ["Group", "Way", "grouped", "places", "ways_of"]

T = TypeVar("T")

#: So many options are named beside the one that leads a place: what a person can weigh.
MOST_BESIDE = 3


@dataclass(frozen=True, slots=True)
class Way:
    """A way in words, and what decides between the techniques that go it."""

    label: str
    choice: str


@dataclass(frozen=True, slots=True)
class Group(Generic[T]):
    """Options that go the same way, best first, and the ways that all of them go."""

    ways: Mapping[str, Way]
    options: tuple[T, ...]

    def takes(self, ways: Mapping[str, Way]) -> bool:
        """Return whether what goes these ways goes one with all that is in the group."""
        return not self.ways.keys().isdisjoint(ways)

    def with_one(self, option: T, ways: Mapping[str, Way]) -> Group[T]:
        """Return the group with a further option, and the ways that still all of them go."""
        shared = {name: way for name, way in self.ways.items() if name in ways}
        return Group(shared, (*self.options, option))


def ways_of(knowledge: Knowledge) -> dict[str, dict[str, Way]]:
    """Return technique -> the ways it goes, by their label."""
    return knowledge.made(("ways",), _read)


def _read(knowledge: Knowledge, _: tuple[str]) -> dict[str, dict[str, Way]]:
    found: dict[str, dict[str, Way]] = {}
    for one in knowledge.instances("lw:Way"):
        way = Way(knowledge.label(one), knowledge.text(one, "lw:choiceBetween"))
        for technique in knowledge.objects(one, "lw:byTechnique"):
            found.setdefault(technique, {})[way.label] = way
    return found


def grouped(options: Iterable[T], going: Callable[[T], Mapping[str, Way]]) -> list[Group[T]]:
    """Return options, best first, in groups that go the same way; *going* tells which one goes."""
    groups: list[Group[T]] = []
    for option in options:
        mine = going(option)
        at = next((i for i, group in enumerate(groups) if group.takes(mine)), None)
        if at is None:
            groups.append(Group(dict(mine), (option,)))
        else:
            groups[at] = groups[at].with_one(option, mine)
    return groups


def places(options: Sequence[OptionAnswer], ways: Mapping[str, Mapping[str, Way]]) -> list[Place]:
    """Return the places of a list in order: what leads each, and what goes the same way.

    What meets the aim comes first, then what helps in part; leaving alone always has a place. Few
    places, none led by what another option beats, where there is enough to choose.
    """
    helping = [one for one in options if one.heading in ("meets-aim", "helps")]
    groups = grouped(helping, lambda o: {} if o.is_baseline else ways.get(o.technique, {}))
    by_leader = {g.options[0].id: g for g in groups}
    kept = first_of([g.options[0] for g in groups], options)
    return [
        _place(by_leader.get(o.id) or Group({}, (o,)))
        for o in options
        if o.id in kept or o.is_baseline
    ]


def _place(group: Group[OptionAnswer]) -> Place:
    leads, *others = group.options
    way = next(iter(group.ways.values()), None) if others else None
    return Place(
        leads.id,
        tuple(o.id for o in others[:MOST_BESIDE]),
        way.label if way else "",
        way.choice if way else "",
    )
