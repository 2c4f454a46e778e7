"""Conditions: whether the record shows that what a technique or an effect asks for holds.

Where a condition is read from is said in seed_data/conditions.ttl: a field of the record
(:mod:`leastwise.graph.weighing.readings`), a test, the means, or other conditions put together.
Silence of the record is unknown, never yes, unless the condition itself says what silence means.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass, field
from functools import cached_property
from itertools import islice
from typing import Protocol

from leastwise.graph.case.record import Case, DamageFound, TestDone, Tri
from leastwise.graph.knowledge.concepts import Catalogue, Technique
from leastwise.graph.knowledge.knowledge import Knowledge
from leastwise.graph.meanings import TestState
from leastwise.graph.weighing.hangs import PIECE, TOGETHER, HangsOn, asks, hangs_on
from leastwise.graph.weighing.readings import About, Readings, any_of, of_bool, opposite
from leastwise.graph.weighing.shared import Shared
from leastwise.graph.weighing.test_places import TestPlaces

__all__ = ["About", "ConditionReader", "Treated"]

#: States of a test that an option can't lean on, the worst first.
NOT_GOOD = (TestState.BAD, TestState.INCONCLUSIVE, TestState.UNTESTED)
#: What is read from the purpose, the mounting and the kind of object alone.
OF_THE_AIM = (
    "lw:whenMounted",
    "lw:whenPurpose",
    "lw:whenObjectKind",
    "lw:whenObjectForm",
    "lw:degreesAtLeast",
)
#: How agents travel that act by touch and force alone.
MECHANICAL = ("overSurface", "byPull", "downward", "throughLayers")


class Treated(Protocol):
    """What is treated how: an option, as far as a condition asks."""

    @property
    def damage(self) -> DamageFound:
        """The damage or need."""

    @property
    def technique(self) -> Technique:
        """The technique."""

    @property
    def parts(self) -> tuple[str, ...]:
        """The parts treated."""


@dataclass(frozen=True)
class ConditionReader:
    """Reads conditions, tests and means of one case; three-valued, and each answer once."""

    case: Case
    catalogue: Catalogue
    shared: Shared = field(default_factory=Shared, repr=False)
    _marks: dict[frozenset[str], int] = field(default_factory=dict, repr=False, compare=False)

    @cached_property
    def _readings(self) -> Readings:
        return Readings(self.case, self.catalogue)

    def state(self, condition: str, candidate: Treated) -> Tri:
        """Return whether *condition* holds for all parts of *candidate*: yes, no or unknown."""
        return self.on_all(condition, candidate.parts, About(candidate.damage, candidate.technique))

    def state_for(self, condition: str, parts: Iterable[str]) -> Tri:
        """Return whether *condition* holds for all of *parts*: yes, no or unknown."""
        return self.on_all(condition, parts, About())

    def on_all(self, condition: str, parts: Iterable[str], about: About) -> Tri:
        """Return yes if it holds on every part, no if on one it doesn't, else unknown."""
        return opposite(any_of([opposite(one) for one in self._answers(condition, parts, about)]))

    def on_any(self, condition: str, parts: Iterable[str], about: About) -> Tri:
        """Return yes if it holds on one part, no if on none, else unknown."""
        return any_of(self._answers(condition, parts, about))

    def _answers(self, condition: str, parts: Iterable[str], about: About) -> list[Tri]:
        """Return the answers at some parts; one, where it is the same at all of them."""
        if not self._hanging(condition).on_part:
            parts = islice(parts, 1)
        return [self.at(condition, part, about) for part in parts] or [Tri.UNKNOWN]

    def at(self, condition: str, part: str, about: About = About()) -> Tri:  # noqa: B008 - frozen
        """Return whether a condition holds at one part."""
        hangs = self._hanging(condition)
        problem = about.problem.id if hangs.on_problem and about.problem else ""
        technique = about.technique.id if hangs.on_technique and about.technique else ""
        place = part if hangs.on_part else ""
        key = (condition, place, problem, technique, self._mark(hangs.pieces))
        known = self.shared.states.get(key)
        if known is None:
            known = self.shared.states[key] = self._answer(condition, part, about)
        return known

    def mark(self, conditions: Iterable[str]) -> int:
        """Return the mark of all pieces of the record that some conditions are read from."""
        return self._mark(frozenset().union(*(self._hanging(one).pieces for one in conditions)))

    def mark_under(self, name: int, conditions: Iterable[str]) -> int:
        """Return :meth:`mark` of what is asked under a name, put together once for each name."""
        known = self._pieces_under.get(name)
        if known is None:
            all_pieces = (self._hanging(one).pieces for one in conditions)
            known = self._pieces_under[name] = frozenset[str]().union(*all_pieces)
        return self._mark(known)

    @cached_property
    def _pieces_under(self) -> dict[int, frozenset[str]]:
        return self.shared.made(("pieces under", self._tests_made), dict[int, frozenset[str]])

    def _mark(self, pieces: frozenset[str]) -> int:
        known = self._marks.get(pieces)
        if known is None:
            known = self._marks[pieces] = self.shared.mark_of(self.case, pieces)
        return known

    def _hanging(self, condition: str) -> HangsOn:
        """Return what an answer hangs on.

        Most conditions ask of parts or of the aim alone, and are answered once for all options,
        and for all variants of a case that differ in something else. On what it hangs is the same
        for all in which the same tests were made.
        """
        known = self._hangs_on.get(condition)
        if known is None:
            known = hangs_on(condition, self.catalogue, self._tests_made)
            self._hangs_on[condition] = known
        return known

    @cached_property
    def _hangs_on(self) -> dict[str, HangsOn]:
        return self.shared.made(("hangs on", self._tests_made), dict[str, HangsOn])

    @cached_property
    def _tests_made(self) -> frozenset[str]:
        return frozenset(done.test for done in self.case.tests)

    def _answer(self, condition: str, part: str, about: About) -> Tri:
        tested = self._tested(condition, part, about)
        if tested is not Tri.UNKNOWN:
            return tested
        reading = self._readings.of(condition)
        answer = (
            reading(condition, part, about)
            if reading is not None
            else self._together(condition, part, about)
        )
        return asks(condition, self.catalogue.knowledge).silent if answer is None else answer

    def _together(self, condition: str, part: str, about: About) -> Tri | None:
        """Return the answer of a condition that is put together from others."""
        put = asks(condition, self.catalogue.knowledge)
        every = [self.at(one, part, about) for one in put.all_of]
        one_of = [self.at(one, part, about) for one in put.any_of]
        none = [self.at(one, part, about) for one in put.none_of]
        asked = [*map(opposite, every), *none]
        if one_of:
            asked.append(opposite(any_of(one_of)))
        answer = opposite(any_of(asked)) if asked else Tri.UNKNOWN
        return None if answer is Tri.UNKNOWN else answer

    def _tested(self, condition: str, part: str, about: About) -> Tri:
        """Return what the tests that check a condition have shown where it looks."""
        for test in self.catalogue.checked_by.get(condition, ()):
            places = self._readings.scope(condition, part)
            results = {r for p in places for r in self._results_of(test, p, about)}
            if not results and places == [part] and test in self._tests_made:
                results = self._on_what_carries(test, part, about)
            if "bad" in results:
                return Tri.NO
            if "good" in results and "inconclusive" not in results:
                return Tri.YES
        return Tri.UNKNOWN

    def _on_what_carries(self, test: str, part: str, about: About) -> set[str]:
        """Return what a test showed that a part can't bear itself: a needle at a hook, say.

        It is made on what carries the part, and settles nothing until it was made on all of that.
        """
        carrying = self.places.carrying(test, (part,))
        if part in carrying:
            return set()
        found = [set(self._results_of(test, one, about)) for one in carrying]
        return set[str]().union(*found) if all(found) else set()

    @cached_property
    def places(self) -> TestPlaces:
        """Return where the tests of this case mean something."""
        return TestPlaces(self.case, self.catalogue)

    @cached_property
    def _results(self) -> dict[tuple[str, str], list[TestDone]]:
        """(part, test) -> the tests done."""
        found: dict[tuple[str, str], list[TestDone]] = {}
        for done in self.case.tests:
            found.setdefault((done.part, done.test), []).append(done)
        return found

    def _results_of(self, test: str, part: str, about: About) -> Iterator[str]:
        """Yield the results of a test on a part, only those that count.

        Of one agent at a time, a trial of another agent doesn't; one made on a damage says nothing
        of another damage. An agent that did nothing has not shown what the condition asks for.
        """
        single = self.catalogue.tests[test].one_agent_at_a_time
        mine = {use.agent for use in about.technique.brings} if about.technique else set[str]()
        for done in self._results.get((part, test), ()):
            if about.problem and done.damage not in (None, about.problem.id):
                continue
            if not single or not done.agent or done.agent in mine:
                yield "bad" if done.agent and done.effect == "nothing" else done.result

    def did_nothing(self, candidate: Treated) -> bool:
        """Return whether trials on the damage have shown that the technique does nothing to it.

        They have if each agent by which it acts was tried there and did nothing. Rubbing, pressure
        and suction count only for what works by them alone.
        """
        idle = self._idle.get(candidate.damage.id)
        if not idle:  # nearly always
            return False
        brought = {use.agent for use in candidate.technique.brings}
        known = self.catalogue.agents
        acting = {a for a in brought if known[a].travels not in MECHANICAL} or brought
        return bool(acting) and acting <= idle

    @cached_property
    def _idle(self) -> dict[str, set[str]]:
        """Damage -> the agents that did nothing to it, and did not work in another trial."""
        found: dict[str, set[str]] = {}
        for damage in self.case.damages:
            tried = [t for t in self.case.tests if t.agent and t.damage == damage.id]
            worked = {t.agent for t in tried if t.effect == "works"}
            idle = {t.agent for t in tried if t.effect == "nothing" and t.agent not in worked}
            found[damage.id] = {a for a in idle if a is not None}
        return found

    def tests_of(self, condition: str) -> list[str]:
        """Return the tests that would show whether a condition holds."""
        k = self.catalogue.knowledge
        settling = [t for t in k.objects(condition, "lw:settledBy") if t in self.catalogue.tests]
        return list(dict.fromkeys([*self.catalogue.checked_by.get(condition, ()), *settling]))

    def decided_by(self, condition: str) -> frozenset[tuple[str, bool]]:
        """Return the tests that may decide a condition, or one that it is put together from.

        Each with whether it may be made on another part than that of which it is asked.
        """
        return self.shared.made(("decided by", condition), lambda: self._decided_by(condition))

    def _decided_by(self, condition: str) -> frozenset[tuple[str, bool]]:
        k = self.catalogue.knowledge
        is_wide = "lw:scope" in k.predicates(condition)
        mine = ((test, is_wide) for test in self.catalogue.checked_by.get(condition, ()))
        inner = (self.decided_by(one) for name in TOGETHER for one in k.objects(condition, name))
        return frozenset(mine).union(*inner)

    def piece(self, condition: str, part: str) -> tuple[str, ...]:
        """Return the parts of the piece that a condition is asked of whole; none for others."""
        whole = asks(condition, self.catalogue.knowledge).scope == PIECE
        return tuple(self._readings.scope(condition, part)) if whole else ()

    def open_within(self, condition: str, part: str, about: About) -> list[str]:
        """Return what of a condition is unknown at a part: itself, or what it is made of."""
        if self.tests_of(condition) or not condition.startswith("condition:"):
            return [condition]
        k, found = self.catalogue.knowledge, list[str]()
        for name in TOGETHER:
            for one in k.objects(condition, name):
                if self.at(one, part, about) is Tri.UNKNOWN and one.startswith("condition:"):
                    found += self.open_within(one, part, about)
        return list(dict.fromkeys(found)) or [condition]

    def is_of_the_aim(self, condition: str) -> bool:
        """Return whether nothing but purpose, mounting and kind of object decides a condition."""
        return self.catalogue.knowledge.made(("of the aim", condition), self._rests_on_the_aim)

    def _rests_on_the_aim(self, _: Knowledge, key: tuple[str, str]) -> bool:
        condition = key[1]
        said = self.catalogue.knowledge.predicates(condition)
        inner = [one for name in TOGETHER for one in said.get(name, ())]
        if inner:
            return all(self.is_of_the_aim(one) for one in inner)
        return not self.tests_of(condition) and any(name in said for name in OF_THE_AIM)

    def sets_aside(self, condition: str) -> bool:
        """Return whether what lacks a condition leaves nothing for a technique that is for it."""
        return self.catalogue.knowledge.is_true(condition, "lw:setsAside")

    def has_equipment(self, key: str) -> Tri:
        """Return whether the means name the equipment *key*."""
        at_hand = self.case.means.equipment
        if isinstance(at_hand, str):
            return Tri.UNKNOWN
        return of_bool(key in at_hand)

    def missing_tests(self, candidate: Treated) -> Iterable[tuple[str, TestState]]:
        """Yield (test, state) for each test the technique always needs and hasn't got as good.

        The state is *untested*, *bad* or *inconclusive*.
        """
        for test in candidate.technique.needs_tests:
            if self._is_said(test, candidate.damage):
                continue
            states = {self._state_of(test, part) for part in candidate.parts}
            if worst := next((one for one in NOT_GOOD if one in states), None):
                yield test, worst

    def _is_said(self, test: str, damage: DamageFound) -> bool:
        """Return whether the record of a damage says itself what a test would tell.

        What a deposit is of, and whether it is evidence.
        """
        told = damage.deposit != "unknown" and damage.evidence is not Tri.UNKNOWN
        return told and test in self._of_deposits

    @property
    def _of_deposits(self) -> frozenset[str]:
        """Return the tests that tell what a deposit is of, and try nothing on it."""
        return self.catalogue.knowledge.made(("tests of deposits",), self._tell_of_deposits)

    def _tell_of_deposits(self, k: Knowledge, _: object) -> frozenset[str]:
        there = k.instances("lw:Condition")
        asked = [one for one in there if k.text(one, "lw:damageField") == "deposit"]
        tests = {test for one in asked for test in k.objects(one, "lw:settledBy")}
        return frozenset(t for t in tests if not self.catalogue.tests[t].clears)

    def _state_of(self, test: str, part: str) -> TestState:
        return TestState.worst_of({done.result for done in self._results.get((part, test), ())})
