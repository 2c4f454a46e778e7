"""From a case to a plan: one option for each damage, chosen together and put in order.

The choice minimises, in this order, what still hinders the aim, undecided options (where they
are allowed at all), burden, and hours; within the means at hand and without techniques that rule
each other out. Where the means stop the aim from being met, the plan names the limit that binds.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from functools import cached_property

from leastwise.graph.answer import Answer, DamageAnswer, FindingView, OptionAnswer, TestAdvice
from leastwise.graph.case.record import Case
from leastwise.graph.knowledge.cite import cite
from leastwise.graph.knowledge.knowledge import Knowledge
from leastwise.graph.meanings import Verdict
from leastwise.graph.planning.binding import SKILL, SKILL_WORD, Loosened
from leastwise.graph.planning.choices import BURDEN_UNIT, HOUR_UNIT, Choices
from leastwise.graph.planning.choose import Choice, Chooser, Limits, Selected, total
from leastwise.graph.planning.journey import Housing, housing_for_the_way, travels
from leastwise.graph.planning.pieces import Chosen
from leastwise.graph.planning.projects import beside_projects
from leastwise.graph.planning.shown import other_mount, uncarried
from leastwise.graph.planning.steps import StepWriter
from leastwise.graph.planning.values import (
    Binding,
    FrontierPoint,
    LeftUndone,
    MeansView,
    Plan,
    ProjectHours,
)
from leastwise.graph.sentences import hours_at_most
from leastwise.graph.weighing.advise import Adviser
from leastwise.graph.weighing.candidates import BASELINE
from leastwise.graph.weighing.headline import needed_tests
from leastwise.graph.weighing.said_once import protecting

__all__ = ["make_plan"]

PACKED = "need:packed"


def make_plan(
    case: Case, adviser: Adviser, *, undecided: bool = True, answer: Answer | None = None
) -> Plan:
    """Return the plan for a case: least burden that meets the aim, within the means.

    Args:
        case: read with :func:`leastwise.graph.read_case`.
        adviser: knowledge and rules.
        undecided: whether what still waits for a test may be planned where nothing accepted meets
            the aim; it is marked, with what settles it and what is left otherwise.
        answer: what this adviser says of this case, if it is at hand; else it is worked out.

    Raises:
        OrderError: the precedences of the knowledge go round in a circle among what was chosen.

    """
    return _Planning(case, adviser, undecided, answer).plan()


@dataclass(frozen=True)
class _Planning:
    """The steps of planning for one case; each result is made once."""

    case: Case
    adviser: Adviser
    undecided: bool
    given: Answer | None = None

    @cached_property
    def answer(self) -> Answer:
        return self.given or self.adviser.weigh(self.case)

    @cached_property
    def choices(self) -> Choices:
        return Choices(self.case, self.adviser, self.answer)

    @property
    def options(self) -> dict[str, OptionAnswer]:
        return self.choices.options

    @cached_property
    def chooser(self) -> Chooser:
        return self.choices.chooser(undecided=self.undecided)

    @cached_property
    def limits(self) -> Limits:
        """Return the means as limits; what is not recorded limits nothing, and is said so."""
        hours = self.case.means.hours
        way = self.housing.option.hours[1] if self.housing else 0.0
        return Limits(
            None if isinstance(hours, str) else max(0, round((hours - way) * HOUR_UNIT)),
            SKILL.get(self.case.means.skill),
        )

    @cached_property
    def housing(self) -> Housing | None:
        """Return what carries the object on the way; its hours come off those at hand."""
        if self._packs or not travels(self.case):
            return None
        return housing_for_the_way(self.case, self.adviser)

    @cached_property
    def _carriers(self) -> list[Housing]:
        """Return what carries the object besides the options: another mount, then the housing."""
        if self.selected is None:
            return []
        found = [self._other_mount, self.housing]
        return [one for one in found if one is not None]

    @cached_property
    def _other_mount(self) -> Housing | None:
        """Return a mount for another way of showing, where nothing could carry it the aim's way.

        It waits for agreement: a plan of accepted options alone has none. It fits the means.
        """
        if not self.undecided or self.selected is None:
            return None
        could = {c.damage for c in self.chooser.choices if not c.shortfall}
        need = uncarried(self.case, self.adviser, self.answer, could)
        mount = other_mount(self.case, self.adviser, need) if need else None
        return mount if mount is not None and self._fits(mount.option) else None

    @cached_property
    def _in_question(self) -> Answer:
        """Return the answer without the needs that end where another way of showing is planned."""
        ends = self._other_mount.ends if self._other_mount else frozenset[str]()
        kept = [d for d in self.answer.damages if d.id not in ends]
        return replace(self.answer, damages=tuple(kept))

    def _as_shown(self, selected: Selected) -> Selected:
        """Return what was chosen, without what only the way of showing that is given up needs."""
        if self._other_mount is None or not self._other_mount.ends:
            return selected
        return total(c for c in selected.chosen if c.damage not in self._other_mount.ends)

    def _fits(self, option: OptionAnswer) -> bool:
        """Return whether an option fits what the plan leaves of the hours, and the skill."""
        used, lim = self.selected.hours[1] if self.selected else 0, self.limits
        fits = lim.hours is None or used + option.hours[1] * HOUR_UNIT <= lim.hours
        return fits and (lim.skill is None or option.skill <= lim.skill)

    @cached_property
    def _packs(self) -> bool:
        """Return whether packing is a need of its own, so that the plan answers it anyway."""
        return any(d.damage == PACKED for d in self.answer.damages)

    @cached_property
    def selected(self) -> Selected | None:
        return self.choices.best(self.chooser, self.limits)

    @cached_property
    def stranded(self) -> list[DamageAnswer]:
        """Return the damages for which not even leaving them alone may be planned."""
        open_ones = {c.damage for c in self.chooser.choices}
        return [d for d in self.answer.damages if d.id not in open_ones]

    def plan(self) -> Plan:
        """Return the plan, whole."""
        selected = self._as_shown(self.selected or total(()))
        writer = self._writer(selected)
        steps = writer.steps(self._because)
        for carrier in self._carriers:
            steps.append(writer.housing_step(carrier, len(steps) + 1))
        stranded = sum(self.choices.shortfall(d.options[0]) for d in self.stranded)
        shortfall = selected.shortfall + stranded
        once, binding = writer.treated_twice(), list(self._loosened.bindings())
        hours = _hours(_less(selected.hours, once), *self._carriers)
        plan = Plan(
            case=self.answer.case,
            stamp=self.answer.stamp,
            policy=self.answer.policy,
            undecided_allowed=self.undecided,
            possible=self.selected is not None,
            meets_aim=self.selected is not None and shortfall == 0,
            in_words=self._in_words(selected, binding),
            people_first=tuple(self._people(selected)),
            record=self.answer.record,
            tests_first=tuple(self._tests_first(selected)),
            settle_first=tuple(writer.open_points()),
            steps=tuple(steps),
            left_undone=tuple(self._left_undone(writer, len(steps))),
            use_limits=tuple(self.choices.provisions.use_limits(self.case)),
            burden=selected.burden / BURDEN_UNIT + sum(c.option.burden for c in self._carriers),
            shortfall=shortfall,
            means=self._means,
            binding=tuple(binding),
            frontier=tuple(self._frontier()),
            hours=tuple(hours),
            hours_of_projects=self._beside_projects(selected, hours),
            hours_saved=tuple(_hours(_less(selected.saved, (-once[0], -once[1])))),
            claims={},
            sources={},
        )
        return _with_claims(plan, self.adviser.knowledge)

    def _beside_projects(self, selected: Selected, hours: Sequence[float]) -> ProjectHours | None:
        """Return how long the work may take by what published projects took."""
        if self.selected is None:
            return None
        times = [self.choices.candidates[c.id].time for c in selected.chosen]
        return beside_projects(self.adviser.knowledge, (hours[0], hours[1]), times)

    def _left_undone(self, writer: StepWriter, steps: int) -> Iterator[LeftUndone]:
        """Yield what is left undone; what is shown another way says so, with the last step's no."""
        mount = self._other_mount
        number = steps - (self.housing is not None)
        for one in writer.left_undone(self._in_question, self._why_barred):
            if mount is None or one.damage not in mount.damages:
                yield one
            else:
                label = mount.option.label
                words = f"Not as the aim says. Step {number} instead, if that is agreed: {label}."
                yield replace(one, because=words)

    def _writer(self, selected: Selected) -> StepWriter:
        return StepWriter(
            self.case,
            self.adviser.knowledge,
            self.choices.book,
            self.choices.provisions,
            tuple(
                Chosen(c, self.options[c.id], self.choices.candidates[c.id])
                for c in selected.chosen
            ),
            self._fallbacks,
            tuple(self.answer.options()),
        )

    @cached_property
    def _loosened(self) -> Loosened:
        return Loosened(self.choices, self.chooser, self.limits, self.selected, self.undecided)

    @property
    def _means(self) -> MeansView:
        means = self.case.means
        return MeansView(means.hours, means.skill, tuple(means.equipment))

    def _tests_first(self, selected: Selected) -> list[TestAdvice]:
        """Return the tests that the chosen options need, each with those options alone."""
        used = {c.id for c in selected.chosen}
        needed = {key for one in used for key in needed_tests(self.options[one])}
        return [
            replace(t, options=tuple(o for o in t.options if o in used))
            for t in self.answer.tests_first
            if used.intersection(t.options) and (t.test, t.part) in needed
        ]

    @cached_property
    def _fallbacks(self) -> dict[str, str]:
        """Return for each damage the first option that may be done whatever is found out.

        Where not even leaving it alone may be, as with wet cloth, a specialist is asked.
        """
        return {d.id: _left(d.options) for d in self.answer.damages}

    def _people(self, selected: Selected) -> list[FindingView]:
        """Return what protects people at the object and in the chosen work, gravest first."""
        chosen = [self.options[c.id] for c in selected.chosen]
        return protecting(self.answer.people_first, self.options.values(), chosen)

    def _because(self, c: Choice) -> str:
        """Return why this option was chosen for its damage, and not the one ahead of it alone."""
        mine = [x for x in self.chooser.choices if x.damage == c.damage]
        ahead = [x for x in mine if _alone(x) < _alone(c)]
        word = "undecided" if c.undecided else "accepted"
        if not ahead:
            meets = (
                "least burden that meets the aim"
                if not c.shortfall
                else "nothing that may be planned meets the aim; this leaves least in its way"
            )
            return f"First for this damage ({word}): {meets}."
        first = min(ahead, key=_alone)
        return f"{self.options[first.id].label} would come first alone, but {self._why(first, c)}."

    def _why(self, wanted: Choice, instead: Choice) -> str:
        """Return why *wanted* is not in the plan in place of *instead*."""
        assert self.selected is not None  # noqa: S101 - only asked of a plan that was found
        if wanted.lacks:
            return f"lacks equipment ({', '.join(wanted.lacks)})"
        if self.limits.skill is not None and wanted.skill > self.limits.skill:
            return f"needs a {SKILL_WORD[wanted.skill]}"
        others = [c for c in self.selected.chosen if c.id != instead.id]
        for other in others:
            for conflict in self.choices.book.exclusive(wanted.technique, other.technique):
                if self.choices.touch(wanted, other):
                    label = self.options[other.id].label
                    return f"can't be done together with {label}: {conflict.because.rstrip('.')}"
        hours = total([*others, wanted]).hours[1]
        if self.limits.hours is not None and hours > self.limits.hours:
            return (
                f"the plan would then take up to {hours_at_most(hours / HOUR_UNIT)} h of the "
                f"{self.limits.hours / HOUR_UNIT:g} h at hand"
            )
        return "together with the rest of the plan this asks less, since shared work counts once"

    def _why_barred(self, o: OptionAnswer, instead: Choice | None) -> str:
        known = next((c for c in self.chooser.choices if c.id == o.id), None)
        if known is not None and instead is not None and self.selected is not None:
            return self._why(known, instead)
        effect = o.verdict.decided_by
        grounds = [f.message for f in o.findings if f.effect == effect]
        return grounds[0].rstrip(".") if grounds else o.verdict_in_words.rstrip(".")

    def _frontier(self) -> Iterator[FrontierPoint]:
        for point in self.chooser.frontier(self.limits):
            yield FrontierPoint(
                tuple(_hours(point.hours, self.housing)),
                point.benefit,
                point.burden / BURDEN_UNIT,
                sum(c.shortfall == 0 for c in point.chosen),
                self.limits.hours is None or point.hours[1] <= self.limits.hours,
                tuple(c.id for c in point.chosen),
            )

    def _in_words(self, selected: Selected, binding: list[Binding]) -> str:
        if self.selected is None:
            least = self.chooser.best(replace(self.limits, hours=None), ("hours",))
            if least is None:
                return "No plan: nothing may be chosen with the skill and equipment at hand."
            return (
                f"No plan: even the least, recording and watching, takes up to "
                f"{hours_at_most(least.hours[1] / HOUR_UNIT)} h, and "
                f"{self.case.means.hours} h are at hand."
            )
        chosen, other = selected.chosen, self._other_mount
        ways = other.damages if other else ()
        left = sum(self.options[c.id].is_baseline and c.damage not in ways for c in chosen)
        answered = sum(not self.options[c.id].is_baseline for c in chosen)
        met = sum(c.shortfall == 0 for c in chosen)
        total_of = len(self._in_question.damages)
        words = (
            f"{total_of} damages: {answered} answered, {left} left alone; the aim is met for {met}."
        )
        waiting = sum(c.undecided and c.shortfall == 0 for c in chosen)
        if waiting:
            words += f" For {waiting} of them only if what it waits for comes out well."
        if self.stranded:
            names = ", ".join(d.id for d in self.stranded)
            words += f" For {names} nothing may be planned yet, not even leaving alone."
        if other is not None:
            words += f" Shown another way, if that is agreed: {other.option.label}."
        if travels(self.case) and not self._packs:
            way = self.housing.option.label if self.housing else "no housing is accepted yet"
            words += f" For the way: {way}."
        if binding:
            words += f" What limits it: {', '.join(b.limit for b in binding)}."
        return words


