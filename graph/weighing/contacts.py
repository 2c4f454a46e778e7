"""The contact network: which parts an agent reaches from the place where it is put.

A technique that takes hold of the whole object (a tent, a bath, a freezer) brings its full dose
to every part but those that are recorded as taken off. Any other works at a place, and what it
brings crosses a contact if that kind of contact passes its manner (seed_data/contacts.ttl). A
cloud (steam, spray) isn't stopped by a sheet laid between two parts, only by taking them apart.

A contact that nobody recorded is unknown and never absent: a part that no chain of contacts
joins to the place, not even one that says that the two lie apart, may be touched all the same.
"""

from __future__ import annotations

import heapq
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass, field
from functools import cached_property
from itertools import pairwise

from leastwise.graph.case.record import Case, Contact, Tri
from leastwise.graph.knowledge.concepts import Agent, Catalogue, ContactKind

__all__ = ["ContactNetwork", "Reach", "stop_at"]

Ways = dict[str, dict[str, int]]  # from -> to -> loss of dose
STOPPED_BY = {"barrier": "lw:Barrier", "parting": "lw:Parting"}


@dataclass(frozen=True, slots=True)
class Reach:
    """A part that an agent reaches, with the dose left and the way it came.

    *stoppable* says whether the barriers and partings that the record calls possible would cut
    every way; *stopped* names what already does (then nothing arrives).
    """

    part: str
    dose: int
    way: tuple[str, ...]  # parts from the place of use to this one
    stoppable: Tri = Tri.NO
    stopped: str = ""  # "", barrier, parting
    recorded: bool = True  # False if the record doesn't say whether the part is touched

    @property
    def via(self) -> str:
        """The part before this one on the way, or an empty text on the part treated."""
        return self.way[-2] if len(self.way) > 1 else ""


@dataclass(frozen=True)
class ContactNetwork:
    """The parts of one case and how they touch."""

    case: Case
    kinds: Mapping[str, ContactKind]
    _known: dict[tuple[object, ...], tuple[Reach, ...]] = field(
        default_factory=dict, repr=False, compare=False
    )
    _passed: dict[tuple[object, ...], tuple[Ways, ...]] = field(
        default_factory=dict, repr=False, compare=False
    )

    @classmethod
    def of(cls, case: Case, catalogue: Catalogue) -> ContactNetwork:
        """Return the network of a case; contact kinds come from the knowledge."""
        return cls(case, catalogue.contact_kinds)

    @cached_property
    def parts(self) -> tuple[str, ...]:
        """Return the parts in the order of the record."""
        return tuple(part.id for part in self.case.parts)

    def reached(
        self,
        sources: tuple[str, ...],
        agent: Agent,
        dose: int,
        *,
        confined: bool,
        whole: bool = False,
    ) -> tuple[Reach, ...]:
        """Return every part that *agent* reaches from *sources*, or would but for a stop.

        The sources come first, the rest in the order of the record. Dose falls by the loss of
        each kind of contact and what falls below 1 does not count. *whole* says that the
        technique takes hold of the whole object.
        """
        key = (sources, agent.travels, agent.stopped_by, dose, confined, whole)
        found = self._known.get(key)
        if found is None:
            others = [part for part in self.parts if part not in set(sources)]
            if whole:
                rest = self._all(sources, others, dose)
            elif agent.travels == "wholeObject":
                rest = (Reach(part, dose, (part,)) for part in others)
            elif agent.travels == "onlyAtPlace":
                rest = iter(())
            else:
                rest = self._spread(sources, others, agent, dose, confined=confined)
            on_sources = [Reach(part, dose, (part,)) for part in sources]
            found = self._known[key] = (*on_sources, *rest)
        return found

    def _all(self, sources: tuple[str, ...], others: list[str], dose: int) -> Iterator[Reach]:
        """Yield all other parts at full dose; what is taken off stays out."""
        held = self._joined(lambda c: c.parting != "done")
        anyhow = self._joined(lambda _: True)
        home = {anyhow[one] for one in sources}
        for part in others:
            if anyhow[part] in home and held[part] not in {held[one] for one in sources}:
                yield Reach(part, dose, (part,), Tri.YES, "parting")
            else:
                yield Reach(part, dose, (part,), self._can_be_taken_off(part))

    def _can_be_taken_off(self, part: str) -> Tri:
        answers = {c.parting for c in self.case.contacts if part in c.between} - {"done"}
        if "impossible" in answers:
            return Tri.NO
        return Tri.YES if answers == {"possible"} else Tri.UNKNOWN

    def _joined(self, test: Callable[[Contact], bool]) -> dict[str, int]:
        """Return for each part the number of the group that contacts of that kind make of it."""
        group = {part: number for number, part in enumerate(self.parts)}
        for contact in self.case.contacts:
            if test(contact):
                first, second = (group[end] for end in contact.between)
                if first != second:
                    group = {p: first if g == second else g for p, g in group.items()}
        return group

    @cached_property
    def _recorded(self) -> dict[str, int]:
        """Return for each part the group of parts that recorded contacts join it to."""
        return self._joined(lambda _: True)

    def _spread(
        self,
        sources: tuple[str, ...],
        others: list[str],
        agent: Agent,
        dose: int,
        *,
        confined: bool,
    ) -> Iterator[Reach]:
        ways = self._ways(agent, confined=confined)
        is_open, every, if_stopped, if_all = (_nearest(w, sources, dose - 1) for w in ways)
        for part in others:
            if part in is_open:
                loss, way = is_open[part]
                held = Tri.UNKNOWN if part not in if_all else Tri.NO
                stoppable = Tri.YES if part not in if_stopped else held
                yield Reach(part, dose - loss, way, stoppable)
            elif part in every:
                loss, way = every[part]
                yield Reach(part, dose - loss, way, Tri.YES, self._what_stops(way, agent, confined))
            elif self._recorded[part] not in {self._recorded[one] for one in sources}:
                yield Reach(part, dose, (part,), Tri.UNKNOWN, recorded=False)

    def _what_stops(self, way: tuple[str, ...], agent: Agent, confined: bool) -> str:
        steps = set(pairwise(way))
        for contact in self.case.contacts:
            pair = contact.between
            if pair in steps or pair[::-1] in steps:
                stop = stop_at(contact, agent, confined=confined)
                if stop:
                    return stop
        return "barrier"

    def _ways(self, agent: Agent, *, confined: bool) -> tuple[Ways, ...]:
        """Return how an agent passes: now; were nothing in its way; closed where possible; all.

        "All" also closes the contacts of which the record doesn't say whether they can be closed.
        """
        key = (agent.travels, agent.stopped_by, confined)
        found = self._passed.get(key)
        if found is None:
            found = self._passed[key] = tuple(
                self._passable(agent, test)
                for test in (
                    lambda c: not stop_at(c, agent, confined=confined),
                    lambda _: True,
                    lambda c: _can_stop(c, agent, confined=confined) is not Tri.YES,
                    lambda c: _can_stop(c, agent, confined=confined) is Tri.NO,
                )
            )
        return found

    def _passable(self, agent: Agent, test: Callable[[Contact], bool]) -> Ways:
        ways: Ways = {part: {} for part in self.parts}
        for contact in self.case.contacts:
            if not test(contact):
                continue
            for start, end, loss in _crossings(contact, agent, self.kinds[contact.kind]):
                ways[start][end] = min(loss, ways[start].get(end, loss))
        return ways


