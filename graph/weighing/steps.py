"""The steps of weighing one case, each result made once."""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import cached_property

from leastwise.graph.answer import Computed
from leastwise.graph.case.record import Case
from leastwise.graph.knowledge.concepts import Catalogue
from leastwise.graph.knowledge.rules import RuleBook
from leastwise.graph.weighing.argument import ArgumentGraph, argue
from leastwise.graph.weighing.candidates import Candidate, find_candidates
from leastwise.graph.weighing.courses import Course, Courses, find_courses
from leastwise.graph.weighing.explain import Explainer
from leastwise.graph.weighing.findings import CaseData, Finding
from leastwise.graph.weighing.ranking import Policy, Score, score
from leastwise.graph.weighing.setting import Setting
from leastwise.graph.weighing.settle import Settler

__all__ = ["Steps"]


@dataclass(frozen=True)
class Steps:
    """The steps for one case; *only* is a damage or an option to look at alone, "" for all."""

    case: Case
    catalogue: Catalogue
    rules: RuleBook
    policy: Policy
    only: str = ""

    def of(self, only: str) -> Steps:
        """Return the steps for a damage or an option alone, taken from those of the whole case."""
        part = Steps(self.case, self.catalogue, self.rules, self.policy, only)
        shared = ("setting", "computed", "_courses", "scores", "data")
        part.__dict__.update({name: getattr(self, name) for name in shared})
        return part

    @cached_property
    def candidates(self) -> tuple[Candidate, ...]:
        """Return the options as courses: each technique with the acts that make it possible."""
        return tuple(self.courses[one.id].candidate for one in self._plain)

    @cached_property
    def _plain(self) -> tuple[Candidate, ...]:
        found = find_candidates(self.case, self.catalogue)
        return tuple(c for c in found if self.only in ("", c.id, c.damage.id))

    @cached_property
    def setting(self) -> Setting:
        """Return the case as it was recorded, with what reads it."""
        doses = {
            key: {part: decided.dose for part, decided in found.items()}
            for key, found in self.computed.items()
        }
        return Setting(self.case, self.catalogue, doses)

    @cached_property
    def computed(self) -> dict[tuple[str, str], dict[str, Computed]]:
        """Return the doses on neighbours of planned packs: (damage, technique) -> part -> dose."""
        if not self.case.packs:
            return {}
        from leastwise.graph.setups.dose import (  # noqa: PLC0415 - the solver is slow to load
            computed_doses,
        )

        return computed_doses(self.case.packs, self.catalogue.knowledge)

    @cached_property
    def _courses(self) -> Courses:
        return find_courses(self.setting, self._plain, self.rules)

    @property
    def courses(self) -> dict[str, Course]:
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
    def scores(self) -> dict[str, Score]:
        """Return burden and benefit by option."""
        return {c.id: self._score(self.courses[c.id]) for c in self.candidates}

    def _score(self, course: Course) -> Score:
        one = score(course.candidate, course.exposures, self.case, self.catalogue, self.policy)
        return replace(one, waiting=self.policy.waiting(course.open_points))

    def argue(self, c: Candidate) -> ArgumentGraph:
        """Return the arguments on an option, with their labels and so its verdict."""
        return argue(c.technique.label, self.findings.get(c.id, ()), self.courses[c.id].exposures)