def _with_claims(plan: Plan, k: Knowledge) -> Plan:
    """Return a plan with the claims that it cites, and the sources that they come from."""
    cited = [
        *(c for s in plan.steps for c in [*s.claims, *(x for a in s.after for x in a.claims)]),
        *(c for s in plan.steps for m in s.materials for c in m.claims),
        *(c for f in [*plan.people_first, *plan.record] for c in f.claims),
        *(c for one in plan.use_limits for c in one.claims),
        *(c for one in plan.settle_first for c in one.claims),
        *(c for one in plan.left_undone for b in one.barred for c in b.claims),
    ]
    claims, sources = cite(k, cited)
    return replace(plan, claims=claims, sources=sources)


def _left(options: Sequence[OptionAnswer]) -> str:
    """Return what may be done of a damage whatever is found out."""
    barred = any(o.technique == BASELINE and o.verdict == Verdict.DEFEATED for o in options)
    nothing = "it may not be left either, so ask a specialist at once"
    accepted = (o.label for o in options if o.verdict == Verdict.ACCEPTED)
    return next(accepted, nothing if barred else "leave it alone")


def _alone(c: Choice) -> tuple[int, bool, int, int]:
    """Sorts as the chooser would if there were no other damage."""
    return (c.shortfall, c.undecided, c.burden, c.hours[1])


def _less(hours: tuple[int, int], other: tuple[int, int]) -> tuple[int, int]:
    return hours[0] - other[0], hours[1] - other[1]


def _hours(units: tuple[int, int], *carriers: Housing | None) -> list[float]:
    """Return hours of hundredths, with those of what carries the object besides added."""
    more = [one.option.hours for one in carriers if one is not None]
    ends = (units[end] / HOUR_UNIT + sum(hours[end] for hours in more) for end in (0, 1))
    return [round(end, 2) for end in ends]
