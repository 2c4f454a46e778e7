"""The sections of a proposal that follow from the choice: options, tests, method, risks."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass

from leastwise.graph.answer import DamageAnswer, MendView, OptionAnswer
from leastwise.graph.meanings import RuleEffect, Stance, Verdict
from leastwise.graph.planning.values import Material, Step, StepTime
from leastwise.graph.proposal.report.choice import Work, sentence
from leastwise.graph.proposal.report.values import (
    Block,
    Bullets,
    ChosenOption,
    Facts,
    Heading,
    Line,
    Notice,
    Para,
    Passage,
    Table,
)
from leastwise.graph.proposal.report.words import blocks_of, lost_in_words
from leastwise.graph.sentences import hindering, hours_in_words, is_plural, still_hindering
from leastwise.graph.weighing.settling import settled_by

__all__ = ["DerivedSections", "notices"]

EXPECTATIONS, TIME, OPTIONS = "claim:E-271", "claim:E-269", "claim:E-261"


def notices(chosen: Iterable[ChosenOption]) -> Iterator[Notice]:
    """Yield what may not be overlooked of the choices: what a rule forbids or leaves open."""
    for one in chosen:
        if not one.option:
            words = f"For {one.damage_label} on {one.where} nothing is proposed yet."
            yield Notice("missing", Line(words))
        elif one.verdict in (Verdict.DEFEATED, Verdict.UNDECIDED):
            claims = tuple(dict.fromkeys(c for line in one.against for c in line.claims))
            first = one.against[0].text if one.against else ""
            more = f" {len(one.against) - 1} more below." if len(one.against) > 1 else ""
            says = (
                "is defeated by a rule" if one.verdict == Verdict.DEFEATED else "is still undecided"
            )
            rules = f" ({', '.join(one.rules)})" if one.rules else ""
            words = f"{sentence(one.label).rstrip('.')} for {one.damage_label} {says}{rules}: "
            yield Notice(one.verdict, Line(words + first + more, claims))
        if one.dropped:
            words = f"The option {one.dropped}, chosen earlier, is no longer among the options; "
            yield Notice("note", Line(f"{words}the plan's choice stands again."))
        if one.needs_reason:
            words = f"The reason for choosing {one.label} for {one.damage_label} is still missing."
            yield Notice("missing", Line(words, ("claim:E-253",)))


@dataclass(frozen=True)
class DerivedSections:
    """Writes what follows from the choice."""

    work: Work

    def _part_names(self, parts: Iterable[str]) -> str:
        return ", ".join(self.work.names_of(parts))

    # -- options

    def options(self) -> Iterator[Passage]:
        """Yield for each damage what was weighed, leaving alone among it, and what became of it."""
        lead = "Every option that the knowledge holds for each damage was weighed, leaving it alone"
        order = " among them. Burden runs from 0 (none) to 1; hours are a range of common practice."
        yield Passage("derived", (Para(Line(lead + order, (OPTIONS, "claim:E-253"))),))
        if self.work.clashes:
            items = tuple(Notice("defeated", line) for line in self.work.clashes)
            yield Passage("derived", items)
        if not self.work.damages:
            words = "No damage is recorded, so that nothing has to be decided."
            yield Passage("derived", (Para(Line(words)),))
        for damage, one in zip(self.work.damages, self.work.chosen, strict=True):
            yield from self._of_damage(damage, one)

    def _of_damage(self, damage: DamageAnswer, one: ChosenOption) -> Iterator[Passage]:
        where = self._part_names(damage.parts)
        title = f"{sentence(damage.label).rstrip('.')} on {where}"
        proposed = Line(f"Proposed: {one.label} ({one.verdict or 'no choice'}).", ())
        blocks: list[Block] = [Heading(title, f"damage-{damage.id}"), Para(proposed)]
        blocks += notices([one])
        if len(one.against) > 1:
            blocks.append(Bullets(one.against))
        blocks.append(Para(one.because))
        yield Passage("derived", tuple(blocks))
        if one.reason.strip():
            yield Passage("own", blocks_of(one.reason))
        yield Passage("derived", tuple(self._weighed(damage, one)))

    def _weighed(self, damage: DamageAnswer, one: ChosenOption) -> Iterator[Block]:
        """Yield the options that may be chosen as a table, and each refused one in a line."""
        yield self._table(damage, one)
        refused = [
            o for o in damage.options if o.verdict == Verdict.DEFEATED and o.id != one.option
        ]
        if refused:
            lines = [(o.label, self.work.passed_over(o, None)) for o in refused]
            yield Heading(f"Refused for {damage.label} ({len(refused)})")
            yield Bullets(
                tuple(
                    Line(f"{sentence(label)[:-1]}: {why.text}", why.claims) for label, why in lines
                )
            )

    def _table(self, damage: DamageAnswer, one: ChosenOption) -> Table:
        chosen = self.work.options[damage.id]
        rows: list[tuple[Line, ...]] = []
        marked: list[int] = []
        for option in damage.options:
            is_it = option.id == one.option
            if option.verdict == Verdict.DEFEATED and not is_it:
                continue
            if is_it:
                marked.append(len(rows))
            why = self._chosen_why(option, one) if is_it else self.work.passed_over(option, chosen)
            label = f"Proposed: {option.label}" if is_it else option.label
            hours = hours_in_words(option.hours[0], option.hours[1])
            texts = (label, option.verdict, f"{option.burden:.2f}", hours)
            rows.append((*(Line(t) for t in texts), why))
        head = ("Option", "Verdict", "Burden", "Hours", "Why it is proposed or not")
        caption = f"Options for {damage.label} ({len(rows)})"
        widths = (0.19, 0.14, 0.11, 0.11, 0.45)
        return Table(caption, head, tuple(rows), widths, tuple(marked))

    def _chosen_why(self, option: OptionAnswer, one: ChosenOption) -> Line:
        helps = next((r for r in option.reasons.reasons if r.stance == Stance.FOR), None)
        if helps is None:
            return one.because
        return Line(helps.text, tuple(helps.claims))

    # -- tests and method

    def tests(self) -> Iterator[Block]:
        """Yield the tests that come before the work, and what else has to be settled."""
        rows = tuple(
            (
                Line(t.label),
                Line(f"{self._label(t.material)} of {t.part_name}" if t.material else t.part_name),
                Line(f"{t.minutes} min"),
                Line(lost_in_words(t.material_lost)),
                Line(", ".join(dict.fromkeys(self.work.choices.options[o].label for o in t.options
                                             if o in self._proposed_ids))),
            )
            for t in self.work.tests_open
        )  # fmt: skip
        if rows:
            head = ("Test", "On", "Time", "Material lost", "Before")
            caption = f"Tests to be done before the work ({len(rows)})"
            yield Table(caption, head, rows, (0.28, 0.26, 0.1, 0.14, 0.22))
        else:
            yield Para(Line("As the record stands no test is open for what is proposed."))
        settle: dict[str, list[Line]] = {}
        for o, f in self.work.findings(RuleEffect.LEAVES_UNDECIDED):
            line = Line(sentence(f.message) + _settled_by(f.mends), tuple(f.claims))
            settle.setdefault(o.label, []).append(line)
        for label, lines in settle.items():
            yield Heading(f"To be settled before {label}")
            yield Bullets(tuple(lines))

    @property
    def _proposed_ids(self) -> set[str]:
        return {o.id for o in self.work.proposed}

    def _label(self, name: str) -> str:
        return self.work.adviser.knowledge.label(name)

    def method(self) -> Iterator[Passage]:
        """Yield the work step by step, then all materials."""
        work = self.work
        if work.order_fault:
            yield Passage("derived", (Notice("defeated", Line(work.order_fault)),))
        if not work.steps:
            words = "No work is proposed; what is left alone is recorded and watched."
            yield Passage("derived", (Para(Line(words)),))
            return
        for step in work.steps:
            yield Passage("derived", tuple(self._step(step)))
        means = tuple(_means(work.steps))
        if means:
            yield Passage("derived", (Heading("Materials and equipment"), *means))

    def _step(self, step: Step) -> Iterator[Block]:
        yield Heading(f"Step {step.number}: {step.label}", f"step-{step.number}")
        mine = [c for c in self.work.chosen if c.option in step.options]
        yield from (n for n in notices(mine) if n.about in ("defeated", "undecided"))
        damages = {d.id: d for d in self.work.answer.damages}
        for_what = "; ".join(
            f"{damages[d].label} on {self._part_names(damages[d].parts)}" for d in step.damages
        )
        claims = tuple(self._work_claims(step))
        shared = (
            f" The set-up is shared with step {step.shares_set_up_with}."
            if step.shares_set_up_with
            else ""
        )
        rows = [
            ("For", Line(for_what or "the way")),
            ("Where", Line(" ".join(s.in_words for s in step.sections))),
            ("How", Line(step.set_up + shared, claims)),
            ("Hours", Line(_hours(step), (TIME,))),
            *((t.what, Line(_time(t), tuple(t.claims))) for t in (*step.times, *step.worked)),
            ("Limits", Line(" ".join(step.limits))),
            ("Watch", Line(step.monitoring)),
            ("Stop sign", Line(step.stop_sign)),
        ]
        yield Facts(tuple((label, line) for label, line in rows if line.text.strip()))
        if step.take_care:
            cited = {
                f.message: tuple(f.claims) for o in self.work.proposed for f in o.findings
            }  # fmt: skip
            care = tuple(Line(c, cited.get(c, ())) for c in step.take_care)
            yield Bullets(care)
        if step.after:
            order = tuple(
                Line(
                    f"After step {a.step}: {sentence(a.because)}"
                    + (f" Wait until {a.wait_until}." if a.wait_until else ""),
                    tuple(a.claims),
                )
                for a in step.after
            )
            yield Bullets(order)

    def _work_claims(self, step: Step) -> Iterable[str]:
        technique = self.work.adviser.catalogue.techniques[step.technique]
        return technique.rests_on

    def time(self) -> Iterator[Passage]:
        """Yield the hours of each step and of all."""
        work = self.work
        low, high = work.hours
        rows = tuple(
            (
                Line(str(s.number)),
                Line(s.label),
                Line(hours_in_words(s.hours[0], s.hours[1])),
            )
            for s in work.steps
        )
        blocks: list[Block] = []
        if rows:
            blocks.append(
                Table("Hours by step", ("Step", "Work", "Hours"), rows, (0.1, 0.65, 0.25))
            )
        at_hand = work.case.means.hours
        means = f" {at_hand:g} h are at hand." if not isinstance(at_hand, str) else (
            " How many hours are at hand is not recorded.")  # fmt: skip
        total = f"In all about {hours_in_words(low, high)} h, recording and watching included, "
        practice = "as a range of common practice."
        blocks.append(Para(Line(total + practice + means, (TIME,))))
        if not isinstance(at_hand, str) and high > at_hand:
            blocks.append(Notice("note", Line("The longer end does not fit the hours at hand.")))
        yield Passage("derived", tuple(blocks))

    # -- benefits, risks, care

    def benefits(self) -> Iterator[Passage]:
        """Yield what each choice does for the aim."""
        chosen = ((d, self.work.options[d.id]) for d in self.work.damages)
        items = tuple(
            self._benefit(damage, option) for damage, option in chosen if option is not None
        )
        if items:
            yield Passage("derived", (Bullets(items),))

    def _benefit(self, damage: DamageAnswer, option: OptionAnswer) -> Line:
        """Return how far a damage hinders now and after what was chosen, and what helps."""
        aim, plural = self.work.case.aim.purpose, is_plural(damage.label)
        before, after = (
            hindering(aim, grade, plural=plural) for grade in (option.hindrance, option.residual)
        )
        helps = next((r for r in option.reasons.reasons if r.stance == Stance.FOR), None)
        words = (
            f"{sentence(damage.label).rstrip('.')} on {self._part_names(damage.parts)}: "
            f"{before} now and {after} afterwards. "
        )
        claims = tuple(helps.claims) if helps else ()
        said = helps.text if helps and not option.is_baseline else "It is left alone."
        return Line(words + said, claims)

    def risks(self) -> Iterator[Passage]:
        """Yield what may go wrong, what it burdens the object with, and what stays."""
        against = [
            Line(f"Forbidden by a rule ({f.rule}): {sentence(f.message)}", tuple(f.claims))
            for _, f in self.work.findings(RuleEffect.DEFEATS)
        ]
        care = [
            Line(sentence(f.message), tuple(f.claims))
            for _, f in self.work.findings(RuleEffect.CAUTIONS)
        ]
        burdens = [line for o in self.work.proposed if (line := self._burdens(o)).text]
        left = list(self._left())
        blocks: list[Block] = []
        for heading, items in (
            ("Against the rules", against),
            ("With care", care),
            ("What the work burdens the object with", burdens),
            ("What stays", left),
        ):
            if items:
                blocks += [Heading(heading), Bullets(tuple(dict.fromkeys(items)))]
        if not blocks:
            words = "The knowledge names no risk to the object in what is proposed; unknown risks "
            blocks = [Para(Line(words + "remain.", (EXPECTATIONS,)))]
        yield Passage("derived", tuple(blocks))

    def _left(self) -> Iterator[Line]:
        for damage in self.work.damages:
            option = self.work.options[damage.id]
            if option is None or option.residual <= 0:
                continue
            yield Line(
                f"{sentence(damage.label).rstrip('.')} on {self._part_names(damage.parts)} will "
                f"{still_hindering(self.work.case.aim.purpose, option.residual)}."
            )

    def _burdens(self, option: OptionAnswer) -> Line:
        grades = [
            f"{self._label(axis)} {grade}" for axis, grade in option.burdens.items() if grade > 0
        ]
        if not grades:
            return Line("")
        words = f"{sentence(option.label).rstrip('.')}: {', '.join(grades)} (grades 0 to 4)."
        return Line(words, ())


def _hours(step: Step) -> str:
    """Return the hours of a step with what they rest on."""
    span = hours_in_words(step.hours[0], step.hours[1])
    return f"{span} ({step.hours_basis})" if step.hours_basis else span


def _time(one: StepTime) -> str:
    words = f"{one.value} ({one.basis})"
    return f"{words}. {one.remark}" if one.remark else words


def _settled_by(mends: Sequence[MendView]) -> str:
    how, things = settled_by(mends)
    return f" {how}: {'; '.join(things)}." if things else ""


def _means(steps: Sequence[Step]) -> Iterator[Block]:
    """Yield the table of materials of all steps, and the equipment of each."""
    rows = tuple(_material_row(step, m) for step in steps for m in step.materials)
    if rows:
        head = ("Step", "Material", "Amount", "How it was worked out")
        yield Table("Materials", head, rows, (0.1, 0.36, 0.2, 0.34))
    equipment = tuple((f"Step {s.number}", Line(s.equipment)) for s in steps if s.equipment.strip())
    if equipment:
        yield Facts(equipment)


def _material_row(step: Step, m: Material) -> tuple[Line, ...]:
    amount = f"{m.amount[0]:g} to {m.amount[1]:g} {m.unit}" if m.amount else "not worked out"
    texts = (str(step.number), m.item, amount)
    return (*(Line(t) for t in texts), Line(m.because, tuple(m.claims)))
