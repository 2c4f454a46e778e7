"""What would settle an open question: a test, a barrier, a parting, an entry in the record."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field
from functools import cached_property
from itertools import pairwise
from typing import NamedTuple

from leastwise.graph.case.record import Case, Contact, Tri
from leastwise.graph.ids import Pair
from leastwise.graph.knowledge.concepts import Catalogue, Test
from leastwise.graph.meanings import Remedy, TestState
from leastwise.graph.weighing.candidates import Candidate, open_questions
from leastwise.graph.weighing.conditions import About, ConditionReader
from leastwise.graph.weighing.exposure import Exposure
from leastwise.graph.weighing.test_places import TestPlaces

__all__ = ["Mend", "Settler"]

LAST_RESORT = "test:hidden-spot-trial"
IDENTIFICATION = "lw:Identification"
STOP_TERM = {Remedy.BARRIER: "lw:Barrier", Remedy.PARTING: "lw:Parting"}


class Mend(NamedTuple):
    """One thing that would lift a finding.

    *kind* is test, identity, barrier, parting, means or record. For a test, *what* is its CURIE;
    for a barrier or a parting, the two parts; for means and record, what has to be there.
    *condition* is what it settles where a finding asks for several things, each by itself.
    """

    kind: Remedy
    what: str
    part: str = ""
    material: str = ""
    condition: str = ""


@dataclass(frozen=True)
class Settler:
    """Names the mends of open and defeating findings of one case."""

    case: Case
    catalogue: Catalogue
    reader: ConditionReader
    _known: dict[tuple[str, str, str], tuple[str, ...]] = field(
        default_factory=dict, repr=False, compare=False
    )
    _lifting: dict[tuple[object, ...], tuple[Mend, ...]] = field(
        default_factory=dict, repr=False, compare=False
    )

    @property
    def _places(self) -> TestPlaces:
        return self.reader.places

    def of_exposure(self, exposure: Exposure, lifted_by: tuple[str, ...]) -> list[Mend]:
        """Return what would lift a finding on an exposure, of the kinds that its rule names."""
        e = exposure
        key = (
            e.agent, e.part, e.material, e.identification, e.test_state, e.confined, e.reach,
            lifted_by,
        )  # fmt: skip
        known = self._lifting.get(key)
        if known is None:  # which option brings the agent makes no difference
            known = self._lifting[key] = tuple(self._of_exposure(e, lifted_by))
        return [*known]

    def _of_exposure(self, exposure: Exposure, lifted_by: tuple[str, ...]) -> list[Mend]:
        if not exposure.reach.recorded:
            return [Mend(Remedy.RECORD, "lw:hasContact", exposure.part)]
        mends = [m for m in self._stops(exposure) if STOP_TERM[m.kind] in lifted_by]
        if IDENTIFICATION in lifted_by:
            mends += self._identifying(exposure)
        elif tests := [x for x in lifted_by if x in self.catalogue.tests]:
            mends += self._named(exposure, tests)
        here = (exposure.part,)
        conditions = [x for x in lifted_by if x.startswith("condition:")]
        lacking = [x for x in conditions if self.reader.state_for(x, here) is not Tri.YES]
        return mends + [Mend(Remedy.RECORD, x, exposure.part) for x in lacking]

    def _named(self, e: Exposure, tests: list[str]) -> list[Mend]:
        """Return those of the tests named by a rule that tell of this exposure.

        Where one of them tries the agent, the gentlest of these; where none does, all of them
        look at the part itself. A trial on a hidden spot stands for whatever tries the agent, and
        so do tests that try other agents alone: what they show doesn't settle this one.
        """
        direct = [t for t in tests if e.agent in self.catalogue.tests[t].tests_agent]
        if direct and e.test_state == TestState.BAD:
            return []
        if LAST_RESORT in tests or (e.identification == "unknown" and direct):
            return self._tests(e)
        known = [self.catalogue.tests[t] for t in tests]
        tries_others = all(t.tests_agent and not t.checks for t in known)
        if not direct and tries_others and e.agent in self._clearable:
            return self._tests(e)
        if len(direct) > 1:
            groups = set(self.catalogue.knowledge.broader(e.material))
            applies = [t for t in direct if self.catalogue.tests[t].fits(groups)] or direct
            direct = [min(applies, key=lambda t: _cost(self.catalogue.tests[t]))]
        return [Mend(Remedy.TEST, test, e.part, e.material) for test in direct or tests]

    @cached_property
    def _clearable(self) -> frozenset[str]:
        """Return the agents that a good result of some test clears."""
        tests = self.catalogue.tests.values()
        return frozenset(agent for test in tests for agent in test.tests_agent & test.clears)

    def _identifying(self, e: Exposure) -> list[Mend]:
        """Return the tests that tell what a material is, the gentlest two, else a trial."""
        there = [t for t in self._identity_tests(e.material) if t in self.catalogue.tests]
        if not there:
            return self._tests(e)
        gentlest = sorted(there, key=lambda t: _cost(self.catalogue.tests[t]))[:2]
        return [Mend(Remedy.IDENTITY, test, e.part, e.material) for test in gentlest]

    def _tests(self, e: Exposure) -> list[Mend]:
        key = (e.material, e.agent, e.identification)
        names = self._known.get(key)
        if names is None:
            names = self._known[key] = tuple(self._best_tests(e))
        kind = Remedy.IDENTITY if names and self._identifies(names[0], e) else Remedy.TEST
        return [Mend(kind, name, e.part, e.material) for name in names]

    def _identifies(self, test: str, e: Exposure) -> bool:
        return e.identification == "unknown" and test in self._identity_tests(e.material)

    def _identity_tests(self, material: str) -> list[str]:
        return self.catalogue.knowledge.objects(material, "lw:identifiedBy")

    def _best_tests(self, e: Exposure) -> list[str]:
        """Return the identity test of an unknown material, else the gentlest direct test."""
        groups = set(self.catalogue.knowledge.broader(e.material))
        is_colour = bool(groups & {"material:colourant", "material:finish"})
        if e.identification == "unknown" and not is_colour:
            found = [t for t in self._identity_tests(e.material) if t in self.catalogue.tests]
            if found:
                return sorted(found, key=lambda t: _cost(self.catalogue.tests[t]))[:2]
        direct = [
            test
            for test in self.catalogue.tests.values()
            if e.agent in test.tests_agent
            and e.agent in test.clears
            and test.id != LAST_RESORT
            and test.fits(groups)
        ]
        if direct:
            return [min(direct, key=_cost).id]
        return [LAST_RESORT] if LAST_RESORT in self.catalogue.tests else []

    def _stops(self, e: Exposure) -> list[Mend]:
        """Return the barriers and partings on the way that the record doesn't rule out."""
        agent = self.catalogue.agents[e.agent]
        if len(e.reach.way) == 1 and e.reach.stoppable in (Tri.YES, Tri.UNKNOWN):
            return [*self._taking_off(e.part)]  # it reaches the whole object at once
        return [
            mend
            for start, end in pairwise(e.reach.way)
            for contact in self._between.get(frozenset((start, end)), ())
            for mend in _stops_at(contact, start, end, e, agent.stopped_by)
        ]

    def _taking_off(self, part: str) -> Iterator[Mend]:
        """Yield the partings that would take a part off the object."""
        for contact in self.case.contacts:
            if part in contact.between and contact.parting in ("possible", "unknown"):
                yield Mend(Remedy.PARTING, Pair.of(*contact.between), part)

    @cached_property
    def _between(self) -> dict[frozenset[str], list[Contact]]:
        """Return the contacts of each two parts, in the order of the record."""
        found: dict[frozenset[str], list[Contact]] = {}
        for contact in self.case.contacts:
            found.setdefault(frozenset(contact.between), []).append(contact)
        return found

    def of_option(
        self, candidate: Candidate, lifted_by: tuple[str, ...], *, asked_of: tuple[str, ...] = ()
    ) -> list[Mend]:
        """Return what would lift a finding on an option, of the kinds that its rule names.

        *asked_of* are materials, if the rule asks it of all parts of them, treated or not.
        """
        if asked_of:
            return [mend for name in lifted_by for mend in self._of_all(name, asked_of)]
        return [mend for name in lifted_by for mend in self._of_kind(name, candidate)]

    def _of_all(self, name: str, materials: tuple[str, ...]) -> list[Mend]:
        """Return a test on all parts of some materials whose answer is still open."""
        test = self.catalogue.tests.get(name)
        if test is None:
            return [Mend(Remedy.RECORD, name)]
        return [
            Mend(Remedy.TEST, name, part)
            for part, made in self._places.made_of.items()
            if not made.isdisjoint(materials)
            and any(self.reader.at(one, part) is not Tri.YES for one in test.checks)
        ]

    def _of_kind(self, name: str, candidate: Candidate) -> list[Mend]:
        asked = {
            "lw:testMissing": self._missing,
            "lw:unknownCondition": self._unknown,
            "lw:openEffect": self._open,
            "lw:waitsForWork": self._proving,
        }.get(name)
        if asked is not None:
            return asked(candidate)
        if name in self.catalogue.tests:
            places = self._places.anywhere(name, candidate.parts)
            return [Mend(Remedy.TEST, name, part) for part in places]
        if name in ("lw:beyondSkill", "lw:beyondHours", "lw:lacksEquipment"):
            return [Mend(Remedy.MEANS, name)]
        return [] if name in STOP_TERM.values() else [Mend(Remedy.RECORD, name)]

    def _missing(self, candidate: Candidate) -> list[Mend]:
        missing = [test for test, _ in self.reader.missing_tests(candidate)]
        return [Mend(Remedy.TEST, test, part) for test in missing for part in candidate.parts]

    def _unknown(self, candidate: Candidate) -> list[Mend]:
        return [m for c in candidate.requires for m in self._of_condition(c, candidate)]

    def _open(self, candidate: Candidate) -> list[Mend]:
        asked = open_questions(candidate, self.reader)
        return [m for c in asked for m in self._of_condition(c, candidate)]

    def _proving(self, candidate: Candidate) -> list[Mend]:
        """Return what shows, once the work before it is done, that an option may follow."""
        k = self.catalogue.knowledge
        return [
            mend
            for act in candidate.acts
            for condition in k.objects(act.technique.id, "lw:leavesToProve")
            for mend in self._settling(condition, act.where[0])
        ]

    def _of_condition(self, condition: str, candidate: Candidate) -> list[Mend]:
        """Return the tests or entries that settle a condition, on the parts where it is open."""
        about = About(candidate.damage, candidate.technique)
        mends = [
            mend._replace(condition=condition)
            for part in candidate.parts
            if self.reader.at(condition, part, about) is Tri.UNKNOWN
            for inner in self.reader.open_within(condition, part, about)
            for mend in self._settling(inner, part)
        ]
        return list(dict.fromkeys(mends))

    def _settling(self, condition: str, part: str) -> list[Mend]:
        """Return the tests that tell, made on the part or where else they mean something."""
        tests = self.reader.tests_of(condition)
        return [
            Mend(Remedy.TEST, t, place)
            for t in tests
            for place in self._places_of(t, condition, part)
        ] or [Mend(Remedy.RECORD, condition, part)]

    def _places_of(self, test: str, condition: str, part: str) -> tuple[str, ...]:
        """Return where a test of a condition is made: once in a piece that it is asked of whole."""
        piece = self.reader.piece(condition, part)
        if piece:
            return (self._places.in_piece(test, part, piece),)
        return self._places.anywhere(test, (part,))


def _stops_at(
    contact: Contact, start: str, end: str, e: Exposure, stopped_by: frozenset[str]
) -> list[Mend]:
    pair = Pair.of(start, end)
    mends = []
    if e.confined and "lw:Barrier" in stopped_by and contact.barrier in ("possible", "unknown"):
        mends.append(Mend(Remedy.BARRIER, pair, e.part))
    if "lw:Parting" in stopped_by and contact.parting in ("possible", "unknown"):
        mends.append(Mend(Remedy.PARTING, pair, e.part))
    return mends


def _cost(test: Test) -> tuple[int, int, str]:
    return (test.material_lost, test.minutes, test.id)
