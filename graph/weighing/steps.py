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
    Answering,
    Candidate,
    SetAside,
    answering,
    find_candidates,
    find_set_aside,
    read_candidates,
)
from leastwise.graph.weighing.conditions import About
from leastwise.graph.weighing.courses import Course, Courses, Start, find_courses, find_courses_of
from leastwise.graph.weighing.explain import Explainer
from leastwise.graph.weighing.findings import CaseData, Finding
from leastwise.graph.weighing.further_tests import FurtherTests
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
    *base* is the same case without its further tests, which touch no option but *touched*.
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
    base: Steps | None = field(default=None, repr=False)
    touched: frozenset[OptionId] = frozenset()

    def of(self, only: str) -> Steps:
        """Return the steps for a damage or an option alone, taken from those of the whole case."""
        return replace(
            self, only=only, start=self.setting, options=None, found=self._courses, base=None
        )

    def with_courses(self, found: Courses) -> Steps:
        """Return the same steps with the courses of their options, which were found in a batch."""
        return replace(
            self, start=self.setting, doses=self.computed, options=self.plain, found=found
        )

    def over(self, base: Steps) -> Steps:
        """Return the same steps with all that further tests leave as it is taken from *base*.

        They are the same if there is more that is different.
        """
        readers = base.further_tests
        touched = readers.touched(self.case) if readers is not None else None
        if touched is None or self.policy != base.policy:
            return self
        return replace(self, base=base, touched=touched)

    @cached_property
    def further_tests(self) -> FurtherTests | None:
        """Return what tells which options a further test touches; None if rules don't tell."""
        rules = self.rules.reads_tests
        if rules is None:
            return None
        tried, reader = self._courses.trail.tried, self.setting.reader
        return FurtherTests(self.case, self.catalogue, reader, self._rows, tried, rules)

    @cached_property
    def _rows(self) -> tuple[Answering, ...]:
        """Return every technique with a claim on a problem, of those that are looked at."""
        rows = answering(self.case, self.catalogue, self.setting.reader)
        return tuple(row for row in rows if not self.only or self._is_wanted(row.option))

    def _over_base(self, base: Steps) -> Iterator[Candidate]:
        """Yield the options in their order, those that nothing touches as they are in the base."""
        rows = [row for row in base._rows if row.option in self.touched]
        fresh = {c.id: c for c in read_candidates(rows, self.case, self.setting.reader)}
        kept = base._plain_by_id
        for row in base._rows:
            mine = fresh if row.option in self.touched else kept
            if row.option in mine:
                yield mine[row.option]

    @property
    def to_weigh(self) -> Start:
        """Return what has to be weighed, with what is known of the rest."""
        if self.base is None:
            return Start(self.setting, self.plain)
        kept = frozenset(c.id for c in self.plain) - self.touched
        return Start(self.setting, self.plain, kept, self.base._courses)

    @cached_property
    def candidates(self) -> tuple[Candidate, ...]:
        """Return the options as courses: each technique with the acts that make it possible."""
        return tuple(self.courses[one.id].candidate for one in self.plain)

    @cached_property
    def problems(self) -> tuple[DamageFound, ...]:
        """Return the damages and needs of the case."""
        if self.base is not None:
            return self.base.problems
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
        if self.base is not None:
            return tuple(self._over_base(self.base))
        reader = self.setting.reader
        if not self.only:
            return tuple(find_candidates(self.case, self.catalogue, reader))
        only = {self.only} if isinstance(self.only, str) else self.only
        of = frozenset(one.partition("/")[0] for one in only)
        found = find_candidates(self.case, self.catalogue, reader, self._is_wanted, of)
        return tuple(found)

    @cached_property
    def _plain_by_id(self) -> dict[OptionId, Candidate]:
        return {c.id: c for c in self.plain}

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
        return {c.id: self._score_of(c.id) for c in self.candidates}

    def _score_of(self, option: OptionId) -> Score:
        mine, base = self.courses[option], self.base
        if base is not None and mine is base.courses.get(option):
            return base.scores[option]
        return self._score(mine)

    @cached_property
    def _eased(self) -> dict[str, int]:
        """Problem -> the grades that conditions of the record take off its hindrance."""
        if self.base is not None:
            return self.base._eased
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
        waiting = self.policy.waiting(course.open_points)
        return score(c, course.exposures, self.case, self.catalogue, self.policy, eased, waiting)

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


def steps_of(  # noqa: PLR0913, PLR0917 - what variants are weighed by
    variants: Sequence[Variant],
    catalogue: Catalogue,
    rules: RuleBook,
    policy_of: Callable[[Case], Policy],
    shared: Shared | None = None,
    base: Case | None = None,
) -> Iterator[Steps]:
    """Yield the steps of several cases, or variants of one, weighed together for their verdicts.

    Verdicts and scores are what they are alone; nothing is put into words. The cases may share an
    id, to which a number is added. So many as are weighed together are held at one time. *shared*
    holds what was worked out for other variants of the case before. From *base*, the case of which
    they are variants, they take what they leave as it is; that pays where they are many.
    """
    shared = shared or Shared()
    maker = _Maker(catalogue, rules, policy_of, shared, base)
    largest = max((len(one.case.parts) for one in variants), default=1)
    many = max(1, min(MOST_TOGETHER, MOST_PARTS // max(largest, 1)))
    for first in range(0, len(variants), many):
        some = variants[first : first + many]
        batch = [maker.steps(one, number) for number, one in enumerate(some)]
        courses = find_courses_of([one.to_weigh for one in batch], rules)
        for one, mine in zip(batch, courses, strict=True):
            yield one.with_courses(mine)  # what it would find alone


@dataclass(frozen=True)
class _Maker:
    """Makes the steps of variants of a case, with all that they share."""

    catalogue: Catalogue
    rules: RuleBook
    policy_of: Callable[[Case], Policy]
    shared: Shared
    base: Case | None

    def steps(self, variant: Variant, number: int) -> Steps:
        """Return the steps of one variant, over those of the base if there is one."""
        made = self._anew(variant, f"-{number}")
        return made if self.base is None else made.over(self._base(self.base, variant.only))

    def _anew(self, variant: Variant, named: str) -> Steps:
        told = as_tested(variant.case, self.catalogue.knowledge).case
        return Steps(
            told.model_copy(update={"id": f"{variant.case.id}{named}"}),
            self.catalogue,
            self.rules,
            self.policy_of(variant.case),
            variant.only or "",
            in_words=False,
            shared=self.shared,
        )

    def _base(self, case: Case, only: frozenset[str]) -> Steps:
        """Return the steps of the base, made once for all variants that share."""
        key = ("base", self.shared.mark([case]), only)
        return self.shared.made(key, lambda: self._anew(Variant(case, only), ""))
