"""Conditions: whether the record shows that what a technique requires holds.

Where a condition is read from (a field of the parts, the contacts, the case, the equipment, or
a test) is said in seed_data/conditions.ttl. Silence of the record is unknown, never yes.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass, field
from functools import cached_property

from leastwise.graph.case.record import Case, Part, Tri
from leastwise.graph.knowledge.concepts import Catalogue
from leastwise.graph.weighing.candidates import Candidate

__all__ = ["ConditionReader"]


@dataclass(frozen=True)
class ConditionReader:
    """Reads conditions, tests and means of one case for its candidates."""

    case: Case
    catalogue: Catalogue
    _states: dict[tuple[str, tuple[str, ...]], Tri] = field(default_factory=dict, repr=False)

    @cached_property
    def _parts(self) -> dict[str, Part]:
        return {part.id: part for part in self.case.parts}

    @cached_property
    def _results(self) -> dict[tuple[str, str], set[str]]:
        found: dict[tuple[str, str], set[str]] = {}
        for done in self.case.tests:
            found.setdefault((done.part, done.test), set()).add(done.result)
        return found

    def state(self, condition: str, candidate: Candidate) -> Tri:
        """Return whether *condition* holds for all parts of *candidate*: yes, no or unknown."""
        return self.state_for(condition, candidate.parts)

    def state_for(self, condition: str, parts: tuple[str, ...]) -> Tri:
        """Return whether *condition* holds for all of *parts*: yes, no or unknown."""
        key = (condition, parts)
        known = self._states.get(key)
        if known is None:
            answers = list(self._answers(condition, parts)) or [Tri.UNKNOWN]
            known = self._states[key] = next(
                (answer for answer in (Tri.NO, Tri.UNKNOWN) if answer in answers), Tri.YES
            )
        return known

    def _answers(self, condition: str, parts: tuple[str, ...]) -> Iterator[Tri]:
        k = self.catalogue.knowledge
        for part in parts:
            tested = self._tested(condition, part)
            field = k.text(condition, "lw:partField")
            if tested is not Tri.UNKNOWN:
                yield tested
            elif field:
                yield Tri(getattr(self._parts[part], field))
            elif k.is_true(condition, "lw:readFromContacts"):
                yield self._can_be_parted(part)
            elif field := k.text(condition, "lw:significanceField"):
                yield Tri(getattr(self.case.significance, field))
            elif field := k.text(condition, "lw:aimField"):
                yield Tri(getattr(self.case.aim, field))
            elif key := k.text(condition, "lw:equipmentKey"):
                yield self.has_equipment(key)
            else:
                yield Tri.UNKNOWN

    def _tested(self, condition: str, part: str) -> Tri:
        for test in self._checking.get(condition, ()):
            results = self._results.get((part, test), set())
            if "bad" in results:
                return Tri.NO
            if results == {"good"}:
                return Tri.YES
        return Tri.UNKNOWN

    @cached_property
    def _checking(self) -> dict[str, list[str]]:
        """Return the tests that show whether a condition holds, in the order of the catalogue."""
        found: dict[str, list[str]] = {}
        for test in self.catalogue.tests.values():
            for condition in test.checks:
                found.setdefault(condition, []).append(test.id)
        return found

    def _can_be_parted(self, part: str) -> Tri:
        answers = [c.parting for c in self.case.contacts if part in c.between]
        if "impossible" in answers:
            return Tri.NO
        return Tri.UNKNOWN if "unknown" in answers else Tri.YES

    def has_equipment(self, key: str) -> Tri:
        """Return whether the means name the equipment *key*."""
        at_hand = self.case.means.equipment
        if isinstance(at_hand, str):
            return Tri.UNKNOWN
        return Tri.YES if key in at_hand else Tri.NO

    def missing_tests(self, candidate: Candidate) -> Iterable[tuple[str, str]]:
        """Yield (test, state) for each test the technique always needs and hasn't got as good.

        The state is *untested*, *bad* or *inconclusive*.
        """
        for test in candidate.technique.needs_tests:
            states = {self._state_of(test, part) for part in candidate.parts}
            for state in ("bad", "inconclusive", "untested"):
                if state in states:
                    yield test, state
                    break

    def _state_of(self, test: str, part: str) -> str:
        results = self._results.get((part, test), set())
        for state in ("bad", "inconclusive", "good"):
            if state in results:
                return state
        return "untested"
