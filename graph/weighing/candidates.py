"""Candidates: every technique that answers a damage that was found, and leaving it alone."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import networkx as nx

from leastwise.graph.case.record import Case, DamageFound
from leastwise.graph.knowledge.concepts import Catalogue, Effect, Technique
from leastwise.graph.names import camel

__all__ = ["BASELINE", "Act", "Candidate", "WorkGroup", "find_candidates", "work_groups"]

BASELINE = "technique:leave-and-monitor"


@dataclass(frozen=True, slots=True)
class WorkGroup:
    """Parts that are worked together (*as a group*) or must follow one after another."""

    parts: tuple[str, ...]
    one_after_another: bool


@dataclass(frozen=True, slots=True)
class Act:
    """An enabling act done at a place: between two parts, or at one part.

    *supplies* is ``lw:Barrier``, ``lw:Parting`` or a condition.
    """

    technique: Technique
    supplies: str
    where: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Candidate:
    """A technique on a damage that was found, with the acts that make it possible.

    *effect* is None for leaving it alone.
    """

    id: str  # "crushed-tiers/membrane-pack-suspended"
    technique: Technique
    damage: DamageFound
    effect: Effect | None
    groups: tuple[WorkGroup, ...]
    acts: tuple[Act, ...] = ()

    @property
    def parts(self) -> tuple[str, ...]:
        """The damaged parts, in the order of the record."""
        return tuple(self.damage.parts)

    @property
    def hours(self) -> tuple[float, float]:
        """Hours at the least and at the most, with those of the acts.

        They count for each part, or once for the whole object; an act counts at each place.
        """
        times = 1 if self.technique.hours_per == "object" else len(self.parts)
        low, high = (
            end * times + sum(act.technique.hours[i] for act in self.acts)
            for i, end in enumerate(self.technique.hours)
        )
        return round(low, 2), round(high, 2)

    @property
    def requires(self) -> tuple[str, ...]:
        """The conditions of the technique and of its acts, each once."""
        all_of_them = (self.technique, *(act.technique for act in self.acts))
        return tuple(dict.fromkeys(c for one in all_of_them for c in one.requires))

    @property
    def burdens(self) -> tuple[tuple[str, int], ...]:
        """(axis, grade 0 to 4): on each axis the gravest of the technique and its acts."""
        acts = [dict(act.technique.burdens) for act in self.acts]
        return tuple(
            (axis, max([grade, *(one.get(axis, 0) for one in acts)]))
            for axis, grade in self.technique.burdens
        )

    @property
    def is_baseline(self) -> bool:
        """Whether this candidate leaves the damage alone."""
        return self.technique.id == BASELINE


def find_candidates(case: Case, catalogue: Catalogue) -> Iterator[Candidate]:
    """Yield the candidates, damage by damage in the order of the record, the baseline first.

    A technique answers a damage if an effect claim says so of this kind of damage or of a
    broader one; the nearest claim counts.
    """
    for damage in case.damages:
        groups = work_groups(case, damage, catalogue)
        yield _candidate(catalogue.techniques[BASELINE], damage, None, groups)
        effects: dict[str, Effect] = {}
        for kind in catalogue.knowledge.broader(damage.damage):
            for effect in catalogue.effects.get(kind, ()):
                effects.setdefault(effect.technique, effect)
        for technique in sorted(effects):
            if not _is_made_for(catalogue.techniques[technique], case):
                continue
            yield _candidate(catalogue.techniques[technique], damage, effects[technique], groups)


def _is_made_for(technique: Technique, case: Case) -> bool:
    """Return False only where the record says that the object is of another kind."""
    kind = camel(case.object.kind)
    return not technique.only_for or kind in technique.only_for or kind == "lw:unknown"


def _candidate(
    technique: Technique, damage: DamageFound, effect: Effect | None, groups: tuple[WorkGroup, ...]
) -> Candidate:
    return Candidate(
        f"{damage.id}/{technique.id.partition(':')[2]}", technique, damage, effect, groups
    )


def work_groups(case: Case, damage: DamageFound, catalogue: Catalogue) -> tuple[WorkGroup, ...]:
    """Group the damaged parts: sewn together means one after another, loose means as a group.

    Parts that are joined by stitching or glue and are not taken apart move each other, so they
    are worked in turn; parts that only lie on each other can be worked together.
    """
    wanted = set(damage.parts)
    sewn: nx.Graph[str] = nx.Graph()
    sewn.add_nodes_from(damage.parts)
    for contact in case.contacts:
        joined = catalogue.contact_kinds[contact.kind].sewn and contact.parting != "done"
        if joined and wanted.issuperset(contact.between):
            sewn.add_edge(*contact.between)
    order = {part: i for i, part in enumerate(damage.parts)}
    clusters = [sorted(c, key=order.__getitem__) for c in nx.connected_components(sewn)]
    loose = sorted((c[0] for c in clusters if len(c) == 1), key=order.__getitem__)
    in_turn = sorted((c for c in clusters if len(c) > 1), key=lambda c: order[c[0]])
    groups = [WorkGroup(tuple(cluster), one_after_another=True) for cluster in in_turn]
    if loose:
        groups.append(WorkGroup(tuple(loose), one_after_another=False))
    return tuple(groups)
