"""What is proposed for each damage, why it and not the others, and the steps it makes.

The plan's choice stands unless the writer chose another option; why another was passed over is
worked out anew for every choice, so that the words always fit what is proposed.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from functools import cached_property

from leastwise.graph.answer import Answer, DamageAnswer, FindingView, OptionAnswer, TestAdvice
from leastwise.graph.case.record import Case
from leastwise.graph.errors import CaseError, Problem
from leastwise.graph.meanings import RuleEffect, Stance
from leastwise.graph.planning.choices import HOUR_UNIT, Choices
from leastwise.graph.planning.choose import Choice, total
from leastwise.graph.planning.journey import Housing, housing_for_the_way, travels
from leastwise.graph.planning.pieces import Chosen
from leastwise.graph.planning.precedence import OrderError
from leastwise.graph.planning.steps import StepWriter
from leastwise.graph.planning.values import Plan, Step
from leastwise.graph.proposal.report.values import ChosenOption, Line
from leastwise.graph.proposal.report.words import OwnWords
from leastwise.graph.sentences import hindering, listed, still_hindering
from leastwise.graph.weighing.advise import Adviser
from leastwise.graph.weighing.said_once import PEOPLE, protecting, said_once
from leastwise.graph.weighing.settling import each_needed

__all__ = ["Work", "sentence"]


def sentence(text: str) -> str:
    """Return a text with a capital at its start and a full stop at its end.

    >>> sentence("laid couching")
    'Laid couching.'
    """
    text = text.strip()
    return text[:1].upper() + text[1:] + ("" if text.endswith((".", "!", "?")) else ".")


@dataclass(frozen=True)
class Work:
    """What is proposed for one case; each result is made once."""

    case: Case
    adviser: Adviser
    answer: Answer
    plan: Plan
    words: OwnWords

    @cached_property
    def part_names(self) -> dict[str, str]:
        """Return the names of the parts by their ids."""
        return {part.id: part.name for part in self.case.parts}

    def names_of(self, parts: Iterable[str]) -> list[str]:
        """Return the names of parts; an id that names none stands for itself."""
        return [self.part_names.get(part, part) for part in parts]

    @cached_property
    def choices(self) -> Choices:
        """Return the options as the planning takes them."""
        return Choices(self.case, self.adviser, self.answer)

    @cached_property
    def planned(self) -> dict[str, str]:
        """Return damage -> the option that the plan chose for it."""
        chosen = {left.damage: left.option for left in self.plan.left_undone if left.option}
        for step in self.plan.steps:
            for option in step.options:
                chosen.setdefault(option.problem, option)
        known = self.choices.options
        return {damage: option for damage, option in chosen.items() if option in known}

    @cached_property
    def damages(self) -> tuple[DamageAnswer, ...]:
        """Return what is in question: not the needs that end where it is shown another way."""
        told = {d for s in self.plan.steps for d in s.damages}
        told |= {left.damage for left in self.plan.left_undone}
        return tuple(
            d
            for d in self.answer.damages
            if d.id in told or self.words.choice(d.id) in {o.id for o in d.options}
        )

    def another_way(self, damage: str) -> Step | None:
        """Return the step by which the object is shown another way than a need asks for."""
        mine = (s for s in self.steps if damage in s.damages)
        return next((s for s in mine if damage not in {o.problem for o in s.options}), None)

    @cached_property
    def options(self) -> dict[str, OptionAnswer | None]:
        """Return damage -> the option that is proposed for it, None where there is none."""
        found: dict[str, OptionAnswer | None] = {}
        for damage in self.damages:
            wanted = self.words.choice(damage.id)
            options: dict[str, OptionAnswer] = {o.id: o for o in damage.options}
            if wanted and wanted not in options:
                wanted = ""  # the record has changed since; the plan's choice stands again
            found[damage.id] = options.get(wanted or self.planned.get(damage.id, ""))
        return found

    def check(self) -> None:
        """Refuse a choice that names no option of its damage.

        Raises:
            CaseError: names each, and what is accepted.

        """
        by_damage = {d.id: [o.id for o in d.options] for d in self.answer.damages}
        wrong = []
        for key, value in self.words.texts.items():
            damage = key.partition(":")[2]
            if key.startswith(("choice:", "reason:")) and damage not in by_damage:
                accepted = f"a damage of the case ({', '.join(by_damage)})"
                wrong.append(Problem(f"words.{key}", repr(damage), accepted))
            elif key.startswith("choice:") and value and value not in by_damage[damage]:
                accepted = f"one of {', '.join(by_damage[damage])}"
                wrong.append(Problem(f"words.{key}", repr(value), accepted))
        if wrong:
            raise CaseError(wrong)

    @cached_property
    def proposed(self) -> list[OptionAnswer]:
        """Return the options that are proposed, in order of the damages."""
        return [o for o in self.options.values() if o is not None]

    @cached_property
    def chosen(self) -> tuple[ChosenOption, ...]:
        """Return the choice for each damage, in words."""
        return tuple(self._chosen(damage) for damage in self.damages)

    def _chosen(self, damage: DamageAnswer) -> ChosenOption:
        option, planned = self.options[damage.id], self.planned.get(damage.id, "")
        planned_label = self.choices.options[planned].label if planned else ""
        effect = option.verdict.decided_by if option else None
        against = [f for f in option.findings if f.effect == effect] if option else []
        return ChosenOption(
            damage.id,
            damage.label,
            option.id if option else "",
            option.label if option else "nothing yet",
            option.technique if option else "",
            option.verdict if option else "",
            planned,
            planned_label,
            self._because(damage, option),
            self.words.reason(damage.id),
            tuple(Line(sentence(f.message), tuple(f.claims)) for f in against),
            tuple(dict.fromkeys(f.rule for f in against)),
            self._dropped(damage),
            listed(self.names_of(damage.parts)),
        )

    def _dropped(self, damage: DamageAnswer) -> str:
        """Return an earlier choice that is none any more, since the record has changed."""
        wanted = self.words.choice(damage.id)
        return "" if wanted in ("", *(o.id for o in damage.options)) else wanted

    def _because(self, damage: DamageAnswer, option: OptionAnswer | None) -> Line:
        if option is None:
            return Line(
                f"Nothing may be planned yet for {damage.label}, not even leaving it alone; "
                "a choice has to be made here."
            )
        planned = self.planned.get(damage.id, "")
        if option.id != planned:
            first = self.choices.options[planned].label if planned else "nothing yet"
            return Line(f"Chosen by the writer of this proposal; the plan would choose: {first}.")
        step = next((s for s in self.plan.steps if option.id in s.options), None)
        left = next((x for x in self.plan.left_undone if x.damage == damage.id), None)
        words = [step.because] if step else []
        if left is not None:
            words.append(left.because)
        if not words:
            words = ["Least burden that meets the aim."]
        return Line(" ".join(sentence(w) for w in words), tuple(_for_claims(option)))

    # -- why not the others

    def passed_over(self, option: OptionAnswer, chosen: OptionAnswer | None) -> Line:
        """Return why an option is not the one proposed, with the claims behind it."""
        verdict = option.verdict.decided_by
        if verdict is not None:
            return self._barred(option, verdict)
        aim = self.case.aim.purpose
        left = still_hindering(aim, option.residual)
        if chosen is None:
            return Line(f"Accepted, and not in the plan; with it the damage would {left}.")
        if option.is_baseline and option.residual > chosen.residual:
            return Line(
                f"Untreated, the damage {hindering(aim, option.residual)}; with what is proposed "
                f"it {hindering(aim, chosen.residual)}.",
                tuple(_all_claims(option)),
            )
        if option.residual > chosen.residual:
            return Line(
                f"Helps less: the damage would {left}.",
                tuple(_for_claims(option)),
            )
        if option.burden > chosen.burden:
            helps = "more" if option.residual < chosen.residual else "no more"
            return Line(
                f"Helps {helps}, and burdens the object more ({option.burden:.2f} against "
                f"{chosen.burden:.2f}).",
                tuple(_for_claims(option)),
            )
        return self._as_good(option, chosen)

    def _as_good(self, option: OptionAnswer, chosen: OptionAnswer) -> Line:
        claims = tuple(_for_claims(option))
        lacks = self.choices.choice(option).lacks
        if lacks:
            return Line(f"Needs equipment that is not at hand: {', '.join(lacks)}.", claims)
        if option.residual < chosen.residual:
            return Line("Would help more; the writer chose otherwise, see the reason.", claims)
        if option.burden < chosen.burden:
            return Line("Burdens the object less and helps as much; see the reason.", claims)
        more = "longer" if option.hours[1] > chosen.hours[1] else "as long"
        return Line(
            f"Helps as much, burdens as much and takes {more}; one of the two is enough.",
            claims,
        )

    def _barred(self, option: OptionAnswer, effect: str) -> Line:
        against = [f for f in option.findings if f.effect == effect]
        claims = tuple(dict.fromkeys(c for f in against for c in f.claims))
        if not against:
            return Line(sentence(option.verdict_in_words), claims)
        more = f" And {_count(len(against) - 1)} more." if len(against) > 1 else ""
        words = f"{sentence(against[0].message)}{more}"
        if effect == RuleEffect.LEAVES_UNDECIDED:
            words += _settled(against)
        return Line(words, claims)

    # -- the steps

    @cached_property
    def _writer(self) -> StepWriter:
        chosen = [
            Chosen(self.choices.choice(o), o, self.choices.candidates[o.id]) for o in self.proposed
        ]
        return StepWriter(
            self.case,
            self.adviser.knowledge,
            self.choices.book,
            self.choices.provisions,
            tuple(chosen),
        )

    @cached_property
    def _as_planned(self) -> bool:
        return {d: o.id for d, o in self.options.items() if o is not None} == self.planned

    @cached_property
    def order_fault(self) -> str:
        """Return why the chosen work can't be put in order, empty where it can."""
        try:
            self._steps()
        except OrderError as error:
            return f"The order of the work: {' before '.join(error.cycle)} goes round in a circle."
        return ""

    def _steps(self) -> list[Step]:
        return self._writer.steps(self._step_because)

    def _step_because(self, choice: Choice) -> str:
        one = next(c for c in self.chosen if c.damage == choice.damage)
        return one.because.text

    @cached_property
    def steps(self) -> tuple[Step, ...]:
        """Return the work in order, the housing for the way last; none if there is no order."""
        if self._as_planned:
            return self.plan.steps
        if self.order_fault:
            return ()
        steps = tuple(self._steps())
        if self._housing is None:
            return steps
        return (*steps, self._writer.housing_step(self._housing, len(steps) + 1))

    @cached_property
    def _housing(self) -> Housing | None:
        return housing_for_the_way(self.case, self.adviser) if travels(self.case) else None

    @cached_property
    def hours(self) -> tuple[float, float]:
        """Return the hours of all of it, least and most."""
        if self._as_planned:
            return (self.plan.hours[0], self.plan.hours[1])
        low, high = total([self.choices.choice(o) for o in self.proposed]).hours
        way = self._housing.option.hours if self._housing else [0.0, 0.0]
        return (round(low / HOUR_UNIT + way[0], 2), round(high / HOUR_UNIT + way[1], 2))

    @cached_property
    def clashes(self) -> tuple[Line, ...]:
        """Return what of the choices can't go together on the same parts."""
        found = []
        chosen = [self.choices.choice(o) for o in self.proposed]
        for i, one in enumerate(chosen):
            for other in chosen[i + 1 :]:
                if one.technique == other.technique or not self.choices.touch(one, other):
                    continue
                for c in self.choices.book.exclusive(one.technique, other.technique):
                    labels = (self.choices.options[x.id].label for x in (one, other))
                    found.append(
                        Line(
                            f"{' and '.join(labels)} can't be done on the same parts: "
                            f"{c.because.rstrip('.')}.",
                            c.rests_on,
                        )
                    )
        return tuple(dict.fromkeys(found))

    # -- what else follows from the choice

    @cached_property
    def tests_open(self) -> list[TestAdvice]:
        """Return the tests that what is proposed waits for."""
        mine = {o.id for o in self.proposed}
        return [t for t in self.answer.tests_first if mine.intersection(t.options)]

    @cached_property
    def people(self) -> list[FindingView]:
        """Return what protects people at the object and in the proposed work, gravest first."""
        return protecting(self.answer.people_first, self.answer.options(), list(self.proposed))

    def findings(self, effect: str) -> list[tuple[OptionAnswer, FindingView]]:
        """Return what the rules say of the proposed options, by effect, people's left out."""
        found: list[tuple[OptionAnswer, FindingView]] = []
        told: set[str] = set()
        for option in self.proposed:
            mine = [
                f for f in option.findings
                if f.effect == effect and f.theme != PEOPLE and f.message not in told
            ]  # fmt: skip
            told.update(f.message for f in mine)
            found += ((option, f) for f in said_once(mine, self.part_names))
        return found


def _for_claims(option: OptionAnswer) -> Iterator[str]:
    """Yield the claims on how well an option works."""
    for reason in option.reasons.reasons:
        if reason.stance == Stance.FOR:
            yield from reason.claims


def _all_claims(option: OptionAnswer) -> Iterator[str]:
    for reason in option.reasons.reasons:
        if reason.stance == Stance.FOR:
            yield from reason.claims
            for inner in reason.reasons:
                yield from inner.claims


def _count(number: int) -> str:
    return "one point" if number == 1 else f"{number} points"


def _settled(findings: Iterable[FindingView]) -> str:
    """Return what would settle the first of some findings that anything settles, in a sentence."""
    groups = next((found for f in findings if (found := each_needed(f.mends))), [])
    if not groups:
        return ""
    alternatives = list(dict.fromkeys(mend.label for mend in groups[0]))[:2]
    each = [group[0].label for group in groups]
    return f" It would be settled by {listed(each) if len(each) > 1 else _either(alternatives)}."


def _either(things: list[str]) -> str:
    return " or ".join(things)