def _nearest(
    ways: Ways, sources: tuple[str, ...], most: int
) -> dict[str, tuple[int, tuple[str, ...]]]:
    """Return part -> (loss of dose, way) for all that is reached at a loss of at most *most*.

    Dijkstra's method from several sources (Numerische Mathematik 1 (1959) 269-271); of ways of
    equal loss the one found first stays: sources and contacts count in the order of the record.
    """
    reached: dict[str, tuple[int, tuple[str, ...]]] = {}
    found: dict[str, tuple[int, tuple[str, ...]]] = {one: (0, (one,)) for one in sources}
    fringe = [(0, number, source) for number, source in enumerate(found)]
    number = len(fringe)
    while fringe:
        loss, _, part = heapq.heappop(fringe)
        if part in reached:
            continue
        reached[part] = found[part]
        for end, more in ways[part].items():
            then = loss + more
            if then > most or (end in found and found[end][0] <= then):
                continue
            found[end] = (then, (*found[part][1], end))
            heapq.heappush(fringe, (then, number, end))
            number += 1
    return reached


def _crossings(contact: Contact, agent: Agent, kind: ContactKind) -> Iterator[tuple[str, str, int]]:
    """Yield (from, to, loss of dose) for each direction in which an agent passes a contact."""
    passage = kind.passes.get(agent.travels)
    if passage is None:
        return
    first, second = contact.between
    if passage.to_second:
        yield first, second, passage.dose_loss
    if passage.to_first:
        yield second, first, passage.dose_loss


def stop_at(contact: Contact, agent: Agent, *, confined: bool) -> str:
    """Return what already stands between the two parts for this agent, or an empty text."""
    if contact.parting == "done" and STOPPED_BY["parting"] in agent.stopped_by:
        return "parting"
    if contact.barrier == "in-place" and confined and STOPPED_BY["barrier"] in agent.stopped_by:
        return "barrier"
    return ""


def _can_stop(contact: Contact, agent: Agent, *, confined: bool) -> Tri:
    """Return whether the record says that this contact could be closed: yes, no or unknown."""
    if stop_at(contact, agent, confined=confined):
        return Tri.YES
    answers: list[str] = []
    if STOPPED_BY["parting"] in agent.stopped_by:
        answers.append(contact.parting)
    if confined and STOPPED_BY["barrier"] in agent.stopped_by:
        answers.append(contact.barrier)
    if "possible" in answers:
        return Tri.YES
    return Tri.UNKNOWN if "unknown" in answers else Tri.NO
