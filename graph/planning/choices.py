"""The options of a case as choices: which may be planned, what they cost, what shuts out what."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from functools import cached_property
from itertools import combinations

from leastwise.graph.answer import Answer, FindingView, OptionAnswer
from leastwise.graph.case.record import Case, Tri
from leastwise.graph.meanings import BLOCKING, Remedy, Verdict
from leastwise.graph.planning.choose import AIMS, Choice, Chooser, Limits, Selected
from leastwise.graph.planning.precedence import OrderBook, OrderError, order_book, share_parts
from leastwise.graph.planning.provisions import Provisions
from leastwise.graph.weighing.advise import Adviser
from leastwise.graph.weighing.candidates import Candidate, find_candidates
from leastwise.graph.weighing.conditions import ConditionReader
from leastwise.graph.weighing.tested import as_tested

__all__ = ["BURDEN_UNIT", "HOUR_UNIT", "Choices"]

BURDEN_UNIT, HOUR_UNIT = 10_000, 100
CONDITION_NOT_MET = "rule:condition-not-met"


@dataclass(frozen=True)
class Choices:
    """The options of one answered case, as the chooser takes them."""

    case: Case
    adviser: Adviser
    answer: Answer

    @cached_property
    def options(self) -> dict[str, OptionAnswer]:
        """Return the options by their names."""
        return {o.id: o for o in self.answer.options()}

    @cached_property
    def candidates(self) -> dict[str, Candidate]:
        """Return the candidates behind the options."""
        return {c.id: c for c in find_candidates(self.told, self.adviser.catalogue)}

    @cached_property
    def told(self) -> Case:
        """Return the case as it was weighed: as its name and its tests tell it."""
        return as_tested(self.case, self.adviser.knowledge).case

    @cached_property
    def book(self) -> OrderBook:
        """Return what the knowledge says of order and conflicts."""
        return order_book(self.adviser.knowledge)

    @cached_property
    def provisions(self) -> Provisions:
        """Return what the knowledge says of set-ups, materials and limits to use."""
        return Provisions(self.adviser.catalogue)

    @cached_property
    def reader(self) -> ConditionReader:
        """Return the reader of conditions and means."""
        return ConditionReader(self.told, self.adviser.catalogue)

    def chooser(self, *, undecided: bool) -> Chooser:
        """Return the chooser over what may be planned: accepted but for the means, or undecided."""
        choices = tuple(
            self.choice(o)
            for o in self.options.values()
            if o.verdict == Verdict.ACCEPTED
            or self._only_means(o)
            or (undecided and o.verdict == Verdict.UNDECIDED)
        )
        return Chooser(choices, tuple(self._clashes(choices)))

    def _clashes(self, choices: tuple[Choice, ...]) -> Iterator[tuple[str, str]]:
        """Yield the pairs of choices that the same parts can't both have."""
        techniques = sorted({c.technique for c in choices})
        exclusive = {p for p in combinations(techniques, 2) if self.book.exclusive(*p)}
        if not exclusive:
            return
        for a, b in combinations(choices, 2):
            pair = (min(a.technique, b.technique), max(a.technique, b.technique))
            if a.damage != b.damage and pair in exclusive and self.touch(a, b):
                yield a.id, b.id

    def touch(self, a: Choice, b: Choice) -> bool:
        """Return whether two choices work on a part in common."""
        parts_a, parts_b = (() if c.whole else self.candidates[c.id].parts for c in (a, b))
        return share_parts(parts_a, parts_b)

    def choice(self, o: OptionAnswer) -> Choice:
        """Return an option as the chooser counts it."""
        technique = self.adviser.catalogue.techniques[o.technique]
        family = self.provisions.family_of(technique)
        whole = technique.hours_per == "object"
        hours = (round(o.hours[0] * HOUR_UNIT), round(o.hours[1] * HOUR_UNIT))
        return Choice(
            id=o.id,
            damage=self.candidates[o.id].damage.id,
            technique=o.technique,
            shortfall=self.shortfall(o),
            benefit=o.hindrance - o.residual,
            burden=round(o.burden * BURDEN_UNIT),
            hours=hours,
            set_up=hours
            if whole
            else (
                round(technique.set_up_hours[0] * HOUR_UNIT),
                round(technique.set_up_hours[1] * HOUR_UNIT),
            ),
            family=family,
            whole=whole,
            undecided=o.verdict == Verdict.UNDECIDED and not self._only_means(o),
            rank=o.rank,
            skill=o.skill,
            lacks=tuple(self._lacks(o)),
        )

    def shortfall(self, o: OptionAnswer) -> int:
        """Return the grades of hindrance that stay above what the policy allows.

        What does not meet the aim falls short by one at the least.
        """
        return 0 if o.meets_aim else max(1, o.residual - self.answer.policy.residual_allowed)

    def _lacks(self, o: OptionAnswer) -> list[str]:
        """Return the equipment that an option needs and the record says is not at hand."""
        k, technique = self.adviser.knowledge, self.candidates[o.id].technique
        keys = [*technique.equipment_keys]
        keys += [k.text(c, "lw:equipmentKey") for c in technique.requires]
        return [
            key for key in dict.fromkeys(keys) if key and self.reader.has_equipment(key) is Tri.NO
        ]

    def _only_means(self, o: OptionAnswer) -> bool:
        """Return whether nothing but the means at hand keeps an option from being accepted."""
        blocking = [f for f in o.findings if f.effect in BLOCKING]
        return bool(blocking) and all(self._is_means(f, o) for f in blocking)

    def _is_means(self, finding: FindingView, o: OptionAnswer) -> bool:
        if finding.rule == CONDITION_NOT_MET:
            candidate = self.candidates[o.id]
            unmet = [
                c for c in candidate.technique.requires if self.reader.state(c, candidate) is Tri.NO
            ]
            return all(self.adviser.knowledge.texts(c, "lw:equipmentKey") for c in unmet)
        return bool(finding.mends) and all(m.kind == Remedy.MEANS for m in finding.mends)

    def best(
        self, chooser: Chooser, limits: Limits, aims: tuple[str, ...] = AIMS
    ) -> Selected | None:
        """Return the best choice that can also be put in order.

        What could only be done each before the other is shut out one circle at a time.
        """
        while True:
            best = chooser.best(limits, aims)
            circle = self._circle(best) if best is not None else None
            if circle is None:
                return best
            chooser = replace(chooser, excluding=(*chooser.excluding, circle))

    def _circle(self, selected: Selected) -> tuple[str, ...] | None:
        """Return the choices whose order goes round in a circle because of conflicts."""
        works = [c for c in selected.chosen if not self.options[c.id].is_baseline]
        try:
            self.book.order_of(
                works,
                lambda c: c.technique,
                lambda c: () if c.whole else self.candidates[c.id].parts,
            )
        except OrderError as error:
            if not set(error.entries) & {c.id for c in self.book.conflicts}:
                raise
            return tuple(works[i].id for i in error.members)
        return None
