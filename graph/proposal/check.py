"""Checks a colleague's proposal: what speaks against it, what is missing, what would be gentler.

Nothing is decided here. Each finding says how weighty it is, why, and on which claims it rests:
*must* (known harm, something unsettled, an order that can't be, an element a standard requires),
*should* (weigh it or write it down) or *note*.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from functools import cached_property

from leastwise.graph.answer import (
    Answer,
    CaseSummary,
    ClaimView,
    DamageAnswer,
    FindingView,
    KnowledgeStamp,
    OptionAnswer,
    SourceView,
)
from leastwise.graph.case.reading import find_concept
from leastwise.graph.case.record import Case
from leastwise.graph.encoding import to_json
from leastwise.graph.ids import OptionId
from leastwise.graph.knowledge.cite import cite
from leastwise.graph.meanings import BLOCKING, Remedy, RuleEffect, Stance, Verdict
from leastwise.graph.planning.choices import HOUR_UNIT, Choices
from leastwise.graph.planning.choose import total
from leastwise.graph.planning.precedence import share_parts
from leastwise.graph.proposal.course import (
    MATTERS,
    opened_by_tests,
    says_drying,
    undried,
    usual_order,
)
from leastwise.graph.proposal.due import LEVELS, ElementsDue
from leastwise.graph.proposal.finding import ReviewFinding
from leastwise.graph.proposal.received import Proposal, ProposedStep
from leastwise.graph.proposal.refused import RefusedPractice, RefusedWords, refused_words
from leastwise.graph.sentences import listed
from leastwise.graph.weighing.advise import Adviser
from leastwise.graph.weighing.settling import settling

__all__ = ["Review", "ReviewFinding", "review"]

KINDS = (
    "people", "refused", "option", "test", "means", "order", "conflict", "drying", "gentler",
    "decision", "record",
)  # fmt: skip
NO_SINGLE_TREATMENT, GOALS_FIRST, STEPS = "claim:E-261", "claim:E-263", "claim:E-253"
DRYING_CLAIMS = ("claim:W-062", "claim:W-195")
WITHIN_COMPETENCE, TIME = "claim:E-277", "claim:E-269"
MOST_GENTLER = 3
#: Fields of the record in which somebody says what is to be done, or was done.
SAID = ("methods", "materials", "actions", "variations", "added_or_removed", "future_care")


@dataclass(frozen=True, slots=True)
class Review:
    """The check of one proposal."""

    proposal: str
    title: str
    demo: bool
    stage: str
    case: CaseSummary
    stamp: KnowledgeStamp
    in_words: str
    findings: tuple[ReviewFinding, ...]
    claims: Mapping[str, ClaimView]
    sources: Mapping[str, SourceView]

    def as_json(self) -> str:
        """Return the review as JSON: the same bytes for the same proposal, case and knowledge."""
        return to_json(self) + "\n"


def review(proposal: Proposal, case: Case, adviser: Adviser) -> Review:
    """Return what there is to say of a proposal, weightiest first.

    Read both with :func:`leastwise.graph.proposal.received.read_proposal`.
    """
    return _Reviewing(proposal, case, adviser).review()


@dataclass(frozen=True)
class _Reviewing:
    proposal: Proposal
    case: Case
    adviser: Adviser

    @cached_property
    def answer(self) -> Answer:
        return self.adviser.weigh(self.case)

    @cached_property
    def choices(self) -> Choices:
        return Choices(self.case, self.adviser, self.answer)

    @cached_property
    def refused(self) -> RefusedWords:
        return refused_words(self.adviser.knowledge)

    def _label(self, technique: str) -> str:
        return self.adviser.knowledge.label(technique)

    def _option(self, step: ProposedStep) -> OptionAnswer | None:
        return self.choices.options.get(OptionId.of(step.damage, step.technique))

    def review(self) -> Review:
        found = [
            *self._decisions(),
            *(f for i, step in enumerate(self.proposal.steps, 1) for f in self._of_step(i, step)),
            *self._refused(),
            *self._order(),
            *self._drying(),
            *self._hours(),
            *ElementsDue(self.proposal, self.case, self.adviser.knowledge).findings(),
        ]
        unique = {(f.level, f.kind, f.about, f.message): f for f in found}
        ordered = sorted(
            unique.values(),
            key=lambda f: (LEVELS.index(f.level), KINDS.index(f.kind), f.about, f.message),
        )
        claims, sources = cite(self.adviser.knowledge, (c for f in ordered for c in f.claims))
        counts = {level: sum(f.level == level for f in ordered) for level in LEVELS}
        steps = f"{len(self.proposal.steps)} steps, {len(ordered)} findings"
        words = f"{steps}: {counts['must']} must, {counts['should']} should, {counts['note']} note."
        return Review(
            self.proposal.id,
            self.proposal.title,
            self.proposal.demo,
            self.proposal.stage,
            self.answer.case,
            self.answer.stamp,
            words,
            tuple(ordered),
            claims,
            sources,
        )

    def _decisions(self) -> Iterator[ReviewFinding]:
        decided = {step.damage for step in self.proposal.steps}
        for damage in self.answer.damages:
            if damage.id not in decided:
                yield ReviewFinding(
                    "should", "decision", damage.id,
                    f"Nothing is said of {damage.label}; decide it, even if it is left alone.",
                    "Leaving alone is an option like the others and is decided with reasons.",
                    ("a step for this damage, such as leave and monitor",),
                    (NO_SINGLE_TREATMENT, STEPS), "",
                )  # fmt: skip

    def _of_step(self, number: int, step: ProposedStep) -> Iterator[ReviewFinding]:
        about, option = f"step {number}", self._option(step)
        if practice := self.refused.named(step.technique):
            yield self._of_practice(about, practice, practice.label)
            return
        if not step.reason.strip():
            yield ReviewFinding(
                "should", "record", about,
                f"No reason is given for {self._label(step.technique)} on {step.damage}.",
                "Goals are stated before means are chosen.",
                ("a reason",), (GOALS_FIRST,), "",
            )  # fmt: skip
        if option is None:
            yield ReviewFinding(
                "should", "option", about,
                f"The knowledge holds nothing that {self._label(step.technique)} does for "
                f"{step.damage}.",
                "A technique without a known effect on the damage was not weighed here.",
                ("a reason what it is for, or knowledge of your own laid over",),
                (GOALS_FIRST,), "",
            )  # fmt: skip
            return
        for view in option.findings:
            yield from self._of_finding(about, view)
        yield from self._gentler(about, step, option)

    def _refused(self) -> Iterator[ReviewFinding]:
        """Yield the practices not to use that steps and record speak of in their own words."""
        texts = [(f"step {i}", step.reason) for i, step in enumerate(self.proposal.steps, 1)]
        for name in SAID:
            said = getattr(self.proposal.record, name)
            texts += [(name, one) for one in ([said] if isinstance(said, str) else said)]
        for about, text in texts:
            for hit in self.refused.found_in(text):
                yield self._of_practice(about, hit.practice, hit.words)

    def _of_practice(self, about: str, practice: RefusedPractice, words: str) -> ReviewFinding:
        gentler = [self._label(one) for one in practice.instead]
        named = "" if words == practice.label else f" ({practice.label})"
        return ReviewFinding(
            "must", "refused", about,
            f"\N{LEFT DOUBLE QUOTATION MARK}{words}\N{RIGHT DOUBLE QUOTATION MARK}{named} is a "
            f"practice not to use; gentler: {', or '.join(gentler)}.",
            practice.why, tuple(gentler), tuple(practice.claims), practice.id,
        )  # fmt: skip

    @staticmethod
    def _of_finding(about: str, view: FindingView) -> Iterator[ReviewFinding]:
        kinds = {mend.kind for mend in view.mends}
        kind = "option"
        if view.theme == "people":
            kind = "people"
        elif view.effect == RuleEffect.LEAVES_UNDECIDED and any(one.is_test for one in kinds):
            kind = "test"
        elif kinds == {Remedy.MEANS}:
            kind = "means"
        because = {
            RuleEffect.DEFEATS: "A rule forbids the option as the case stands.",
            RuleEffect.LEAVES_UNDECIDED: (
                "A rule leaves the option undecided until this is settled."
            ),
            RuleEffect.CAUTIONS: "A rule asks for care.",
        }.get(view.effect)
        if because is None or (view.effect == RuleEffect.CAUTIONS and kind != "people"):
            return
        level = "must" if view.effect in BLOCKING else "should"
        claims = view.claims or ([WITHIN_COMPETENCE] if kind == "means" else [])
        settle = list(settling(view.mends))
        yield ReviewFinding(
            level, kind, about, view.message, because, tuple(settle), tuple(claims), view.rule
        )

    def _gentler(
        self, about: str, step: ProposedStep, chosen: OptionAnswer
    ) -> Iterator[ReviewFinding]:
        weighed = {*step.considered, *self._weighed_in_words()}
        damage = next(d for d in self.answer.damages if d.id == step.damage)
        gentler = [
            o
            for o in damage.options
            if o.verdict == Verdict.ACCEPTED
            and o.burden <= chosen.burden - MATTERS
            and (o.meets_aim if chosen.meets_aim else o.residual <= chosen.residual)
            and o.technique not in weighed
        ]
        for o in gentler[:MOST_GENTLER]:
            aim = "meets the aim" if o.meets_aim else "helps as much"
            effect = [c for reason in o.reasons.reasons if reason.stance == Stance.FOR
                      for c in reason.claims]  # fmt: skip
            yield ReviewFinding(
                "should", "gentler", about,
                f"{_upper(o.label)} is accepted, {aim} and burdens less "
                f"({o.burden:.2f} against {chosen.burden:.2f}); it was not considered.",
                "Everything from no treatment on is weighed, and the least that serves is chosen.",
                (f"a reason why not {o.label}",),
                (NO_SINGLE_TREATMENT, *effect), "",
            )  # fmt: skip
        if not gentler:
            yield from self._opened(about, damage, chosen, weighed)

    def _opened(
        self, about: str, damage: DamageAnswer, chosen: OptionAnswer, weighed: set[str]
    ) -> Iterator[ReviewFinding]:
        """Yield the gentlest way that a test would open, where nothing gentler is open now."""
        for one in list(opened_by_tests(damage, chosen, weighed))[:1]:
            o = one.option
            yield ReviewFinding(
                "should", "gentler", about,
                f"{_upper(o.label)} would meet the aim and burden less ({o.burden:.2f} against "
                f"{chosen.burden:.2f}) if this comes out well: {listed(list(one.tests))}.",
                "What a test would open is weighed before what burdens more is done.",
                tuple(one.tests), (NO_SINGLE_TREATMENT,), "",
            )  # fmt: skip

    def _weighed_in_words(self) -> Iterator[str]:
        for text in self.proposal.record.options_considered:
            found = find_concept(text, "technique", self.adviser.knowledge)
            if found:
                yield found

    def _order(self) -> Iterator[ReviewFinding]:
        steps = self.proposal.steps
        for j, later in enumerate(steps):
            for i, earlier in enumerate(steps[:j]):
                parts = self._parts(earlier), self._parts(later)
                if share_parts(*parts):
                    yield from self._pair(i + 1, earlier, j + 1, later)
                for because in usual_order(self.choices.book, earlier, later, parts):
                    first, second = self._label(earlier.technique), self._label(later.technique)
                    yield ReviewFinding(
                        "should", "order", f"step {j + 1}",
                        f"{_upper(second)} is better done before {first} (step {i + 1}), though "
                        "on another part.",
                        because, (f"step {j + 1} before step {i + 1}",), (), "",
                    )  # fmt: skip

    def _drying(self) -> Iterator[ReviewFinding]:
        steps = self.proposal.steps
        if says_drying(self.proposal.record.methods):
            return
        parts = [self._parts(step) for step in steps]
        for one in undried(steps, parts, self.adviser.catalogue):
            label = self._label(steps[one.step - 1].technique)
            before = ""
            if one.then is not None:
                before = f" before {self._label(steps[one.then - 1].technique)} (step {one.then})"
            yield ReviewFinding(
                "must" if before else "should", "drying", f"step {one.step}",
                f"Nothing is said of how the place dries after {label}{before}.",
                "What is moist is dried restrained and is at rest in room air before it is fixed, "
                "covered or put away.",
                ("how it is dried, under what, for how long",), tuple(DRYING_CLAIMS), "",
            )  # fmt: skip

    def _parts(self, step: ProposedStep) -> tuple[str, ...]:
        technique = self.adviser.catalogue.techniques.get(step.technique)
        if technique is None or technique.hours_per == "object":
            return ()
        return next(d.parts for d in self.answer.damages if d.id == step.damage)

    def _pair(
        self, i: int, earlier: ProposedStep, j: int, later: ProposedStep
    ) -> Iterator[ReviewFinding]:
        book, a, b = self.choices.book, earlier.technique, later.technique
        first, second, about = self._label(a), self._label(b), f"step {j}"
        for p in book.says_before(b, a):
            yield ReviewFinding(
                "must", "order", about, f"{_upper(second)} comes before {first} (step {i}).",
                p.because, (f"step {j} before step {i}",), tuple(p.rests_on), p.id,
            )  # fmt: skip
        for c in book.barred_after(a, b):
            hedge = [f"make sure that {c.unless}"] if c.unless else []
            yield ReviewFinding(
                "should" if c.unless else "must", "conflict", about,
                f"{_upper(second)} can't follow {first} (step {i})"
                + (f" unless {c.unless}." if c.unless else "."),
                c.because, (*hedge, f"step {j} before step {i}"), tuple(c.rests_on), c.id,
            )  # fmt: skip
        for c in book.barred_together(a, b):
            yield ReviewFinding(
                "must", "conflict", about,
                f"{_upper(second)} can't go together with {first} (step {i}).",
                c.because, ("one of the two",), tuple(c.rests_on), c.id,
            )  # fmt: skip

    def _hours(self) -> Iterator[ReviewFinding]:
        options = {o.id: o for step in self.proposal.steps if (o := self._option(step))}
        low, high = total(self.choices.choice(o) for o in options.values()).hours
        span = f"{low / HOUR_UNIT:g} to {high / HOUR_UNIT:g} h"
        at_hand, estimate = self.case.means.hours, self.proposal.record.hours
        if not isinstance(at_hand, str) and high > at_hand * HOUR_UNIT:
            yield ReviewFinding(
                "should", "means", "hours",
                f"The steps take {span} by common practice; {at_hand:g} h are at hand.",
                "A plan has to fit even if the work goes slowly.",
                ("more hours, or less work",), (NO_SINGLE_TREATMENT,), "",
            )  # fmt: skip
        if not isinstance(estimate, str) and options and estimate * HOUR_UNIT < low:
            yield ReviewFinding(
                "note", "means", "hours",
                f"The estimate of {estimate:g} h is below the {span} of common practice.",
                "An estimate of time belongs to the plan.",
                ("a reason for the estimate",), (TIME,), "",
            )  # fmt: skip


def _upper(text: str) -> str:
    return text[:1].upper() + text[1:]
