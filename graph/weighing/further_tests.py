"""What a further test leaves as it is: the options of a weighed case that read nothing of it.

A record's tests are read by conditions, by exposures, by the tests that a technique always needs
and by rules, and by nothing else. An option none of which asks for a test, on the parts that it
treats or reaches, comes to the same after it.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable, Iterator, Mapping
from dataclasses import dataclass
from functools import cached_property
from itertools import chain
from typing import NamedTuple

from leastwise.graph.case.record import Case, TestDone
from leastwise.graph.ids import OptionId
from leastwise.graph.knowledge.concepts import Catalogue
from leastwise.graph.knowledge.rule_reads import TestReading
from leastwise.graph.meanings import TestState
from leastwise.graph.weighing.candidates import Answering
from leastwise.graph.weighing.conditions import ConditionReader
from leastwise.graph.weighing.courses import Course

__all__ = ["FurtherTests"]

#: What differs between a case and the same with further tests.
MAY_DIFFER = frozenset(("id", "tests"))


#: A part or a material where it is all one of which a test is made.
ANY = ""
EXPOSURE = "lw:Exposure"
IDENTIFICATIONS = frozenset(("lw:certain", "lw:presumed", "lw:unknown"))
#: What an option or exposure is to rules: the names by which they may ask for it.
_ToRules = Mapping[str, frozenset[str]]


class _Reads(NamedTuple):
    """What an option reads of tests.

    *tests* holds (test, part), *exposed* (part, agent, material or what is broader), *treated* the
    parts of its problem, *on_part* by part what its exposures there are to a rule, and *option*
    what it is itself.
    """

    tests: frozenset[tuple[str, str]]
    exposed: frozenset[tuple[str, str, str]]
    treated: frozenset[str]
    on_part: Mapping[str, tuple[_ToRules, ...]]
    option: _ToRules

    def of_rules(self, rule: TestReading, part: str) -> bool:
        """Return whether a rule that reads a test made on a part may speak of the option."""
        if rule.on != EXPOSURE:
            here = rule.elsewhere or not rule.on or part in self.treated
            return here and rule.may_speak_of(self.option)
        parts = self.on_part if rule.elsewhere else (part,)
        exposures = chain.from_iterable(self.on_part.get(one, ()) for one in parts)
        return any(rule.may_speak_of({**self.option, **one}) for one in exposures)


@dataclass(frozen=True)
class FurtherTests:
    """Tells which options of a weighed case further tests may touch.

    *rows* are all techniques with a claim on a problem of the case, *tried* all courses that were
    looked at, *rules* what may block an option and what it reads.
    """

    case: Case
    catalogue: Catalogue
    reader: ConditionReader
    rows: tuple[Answering, ...]
    tried: Mapping[OptionId, tuple[Course, ...]]
    rules: tuple[TestReading, ...]

    def touched(self, case: Case) -> frozenset[OptionId] | None:
        """Return the options that the further tests of *case* may touch.

        None if it differs in more than further tests, or if these may touch all options at once.
        """
        differs = (n for n in Case.model_fields if getattr(case, n) != getattr(self.case, n))
        before = len(self.case.tests)
        if not MAY_DIFFER.issuperset(differs) or case.tests[:before] != self.case.tests:
            return None
        further = case.tests[before:]
        if any(self._touches_all(done) for done in further):
            return None
        return frozenset[OptionId]().union(*map(self._touched_by, further))

    def _touches_all(self, done: TestDone) -> bool:
        """Return whether a test may raise a need, or ease one, or is of a damage."""
        return done.damage is not None or done.test in self._of_needs

    @cached_property
    def _of_needs(self) -> frozenset[str]:
        k = self.catalogue.knowledge
        asked = [c for n in self.catalogue.needs.values() for c in (*n.arises_when, n.of_parts)]
        eased = [k.object(one, "lw:easedIf") for one in k.instances("lw:Easing")]
        conditions = (one for one in (*asked, *eased) if one)
        return frozenset(test for test, _ in self._deciding(conditions, (ANY,)))

    def _deciding(
        self, conditions: Iterable[str], parts: Iterable[str]
    ) -> Iterator[tuple[str, str]]:
        """Yield (test, part) of the tests that may decide conditions that are asked of parts."""
        parts = tuple(parts)
        for test, is_wide in chain.from_iterable(map(self.reader.decided_by, conditions)):
            yield from ((test, part) for part in ((ANY,) if is_wide else parts))

    def _touched_by(self, done: TestDone) -> frozenset[OptionId]:
        """Return the options that a test may touch, whatever comes out of it."""
        key = (done.test, done.part, done.material, done.agent)
        known = self._touched.get(key)
        if known is None:
            known = self._touched[key] = frozenset(self._that_read(done))
        return known

    @cached_property
    def _touched(self) -> dict[tuple[str | None, ...], frozenset[OptionId]]:
        return {}

    def _that_read(self, done: TestDone) -> Iterator[OptionId]:
        mine = {(done.test, done.part), (done.test, ANY)}
        exposed = self._tried_on(done)
        rules = [one for one in self.rules if one.any_test or done.test in one.tests]
        for option, reads in self._reads.items():
            if (
                not mine.isdisjoint(reads.tests)
                or not exposed.isdisjoint(reads.exposed)
                or any(reads.of_rules(one, done.part) for one in rules)
            ):
                yield option

    def _tried_on(self, done: TestDone) -> frozenset[tuple[str, str, str]]:
        """Return what exposures a test may speak of: (part, agent, material or its group)."""
        test = self.catalogue.tests[done.test]
        agents = test.tests_agent | test.clears | test.bars
        if done.agent is not None:  # a trial of one agent says nothing of another
            agents &= {done.agent}
        return frozenset((done.part, agent, done.material or ANY) for agent in agents)

    @cached_property
    def _reads(self) -> Mapping[OptionId, _Reads]:
        return {row.option: self._read_by(row) for row in self.rows}

    def _read_by(self, row: Answering) -> _Reads:
        courses, broader = self.tried.get(row.option, ()), self.catalogue.knowledge.broader
        exposed = {e for one in courses for e in one.exposures}
        on_part: dict[str, dict[int, _ToRules]] = {}
        for e in exposed:
            mine = self._as_rules_see(e.agent, e.material, e.identification, e.test_state)
            on_part.setdefault(e.part, {})[id(mine)] = mine
        reached = {*row.damage.parts, *on_part}
        return _Reads(
            frozenset((*self._own(row), *self._of_courses(courses, reached))),
            frozenset((e.part, e.agent, up) for e in exposed for up in (*broader(e.material), ANY)),
            frozenset(row.damage.parts),
            {part: tuple(found.values()) for part, found in on_part.items()},
            self._option(row, reached),
        )

    def _option(self, row: Answering, reached: Collection[str]) -> _ToRules:
        """Return what an option is to rules; where exposures aren't told apart, all they may be."""
        broader = self.catalogue.knowledge.broader
        there = (part for part in self.case.parts if part.id in reached)
        made_of = frozenset(up for p in there for m in p.materials for up in broader(m.material))
        return {
            "technique": frozenset(broader(row.technique.id)),
            "agent": frozenset(use.agent for use in row.technique.brings),
            "problem": frozenset(broader(row.damage.damage)),
            "material": made_of,
            "madeOf": made_of,
            "damage": frozenset(one.damage for one in self.case.damages),
            "identification": IDENTIFICATIONS,
            "testState": frozenset(f"lw:{state}" for state in TestState),
        }

    def _as_rules_see(self, agent: str, material: str, identified: str, tested: str) -> _ToRules:
        """Return what is said of an exposure itself, the same one for the same."""
        key = (agent, material, identified, tested)
        known = self._seen.get(key)
        if known is None:
            known = self._seen[key] = {
                "agent": frozenset((agent,)),
                "material": frozenset(self.catalogue.knowledge.broader(material)),
                "identification": frozenset((f"lw:{identified}",)),
                "testState": frozenset((f"lw:{tested}",)),
            }
        return known

    @cached_property
    def _seen(self) -> dict[tuple[str, str, str, str], _ToRules]:
        return {}

    def _own(self, row: Answering) -> Iterator[tuple[str, str]]:
        """Yield the tests that a technique and its effects read, on the parts treated."""
        claims = [c for one in row.effects for c in (*one.holds_if, *one.fails_if)]
        yield from self._deciding((*row.technique.requires, *claims), row.damage.parts)
        yield from ((test, part) for test in row.technique.needs_tests for part in row.damage.parts)

    def _of_courses(
        self, courses: Iterable[Course], reached: Collection[str]
    ) -> Iterator[tuple[str, str]]:
        """Yield the tests read for the acts of an option and for what lifts a rule against it."""
        for course in courses:
            yield from self._deciding(course.candidate.requires, course.candidate.parts)
            if course.attacks:
                yield from self._of_acts
            for finding in course.attacks:
                named = (x for x in finding.rule.lifted_by if x.startswith("condition:"))
                yield from self._deciding(named, reached)

    @cached_property
    def _of_acts(self) -> frozenset[tuple[str, str]]:
        """Return the tests that may decide what some act asks for, wherever it is done."""
        acts = chain.from_iterable(self.catalogue.acts.values())
        asked = {condition for act in acts for condition in act.requires}
        return frozenset((test, ANY) for test, _ in self._deciding(asked, (ANY,)))
