"""Exposures: which agent of an option reaches which material of which part, at what dose.

An exposure carries what is known of the material's reaction (from claims), what tests on this
very part have shown, and whether a barrier or a parting could stop it. Whether that is harmful
is not decided here but by the rules in shapes/.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from functools import cached_property
from typing import Any, NamedTuple

from leastwise.graph.case.record import Case, Constituent, Part, TestDone
from leastwise.graph.ids import OptionId
from leastwise.graph.knowledge.concepts import AgentUse, Catalogue, Sensitivity, Test
from leastwise.graph.knowledge.kinds import of_all_kinds
from leastwise.graph.meanings import HarmState, TestState
from leastwise.graph.weighing.candidates import Candidate
from leastwise.graph.weighing.contacts import ContactNetwork, Reach
from leastwise.graph.weighing.shared import Shared

__all__ = ["Exposure", "ExposureTracer", "expected_harm"]

VAPOUR = "agent:water-vapour"

#: By how many grades a small dose lowers the severity of harm (common practice).
DOSE_DISCOUNT = {4: 0, 3: 0, 2: 1, 1: 2}


def expected_harm(severity: int, dose: int) -> int:
    """Return the harm to expect: the severity, one grade less at low dose, two at a trace.

    The discount is common practice, not a measurement. Unknown (-1) stays unknown.

    >>> expected_harm(4, 3), expected_harm(4, 2), expected_harm(1, 1), expected_harm(-1, 1)
    (4, 3, 0, -1)
    """
    return severity if severity < 0 else max(0, severity - DOSE_DISCOUNT[max(1, min(dose, 4))])


class Exposure(NamedTuple):
    """One agent on one material of one part, brought by one option.

    A named tuple, since a case of many parts has ten thousand of them and it is made in a third
    of the time that a frozen dataclass takes.
    """

    id: str
    option: OptionId
    technique: str
    agent: str
    dose: int
    part: str
    material: str
    identification: str  # certain, presumed, unknown
    on_target: bool
    reach: Reach
    confined: bool
    sensitivity: Sensitivity
    harm: int  # expected harm 0 to 4; -1 unknown
    state: HarmState
    test_state: TestState
    tests_done: tuple[str, ...]  # tests that gave that state

    @property
    def stopped(self) -> str:
        """What already keeps the agent away: barrier, parting, or an empty text."""
        return self.reach.stopped


#: The fields of an exposure from the agent on: they don't depend on which option brings it.
_Brought = tuple[Any, ...]


@dataclass(frozen=True, slots=True)
class _Reaction:
    """What is known of one material of a part and one agent, whichever option brings it."""

    material: str
    identification: str
    sensitivity: Sensitivity
    state: str
    test_state: str
    tests_done: tuple[str, ...]


@dataclass(frozen=True)
class ExposureTracer:
    """Traces the exposures of the candidates of one case."""

    case: Case
    catalogue: Catalogue
    network: ContactNetwork
    #: (damage, technique) -> part -> dose of vapour where it was computed for a planned pack
    doses: Mapping[tuple[str, str], Mapping[str, int]] = field(default_factory=dict)
    shared: Shared = field(default_factory=Shared, repr=False)
    _seen: dict[tuple[str, str], tuple[_Reaction, ...]] = field(
        default_factory=dict, repr=False, compare=False
    )
    _alike: dict[tuple[object, ...], tuple[_Brought, ...]] = field(
        default_factory=dict, repr=False, compare=False
    )

    @cached_property
    def _parts(self) -> Mapping[str, Part]:
        return {part.id: part for part in self.case.parts}

    @cached_property
    def damage_on(self) -> Mapping[str, frozenset[str]]:
        """Return the kinds of damage found on each part."""
        return {part.id: self.case.damage_on(part.id) for part in self.case.parts}

    @cached_property
    def _tests_on(self) -> Mapping[str, list[TestDone]]:
        found: dict[str, list[TestDone]] = {}
        for test in self.case.tests:
            found.setdefault(test.part, []).append(test)
        return found

    def trace(self, candidate: Candidate) -> Iterator[Exposure]:
        """Yield the exposures of a candidate: agents in alphabetical order, targets first."""
        number, option, technique = 0, candidate.id, candidate.technique.id
        for use in candidate.technique.brings:
            for shared in self._brought(candidate, use):
                yield Exposure(f"{option}/{number}", option, technique, *shared)
                number += 1

    def _brought(self, candidate: Candidate, use: AgentUse) -> tuple[_Brought, ...]:
        """Return what an agent reaches, worked out once for all options that bring it alike."""
        computed: Mapping[str, int] = {}
        if use.agent == VAPOUR:
            computed = self.doses.get((candidate.damage.id, candidate.technique.id), {})
        whole = candidate.technique.reaches_whole
        if computed:  # for a pack of this option alone
            return tuple(self._reached(candidate.parts, use, computed, whole=whole))
        key = (candidate.parts, use.agent, use.dose, use.confined, whole)
        found = self._alike.get(key)
        if found is None:
            found = self._alike[key] = self._shared(candidate.parts, use, whole=whole)
        return found

    def _shared(
        self, targets: tuple[str, ...], use: AgentUse, *, whole: bool
    ) -> tuple[_Brought, ...]:
        """Return what an agent reaches, worked out once for all variants with the same parts there.

        These are the very same parts, with the same tests made on them, the same damage and the
        same contacts.
        """
        agent = self.catalogue.agents[use.agent]
        reached = self.network.reached(targets, agent, use.dose, confined=use.confined, whole=whole)
        known = self._known_of
        there = tuple([known[one.part] for one in reached])
        key = ("brought", targets, use.agent, use.dose, use.confined, whole, there,
               self.shared.mark([self.network]))  # fmt: skip
        return self.shared.made(key, lambda: tuple(self._reached(targets, use, {}, whole=whole)))

    @cached_property
    def _known_of(self) -> Mapping[str, int]:
        """Part -> what stands for all that is recorded of it, as far as exposures ask."""
        number, damage = self.shared.number, self.damage_on
        return {part: number((part, mark, damage[part])) for part, mark in self._marks.items()}

    def _reached(
        self, targets: tuple[str, ...], use: AgentUse, computed: Mapping[str, int], *, whole: bool
    ) -> Iterator[_Brought]:
        """Yield what an agent reaches; a *computed* dose on a neighbour counts before ours."""
        agent = self.catalogue.agents[use.agent]
        for reach in self.network.reached(
            targets, agent, use.dose, confined=use.confined, whole=whole
        ):
            on_target = reach.part in targets
            dose = reach.dose if on_target else computed.get(reach.part, reach.dose)
            for known in self._reactions(reach.part, use.agent):
                yield (
                    use.agent,
                    dose,
                    reach.part,
                    known.material,
                    known.identification,
                    on_target,
                    reach,
                    use.confined,
                    known.sensitivity,
                    expected_harm(known.sensitivity.harm, dose),
                    known.state,
                    known.test_state,
                    known.tests_done,
                )

    def _reactions(self, part: str, agent: str) -> tuple[_Reaction, ...]:
        """Return how the materials of a part take an agent; worked out once for all options."""
        found = self._seen.get((part, agent))
        if found is None:
            key = ("reactions", part, agent, self._marks[part], self.damage_on[part])
            found = self._seen[part, agent] = self.shared.made(
                key, lambda: tuple(self._worked_out(part, agent))
            )
        return found

    @cached_property
    def _marks(self) -> Mapping[str, int]:
        """Part -> the mark of what is recorded of it and of the tests made on it."""
        tests = self._tests_on
        return {p.id: self.shared.mark([p, *tests.get(p.id, ())]) for p in self.case.parts}

    def _worked_out(self, part: str, agent: str) -> Iterator[_Reaction]:
        nothing = self.catalogue.agents[agent].means_nothing_for
        for constituent in self._parts[part].materials:
            if (
                nothing.isdisjoint(self.catalogue.knowledge.broader(constituent.material))
                and constituent.material not in self.catalogue.absences
            ):
                yield self._reaction(part, constituent, agent)

    def _reaction(self, part: str, constituent: Constituent, agent: str) -> _Reaction:
        material, identified = constituent.material, constituent.identified
        sensitivity = self.catalogue.sensitivity(material, agent, self.damage_on[part])
        unidentified = identified == "unknown"
        if not unidentified and material in self.catalogue.uncertain_materials:
            kinds = of_all_kinds(self.catalogue, material, agent, self.damage_on[part])
            unidentified = not kinds.known
            sensitivity = kinds if kinds.known and not sensitivity.known else sensitivity
        return _Reaction(
            material,
            "unknown" if unidentified else identified,
            sensitivity,
            _state(sensitivity, unidentified=unidentified),
            *self._tested(part, constituent, agent),
        )

    def _tested(self, part: str, one: Constituent, agent: str) -> tuple[TestState, tuple[str, ...]]:
        """Return what the tests on this material of this part say of *agent*.

        A test made on the whole part counts for each material that it can test, and one made
        on a broader material (on dye, where the part holds madder) for all that it takes in; one
        made on a colour that is named by its look counts for that colour. A test that shows the
        agent directly outranks one that speaks of it by inference, and a bad result outranks an
        inconclusive one, which outranks a good one.
        """
        groups = set(self.catalogue.knowledge.broader(one.material))
        relevant = [
            (self.catalogue.tests[done.test], done)
            for done in self._tests_on.get(part, ())
            if (done.material is None or done.material in groups)
            and one.is_meant_by(done.colour)
            and self._can_test(done, groups)
        ]
        direct = [(t, d) for t, d in relevant if agent in t.tests_agent]
        inferred = [(t, d) for t, d in relevant if agent in (t.clears | t.bars)]
        for rows in (direct, inferred):
            said = [(done.test, _says(test, done, agent)) for test, done in rows]
            state = TestState.worst_of([says for _, says in said])
            if state is not TestState.UNTESTED:  # a trial of another agent gave no state
                gave = (test for test, says in said if says is not TestState.UNTESTED)
                return state, tuple(dict.fromkeys(gave))
        return TestState.UNTESTED, ()

    def _can_test(self, done: TestDone, groups: set[str]) -> bool:
        return done.material is not None or self.catalogue.tests[done.test].fits(groups)


def _says(test: Test, done: TestDone, agent: str) -> TestState:
    if done.result == "not-judged":
        return TestState.UNTESTED  # it identified or measured something
    if done.agent not in (None, agent):
        return TestState.UNTESTED  # a trial of one agent says nothing of another
    if done.agent is None and test.one_agent_at_a_time:
        return TestState.UNTESTED
    result = TestState(done.result)
    if result is TestState.GOOD and agent not in test.clears:
        return TestState.UNTESTED
    if result is TestState.BAD and agent not in test.bars:
        return TestState.UNTESTED
    return result


def _state(sensitivity: Sensitivity, *, unidentified: bool) -> HarmState:
    if unidentified or not sensitivity.known:
        return HarmState.UNKNOWN
    return HarmState.CONTESTED if sensitivity.contested else HarmState.KNOWN
