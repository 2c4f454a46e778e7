"""Places of a list: options that go much the same way stand in one place, led by the best.

Which techniques go the same way, and what decides between them, is said in seed_data/ways.ttl.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field

from leastwise.graph.answer import OptionAnswer, Place
from leastwise.graph.knowledge.knowledge import Knowledge
from leastwise.graph.weighing.headline import first_of

__all__ = ["Way", "places", "ways_of"]

#: So many options are named beside the one that leads a place: what a person can weigh.
MOST_BESIDE = 3


@dataclass(frozen=True, slots=True)
class Way:
    """A way in words, and what decides between the techniques that go it."""

    label: str
    choice: str


@dataclass(slots=True)
class _Group:
    """The options of one place while it is filled, best first, and the ways all of them go."""

    ways: dict[str, Way]
    options: list[OptionAnswer] = field(default_factory=list)

    def takes(self, ways: Mapping[str, Way]) -> bool:
        return not self.ways.keys().isdisjoint(ways)

    def add(self, option: OptionAnswer, ways: Mapping[str, Way]) -> None:
        self.options.append(option)
        self.ways = {name: way for name, way in self.ways.items() if name in ways}


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


def places(options: Sequence[OptionAnswer], ways: Mapping[str, Mapping[str, Way]]) -> list[Place]:
    """Return the places of a list in order: what leads each, and what goes the same way.

    What meets the aim comes first, then what helps in part; leaving alone always has a place. Few
    places, none led by what another option beats, where there is enough to choose.
    """
    groups: list[_Group] = []
    for option in options:
        if option.heading in ("meets-aim", "helps"):
            mine = {} if option.is_baseline else ways.get(option.technique, {})
            group = next((g for g in groups if g.takes(mine)), None)
            if group is None:
                groups.append(group := _Group(dict(mine)))
            group.add(option, mine)
    by_leader = {g.options[0].id: g for g in groups}
    kept = first_of([g.options[0] for g in groups], options)
    return [
        _place(by_leader.get(o.id) or _Group({}, [o]))
        for o in options
        if o.id in kept or o.is_baseline
    ]


def _place(group: _Group) -> Place:
    leads, *others = group.options
    way = next(iter(group.ways.values()), None) if others else None
    return Place(
        leads.id,
        tuple(o.id for o in others[:MOST_BESIDE]),
        way.label if way else "",
        way.choice if way else "",
    )
