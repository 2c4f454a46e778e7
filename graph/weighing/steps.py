"""The steps of weighing one case, each result made once."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from functools import cached_property
from typing import NamedTuple

from leastwise.graph.answer import Computed
from leastwise.graph.case.record import Case, DamageFound, Tri
from leastwise.graph.ids import OptionId
from leastwise.graph.knowledge.concepts import Catalogue
from leastwise.graph.knowledge.rules import RuleBook
from leastwise.graph.meanings import Verdict
from leastwise.graph.weighing.argument import ArgumentGraph, argue
from leastwise.graph.weighing.candidates import (
    Candidate,
    SetAside,
    find_candidates,
    find_set_aside,
)
from leastwise.graph.weighing.conditions import About
from leastwise.graph.weighing.courses import Course, Courses, find_courses, find_courses_of
from leastwise.graph.weighing.explain import Explainer
from leastwise.graph.weighing.findings import CaseData, Finding
from leastwise.graph.weighing.needs import problems
from leastwise.graph.weighing.ranking import Policy, Score, score
from leastwise.graph.weighing.setting import Setting
from leastwise.graph.weighing.settle import Settler
from leastwise.graph.weighing.shared import Shared
from leastwise.graph.weighing.tested import Settled, as_tested

__all__ = ["ComputedDoses", "Steps", "Variant", "steps_of"]

#: The doses on neighbours of planned packs: (damage, technique) -> part -> dose.
ComputedDoses = Mapping[tuple[str, str], Mapping[str, Computed]]
#: So many cases are written into one set of columns at the most, and so many parts of them: all
#: are held in memory at one time.
MOST_TOGETHER, MOST_PARTS = 128, 1280


@dataclass(frozen=True)
class Steps:
    """The steps for one case.

    *only* is a damage or an option to look at alone, or several options, "" for all; *start*,
    *doses*, *options* and *found* are what is at hand already, from the whole case or from a batch.
    *case* holds what its
    tests found; *recorded* is the record as it was written, and *settled* what is different.
    """

    case: Case
    catalogue: Catalogue
    rules: RuleBook
    policy: Policy
    only: str | frozenset[str] = ""
    start: Setting | None = None
    doses: ComputedDoses | None = None
    options: tuple[Candidate, ...] | None = None
    found: Courses | None = None
    recorded: Case | None = None
    settled: tuple[Settled, ...] = ()
    in_words: bool = True  # else verdicts and scores are wanted and no sentences
    shared: Shared = field(default_factory=Shared, repr=False)

    def of(self, only: str) -> Steps:
        """Return the steps for a damage or an option alone, taken from those of the whole case."""
        return replace(self, only=only, start=self.setting, options=None, found=self._courses)

    def with_courses(self, found: Courses) -> Steps:
        """Return the same steps with the courses of their options, which were found in a batch."""
        return replace(
            self, start=self.setting, doses=self.computed, options=self.plain, found=found
        )

    @cached_property
    def candidates(self) -> tuple[Candidate, ...]:
        """Return the options as courses: each technique with the acts that make it possible."""
        return tuple(self.courses[one.id].candidate for one in self.plain)

    @cached_property
    def problems(self) -> tuple[DamageFound, ...]:
        """Return the damages and needs of the case."""
        return problems(self.case, self.catalogue, self.setting.reader)

    @cached_property
    def set_aside(self) -> tuple[SetAside, ...]:
        """Return the techniques that are no options, since a condition of their effect fails."""
        return tuple(find_set_aside(self.case, self.catalogue, self.setting.reader))

    @cached_property
    def plain(self) -> tuple[Candidate, ...]:
        """Return the options as they come, before any act is done for them."""
        if self.options is not None:
            return self.options
        reader = self.setting.reader
        if not self.only:
            return tuple(find_candidates(self.case, self.catalogue, reader))
        only = {self.only} if isinstance(self.only, str) else self.only
        of = frozenset(one.partition("/")[0] for one in only)
        found = find_candidates(self.case, self.catalogue, reader, self._is_wanted, of)
        return tuple(found)

    def _is_wanted(self, option: OptionId) -> bool:
        if isinstance(self.only, str):
            return self.only in (option, option.problem)
        return option in self.only

    @cached_property
    def setting(self) -> Setting:
        """Return the case as it was recorded, with what reads it."""
        if self.start is not None:
            return self.start
        doses = {
            key: {part: decided.dose for part, decided in found.items()}
            for key, found in self.computed.items()
        }
        return Setting(self.case, self.catalogue, doses, (), self.in_words, self.shared)

    @cached_property
    def computed(self) -> ComputedDoses:
        """Return the doses on neighbours of planned packs: (damage, technique) -> part -> dose."""
        if self.doses is not None:
            return self.doses
        if not self.case.packs:
            return {}
        from leastwise.graph.setups.dose import (  # noqa: PLC0415 - the solver is slow to load
            computed_doses,
        )

        return computed_doses(self.case.packs, self.catalogue.knowledge)

    @cached_property
    def _courses(self) -> Courses:
        if self.found is not None:
            return self.found
        return find_courses(self.setting, self.plain, self.rules)

    @property
    def courses(self) -> dict[OptionId, Course]:
        """Return the courses by option."""
        return self._courses.by_option

    @cached_property
    def data(self) -> CaseData:
        """Return the case with its options and what each reaches, in the setting of its course."""
        exposures = {c.id: self.courses[c.id].exposures for c in self.candidates}
        return CaseData(self.case, self.catalogue, self.candidates, exposures, self.setting.reader)

    @property
    def settler(self) -> Settler:
        """Return what names the tests and entries that would settle a finding."""
        return self.setting.settler

    @property
    def explainer(self) -> Explainer:
        """Return what puts findings and arguments into words, for the case as recorded."""
        return self.setting.explainer

    @cached_property
    def findings(self) -> dict[str, tuple[Finding, ...]]:
        """Return the findings by option; those on parts and on the record stand under ""."""
        mine = {c.id: self.courses[c.id].findings for c in self.candidates}
        return {"": self._courses.record} | {one: found for one, found in mine.items() if found}

    @cached_property
    def scores(self) -> dict[OptionId, Score]:
        """Return burden and benefit by option."""
        return {c.id: self._score(self.courses[c.id]) for c in self.candidates}

    @cached_property
    def _eased(self) -> dict[str, int]:
        """Problem -> the grades that conditions of the record take off its hindrance."""
        k, reader = self.catalogue.knowledge, self.setting.reader
        easing = [
            (k.object(one, "lw:easedIf") or "", int(k.number(one, "lw:byGrades") or 0))
            for one in k.instances("lw:Easing")
        ]
        return {
            p.id: max(
                (by for one, by in easing if reader.on_all(one, p.parts, About(p)) is Tri.YES),
                default=0,
            )
            for p in self.problems
        }

    def _score(self, course: Course) -> Score:
        c = course.candidate
        eased = self._eased.get(c.damage.id, 0)
        one = score(c, course.exposures, self.case, self.catalogue, self.policy, eased)
        return replace(one, waiting=self.policy.waiting(course.open_points))

    def argue(self, c: Candidate) -> ArgumentGraph:
        """Return the arguments on an option, with their labels and so its verdict."""
        return argue(c.technique.label, self.findings.get(c.id, ()), self.courses[c.id].exposures)

    def verdict(self, option: OptionId) -> Verdict:
        """Return the verdict of an option, without putting its arguments into words."""
        return self.courses[option].verdict


class Variant(NamedTuple):
    """A case to weigh beside others: *only* are the options to look at, all if none is named."""

    case: Case
    only: frozenset[str] = frozenset()


def steps_of(
    variants: Sequence[Variant],
    catalogue: Catalogue,
    rules: RuleBook,
    policy_of: Callable[[Case], Policy],
    shared: Shared | None = None,
) -> Iterator[Steps]:
    """Yield the steps of several cases, or variants of one, weighed together for their verdicts.

    Verdicts and scores are what they are alone; nothing is put into words. The cases may share an
    id, to which a number is added. So many as are weighed together are held at one time. *shared*
    holds what was worked out for other variants of the case before.
    """
    shared = shared or Shared()
    largest = max((len(one.case.parts) for one in variants), default=1)
    many = max(1, min(MOST_TOGETHER, MOST_PARTS // max(largest, 1)))
    for first in range(0, len(variants), many):
        some = variants[first : first + many]
        batch = [
            Steps(
                as_tested(one.case, catalogue.knowledge).case.model_copy(
                    update={"id": f"{one.case.id}-{number}"}
                ),
                catalogue,
                rules,
                policy_of(one.case),
                one.only or "",
                in_words=False,
                shared=shared,
            )
            for number, one in enumerate(some)
        ]
        courses = find_courses_of([(one.setting, one.plain) for one in batch], rules)
        for one, mine in zip(batch, courses, strict=True):
            yield one.with_courses(mine)  # what it would find alone
