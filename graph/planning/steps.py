"""Chosen options as steps in order, and what is left undone."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from functools import cached_property
from itertools import chain
from typing import TypeVar

import networkx as nx

from leastwise.graph.answer import (
    Answer,
    DamageAnswer,
    MendView,
    OptionAnswer,
    Reason,
)
from leastwise.graph.case.record import Case
from leastwise.graph.display.worked import bench_rows
from leastwise.graph.knowledge.knowledge import Knowledge
from leastwise.graph.meanings import BLOCKING, RuleEffect, Verdict
from leastwise.graph.planning.choose import Choice
from leastwise.graph.planning.clock import physics_of, ticks, untimed
from leastwise.graph.planning.journey import Housing
from leastwise.graph.planning.pieces import Chosen, hours_basis, new_shares, parts_of
from leastwise.graph.planning.precedence import OrderBook, share_parts
from leastwise.graph.planning.provisions import Provisions
from leastwise.graph.planning.tried_first import tried_first
from leastwise.graph.planning.values import (
    Barred,
    LeftUndone,
    Material,
    OpenPoint,
    OrderReason,
    Section,
    Step,
    StepTime,
    TriedFirst,
)
from leastwise.graph.sentences import hindering, is_plural, problem, sentence_case
from leastwise.graph.weighing.headline import needed_together
from leastwise.graph.weighing.said_once import PEOPLE
from leastwise.graph.weighing.settling import in_lines, settled_by

__all__ = ["StepWriter", "in_order_of_work"]


MOST_BARRED = 3
LIGHT = "need:light-limited"
Work = TypeVar("Work")


@dataclass(frozen=True)
class StepWriter:
    """Writes the steps of a plan and what it leaves, from what was chosen."""

    case: Case
    knowledge: Knowledge
    book: OrderBook
    provisions: Provisions
    chosen: tuple[Chosen, ...]
    fallbacks: Mapping[str, str] = field(default_factory=dict)  # damage -> what may be done anyhow
    beside: Sequence[OptionAnswer] = ()  # all options of the case

    @cached_property
    def _works(self) -> list[list[Chosen]]:
        """Return the pieces of work in order; one treatment of several damages is one piece."""
        pieces: dict[str, list[Chosen]] = {}
        for one in self.chosen:
            if not one.option.is_baseline:
                pieces.setdefault(one.choice.technique, []).append(one)
        works = list(pieces.values())
        order = self.book.order_of(works, lambda w: w[0].choice.technique, parts_of)
        return in_order_of_work(works, order, lambda w: w[0].choice.family)

    def steps(self, because: Callable[[Choice], str]) -> list[Step]:
        """Return the steps, numbered from 1 in order of work."""
        first_of: dict[str, int] = {}
        steps = []
        for number, work in enumerate(self._works, 1):
            lead = first_of.setdefault(work[0].choice.family, number)
            steps.append(self._step(number, work, lead, because))
        return steps

    def _step(
        self, number: int, work: list[Chosen], lead: int, because: Callable[[Choice], str]
    ) -> Step:
        option, choice = work[0].option, work[0].choice
        reasons = dict.fromkeys(because(one.choice) for one in work)
        claims = [c for one in work for c in _claims(one.option.reasons)]
        times, worked = self._times(work), self._worked(work)
        return Step(
            number=number,
            options=tuple(one.choice.id for one in work),
            technique=choice.technique,
            label=option.label,
            damages=tuple(one.choice.damage for one in work),
            verdict=_verdict(work),
            because=" ".join(reasons),
            burden=max(one.option.burden for one in work),
            hours=tuple(self._hours(work, has_set_up=lead == number)),
            hours_basis=hours_basis(work, self.knowledge.label),
            shares_set_up_with=0 if lead == number else lead,
            sections=tuple(_sections(work)),
            acts=tuple({(a.technique, *a.where): a for o in work for a in o.option.acts}.values()),
            waits_for=tuple(self._waits_for(work)),
            otherwise=tuple(self._otherwise(work)),
            set_up=option.set_up,
            equipment=option.equipment,
            materials=tuple(m for one in work for m in self._materials(one)),
            times=tuple(times),
            worked=tuple(worked),
            limits=tuple(self._limits(work)),
            monitoring=untimed(option.monitoring) if times else option.monitoring,
            stop_sign=option.stop_sign,
            take_care=tuple(_cautions(work)),
            after=tuple(self._after(number, work)),
            claims=tuple(sorted({*claims, *_claims_found(work), *_claims_of([*times, *worked])})),
            tried_first=tuple(filter(None, map(self._tried_first, work))),
        )

    def _worked(self, work: list[Chosen]) -> list[StepTime]:
        """Return what is worked out for a mount or a support, each line once."""
        found: dict[tuple[str, str], StepTime] = {}
        for one in work:
            has = any(m.amount for m in self._materials(one))
            rows = bench_rows(
                self.case,
                self.provisions.catalogue,
                one.choice.technique,
                one.candidate.parts,
                None if has else one.candidate.damage,
            )
            for row in rows:
                line = StepTime(row.what, row.value, row.basis, "", tuple(row.claims))
                found.setdefault((row.what, row.value), line)
        return list(found.values())

    def _materials(self, one: Chosen) -> list[Material]:
        """Return what a chosen option uses, with amounts where sizes are recorded."""
        asked = (one.choice.technique, one.candidate.damage, one.candidate.sized)
        return self.provisions.materials(*asked)

    def _times(self, work: list[Chosen]) -> list[StepTime]:
        """Return the times of a piece of work, computed where one of its packs is planned."""
        technique = work[0].choice.technique
        damages = {one.choice.damage for one in work}
        packs = (p for p in self.case.packs if p.technique == technique and p.damage in damages)
        pack = next(packs, None)
        physics = physics_of(pack, self.knowledge) if pack is not None else None
        return [
            StepTime(t.what, t.value, t.basis, t.remark, tuple(t.claims))
            for t in ticks(self.knowledge, technique, physics)
        ]

    def _limits(self, work: list[Chosen]) -> list[str]:
        """Return the light that a step keeps, with its days, where it answers that need."""
        kinds = {up for one in work for up in self.knowledge.broader(one.candidate.damage.damage)}
        if LIGHT not in kinds:
            return []
        return [one.in_words for one in self.provisions.light_limits(self.case)]

    def _hours(self, work: list[Chosen], *, has_set_up: bool) -> list[float]:
        """Return the hours of a piece of work; the first of a family carries its set-up."""
        family = work[0].choice.family
        kin = [c.choice for c in self.chosen if c.choice.family == family]
        ends = []
        for end in (0, 1):
            worked = sum(
                (one.choice.hours[end] - one.choice.set_up[end]) * share
                for one, share in zip(work, new_shares(work), strict=True)
            )
            ends.append(worked + (max(c.set_up[end] for c in kin) if has_set_up else 0))
        return [round(end) / 100 for end in ends]

    def treated_twice(self) -> tuple[int, int]:
        """Return the hours, in hundredths, that are not spent since parts are treated once."""
        saved = [0.0, 0.0]
        for work in self._works:
            for one, share in zip(work, new_shares(work), strict=True):
                for end in (0, 1):
                    worked = one.choice.hours[end] - one.choice.set_up[end]
                    saved[end] += worked * (1 - share)
        return round(saved[0]), round(saved[1])

    def _tried_first(self, one: Chosen) -> TriedFirst | None:
        return tried_first(one.option, self.beside, self.book)

    def _waits_for(self, work: Sequence[Chosen]) -> list[str]:
        """Return what would settle each open point of a piece of work, one thing a point."""
        waiting = (one.option for one in work if one.choice.undecided)
        groups = chain.from_iterable(map(needed_together, waiting))
        return list(dict.fromkeys(words for group in groups for words in self._remedies(group)))

    def _otherwise(self, work: list[Chosen]) -> list[str]:
        """Return for each damage whose option waits what is left if it comes out badly."""
        return [
            f"{one.choice.damage}: {self.fallbacks.get(one.choice.damage, 'leave it alone')}"
            for one in work
            if one.choice.undecided
        ]

    def _after(self, number: int, work: list[Chosen]) -> Iterable[OrderReason]:
        mine = work[0].choice.technique
        for earlier, other in enumerate(self._works[: number - 1], 1):
            theirs = other[0].choice.technique
            if not share_parts(parts_of(work), parts_of(other)):
                continue
            for e in self.book.must_precede(theirs, mine):
                yield OrderReason(earlier, e.because, "", tuple(e.rests_on), e.id)
            for c in self.book.waits(mine, theirs):
                yield OrderReason(earlier, c.because, "", tuple(c.rests_on), c.id)
            for c in self.book.waits(theirs, mine):
                yield OrderReason(earlier, c.because, c.unless, tuple(c.rests_on), c.id)

    def housing_step(self, housing: Housing, number: int) -> Step:
        """Return a last step: what carries the object on the way, or on show in another way."""
        o = housing.option
        return Step(
            number=number,
            options=(o.id,),
            technique=o.technique,
            label=o.label,
            damages=() if housing.for_the_way else tuple(housing.damages),
            verdict=Verdict.UNDECIDED if housing.waits_for else o.verdict,
            because=housing.because,
            burden=o.burden,
            hours=o.hours,
            hours_basis=o.hours_basis,
            shares_set_up_with=0,
            sections=(),
            acts=(),
            waits_for=tuple(housing.waits_for),
            otherwise=(),
            set_up=o.set_up,
            equipment=o.equipment,
            materials=(),
            times=(),
            worked=(),
            limits=(),
            monitoring=o.monitoring,
            stop_sign=o.stop_sign,
            take_care=tuple(f.message for f in o.findings if f.effect == RuleEffect.CAUTIONS),
            after=(),
            claims=tuple(sorted({*_claims(o.reasons), *(c for f in o.findings for c in f.claims)})),
        )

    def open_points(self) -> list[OpenPoint]:
        """Return what has to be settled before undecided options of the plan begin."""
        return [
            OpenPoint(one.choice.id, f.message, tuple(things), f.claims, how)
            for one in self.chosen
            if one.choice.undecided
            for f in one.option.findings
            if f.effect == RuleEffect.LEAVES_UNDECIDED
            for how, things in [settled_by(f.mends, self._remedies)]
        ]

    def _remedies(self, mends: Sequence[MendView]) -> list[str]:
        """Return what would settle a point, a test on several parts in one line."""
        names = {part.id: part.name for part in self.case.parts}
        return in_lines(mends, names, self.knowledge.label)

    def left_undone(
        self,
        answer: Answer,
        why_barred: Callable[[OptionAnswer, Choice | None], str],
    ) -> list[LeftUndone]:
        """Return the damages that are left alone or answered in part, in order of the record."""
        by_damage = {one.choice.damage: one for one in self.chosen}
        left = []
        for damage in answer.damages:
            one = by_damage.get(damage.id)
            if one is None or one.option.is_baseline or one.choice.shortfall:
                left.append(self._left(damage, one, why_barred))
        return left

    def _left(
        self,
        damage: DamageAnswer,
        one: Chosen | None,
        why_barred: Callable[[OptionAnswer, Choice | None], str],
    ) -> LeftUndone:
        baseline = next(o for o in damage.options if o.is_baseline)
        option = one.option if one else baseline
        meets = option.meets_aim
        helpful = [o for o in damage.options if o.residual < option.residual] if not meets else []
        helpful.sort(key=lambda o: (not o.meets_aim, o.rank))
        return LeftUndone(
            damage=damage.id,
            label=damage.label,
            parts=damage.parts,
            option=option.id if one else "",
            done=one is not None and not option.is_baseline,
            meets_aim=meets,
            because=self._because(damage, option, planned=one is not None),
            hours=tuple(self._hours([one], has_set_up=self._leads(one)))
            if one and option.is_baseline
            else (0.0, 0.0),
            watch=baseline.monitoring,
            stop_sign=baseline.stop_sign,
            barred=tuple(
                Barred(
                    o.id, o.label, o.verdict, why_barred(o, one.choice if one else None),
                    tuple([c for f in o.findings if f.effect in BLOCKING for c in f.claims][:6]),
                )
                for o in helpful[:MOST_BARRED]
            ),
        )  # fmt: skip

    def _leads(self, one: Chosen) -> bool:
        """Return whether this is the first of its family, which carries the set-up."""
        return next(c for c in self.chosen if c.choice.family == one.choice.family) is one

    def _because(self, damage: DamageAnswer, option: OptionAnswer, *, planned: bool) -> str:
        aim = self.case.aim.purpose
        need = damage.kind == "need"
        plural, subject = is_plural(damage.label) and not need, problem(damage.label, need=need)
        hinders = hindering(aim, option.hindrance, plural=plural)
        if not planned:
            return f"Nothing may be planned for {subject}, not even leaving it alone."
        if option.is_baseline and option.meets_aim:
            return f"Untreated, {subject} {hinders}; the aim is met."
        if option.is_baseline:
            return (
                f"Left alone, although {subject} {hinders}: "
                "nothing that may be planned does better."
            )
        left = hindering(aim, option.residual, plural=plural)
        return f"{sentence_case(option.label)} helps in part; then {subject} still {left}."


def _claims_found(work: Sequence[Chosen]) -> Iterator[str]:
    return (c for one in work for f in one.option.findings for c in f.claims)


def _claims_of(times: Sequence[StepTime]) -> Iterable[str]:
    return (claim for one in times for claim in one.claims)


def _verdict(work: Sequence[Chosen]) -> Verdict:
    """Return undecided where one of several problems that are worked at once still waits."""
    waits = any(one.choice.undecided for one in work)
    return Verdict.UNDECIDED if waits else work[0].option.verdict


def _cautions(work: Sequence[Chosen]) -> list[str]:
    """Return what care the work asks for, each once; what people need stands at the head."""
    found = (f for one in work for f in one.option.findings if f.effect == RuleEffect.CAUTIONS)
    return list(dict.fromkeys(f.message for f in found if f.theme != PEOPLE))


def _sections(work: list[Chosen]) -> list[Section]:
    found = {
        tuple(view.parts): Section(view.parts, view.one_after_another, view.in_words)
        for one in work
        for view in one.option.work
    }
    return list(found.values())


def _claims(reason: Reason) -> Iterable[str]:
    yield from reason.claims
    for inner in reason.reasons:
        yield from _claims(inner)


def in_order_of_work(
    works: Sequence[Work], order: nx.DiGraph[int], family: Callable[[Work], str]
) -> list[Work]:
    """Return pieces of work so that each comes after all that must precede it.

    Where the order leaves a choice, work that shares a set-up stays together, and then the
    sequence given is kept.
    """
    waiting, done, last = set(range(len(works))), [], ""
    while waiting:
        ready = [i for i in sorted(waiting) if waiting.isdisjoint(order.predecessors(i))]
        chosen = next((i for i in ready if family(works[i]) == last), ready[0])
        waiting.remove(chosen)
        done.append(works[chosen])
        last = family(works[chosen])
    return done
