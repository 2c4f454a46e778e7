"""The treatment record as a document: what was done against the plan, read, used, found and left.

It is the same kind of value as a written proposal, so that every door that sets one sets the
other. Nothing is left out because it is awkward: harm, deviations without approval, planned work
of which nothing is entered, and what a final record still has to hold all stand in it.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass

from leastwise.graph.answer import Answer
from leastwise.graph.case.record import UNKNOWN, Case
from leastwise.graph.ids import problem_in_words
from leastwise.graph.proposal.refused import refused_words
from leastwise.graph.proposal.report.make import cleaned_passage, filled_in, with_references
from leastwise.graph.proposal.report.values import (
    Block,
    Bullets,
    Edition,
    Facts,
    Figure,
    Heading,
    Line,
    Notice,
    Para,
    Passage,
    Report,
    Section,
    Table,
)
from leastwise.graph.proposal.report.words import blocks_of, cleaned
from leastwise.graph.treatment.not_to_use import NotToUse, not_to_use_in
from leastwise.graph.treatment.record import Missing, TreatmentRecord
from leastwise.graph.weighing.advise import Adviser

__all__ = [
    "MANNER_WORDS",
    "QUANTITY_WORDS",
    "RESULT_WORDS",
    "STAGES",
    "STATE_WORDS",
    "Treatment",
    "treatment_report",
]

STATE_WORDS = {
    "done": "done",
    "partly": "done in part",
    "stopped": "stopped",
    "not-done": "not done",
}
RESULT_WORDS = {
    "met": "aim met",
    "partly": "met in part",
    "not-met": "not met",
    "harm": "harm was done",
}
QUANTITY_WORDS = {
    "rh": "relative humidity",
    "temperature": "temperature",
    "duration": "time",
    "weight": "weight",
    "ph": "pH",
    "conductivity": "conductivity",
    "other": "something else",
}
MANNER_WORDS = {
    "added": "added, stays on the object",
    "removed": "removed from the object",
    "used": "used, does not stay",
}
#: Stages of photographs, with the words for each.
STAGES = {
    "before": "Before treatment",
    "during": "During treatment",
    "after": "After treatment",
}
STEP_WIDTHS = (0.3, 0.28, 0.12, 0.18, 0.12)
WHOLE, NO_ENTRY, NOT_SAID = "the whole object", "nothing is entered", "what is seen is not said"
Figures = Mapping[str, Iterable[Figure | Para]]


@dataclass(frozen=True)
class Treatment:
    """A treatment record with the case it belongs to and what was planned.

    *planned* are the options of the plan in order, with the labels of their techniques; *lacks* is
    what a final record still has to hold.
    """

    case: Case
    answer: Answer
    record: TreatmentRecord
    planned: Mapping[str, str]
    lacks: Sequence[Missing]


def treatment_report(
    work: Treatment, adviser: Adviser, edition: Edition, figures: Figures | None = None
) -> Report:
    """Return the record as a document.

    *figures* are by section: ``images-before``, ``images-during``, ``images-after``, ``readings``.
    """
    case, answer = work.case, work.answer
    edition = filled_in(edition, case, answer)
    told = not_to_use_in(work.record, refused_words(adviser.knowledge))
    writer = _Writer(work, figures or {}, tuple(told))
    sections = tuple(
        Section(key, title, tuple(cleaned_passage(p) for p in passages))
        for key, title, passages in writer.sections()
    )
    report = Report(
        case.id,
        cleaned(case.title),
        cleaned(case.object.name),
        case.demo,
        edition,
        tuple(Line(cleaned(text)) for text in writer.summary()),
        (),
        (),
        sections,
        (),
        (),
        kind="record",
        lacks=len(work.lacks),
    )
    return with_references(report, adviser)


@dataclass(frozen=True)
class _Writer:
    work: Treatment
    figures: Figures
    told: tuple[NotToUse, ...]

    def sections(self) -> Iterator[tuple[str, str, Iterable[Passage]]]:
        yield "lacks", "Still missing", self._lacks()
        yield "object", "Object and record", self._object()
        yield "before", "Condition before treatment", self._before()
        yield "images", "Photographs", self._images()
        yield "steps", "Steps done, against the plan", self._steps()
        yield "deviations", "Deviations from the plan", self._deviations()
        if self.told:
            yield "not_to_use", "Practices not to use", self._not_to_use()
        yield "readings", "Readings", self._readings()
        yield "materials", "Materials", self._materials()
        yield "outcomes", "Outcome by part", self._outcomes()
        yield "final", "State after treatment and future care", self._final()
        yield "follow_ups", "Follow-up", self._follow_ups()

    def summary(self) -> Iterator[str]:
        """Yield the record in a few sentences."""
        record = self.work.record
        days = sorted(one.date for one in record.steps)
        if days:
            names = ", ".join(dict.fromkeys(one.by for one in record.steps))
            first, last = days[0].isoformat(), days[-1].isoformat()
            when = f"on {first}" if first == last else f"from {first} to {last}"
            yield f"{_many(len(days), 'step')} entered, {when}, by {names}."
        hours = [one.hours for one in record.steps if one.hours is not None]
        if hours:
            yield f"{sum(hours):g} hours of work, as far as they were entered."
        for one in record.outcomes:
            yield (
                f"{self._damage(one.damage)} on {self._part(one.part)}: {RESULT_WORDS[one.result]}."
            )
        if not record.outcomes:
            yield "No outcome has been entered yet."

    def _part(self, part: str) -> str:
        return {p.id: p.name for p in self.work.case.parts}.get(part, part) or WHOLE

    def _damage(self, damage: str) -> str:
        labels = {d.id: d.label for d in self.work.answer.damages}
        label = labels.get(damage, damage.replace("-", " "))
        return label[:1].upper() + label[1:]

    def _technique(self, technique: str) -> str:
        labels = {o.technique: o.label for o in self.work.answer.options()}
        return labels.get(technique, technique.partition(":")[2].replace("-", " "))

    def _lacks(self) -> Iterator[Passage]:
        items = tuple(Line(f"{one.what[:1].upper()}{one.what[1:]}.", (one.claim,))
                      for one in self.work.lacks)  # fmt: skip
        nothing = Para(Line("Nothing: the record holds all that a final record has to hold."))
        yield Passage("derived", (Bullets(items) if items else nothing,))

    def _not_to_use(self) -> Iterator[Passage]:
        items = tuple(
            Line(
                f"\N{LEFT DOUBLE QUOTATION MARK}{one.hit.words}\N{RIGHT DOUBLE QUOTATION MARK} in "
                f"{one.entry or 'the final record'} speaks of {one.hit.practice.label}. "
                f"{one.hit.practice.why}",
                one.hit.practice.claims,
            )
            for one in self.told
        )
        yield Passage("derived", (Bullets(items),))

    def _object(self) -> Iterator[Passage]:
        case = self.work.case
        thing = case.object
        rows = (
            ("object", thing.name),
            ("number", thing.identifier),
            ("keeper", thing.keeper),
            ("made", thing.made),
            ("purpose of the work", case.aim.purpose),
            ("recorder of the case", case.record.recorder),
        )
        yield Passage("record", (Facts(tuple((k, Line(_known(v))) for k, v in rows)),))

    def _before(self) -> Iterator[Passage]:
        case = self.work.case
        items = tuple(
            Line(
                f"{self._damage(one.id)} on {', '.join(self._part(p) for p in one.parts)}"
                f"{': ' + one.note if one.note else '.'}"
            )
            for one in case.damages
        )
        yield Passage(
            "record", (Bullets(items) if items else Para(Line("No damage is recorded.")),)
        )

    def _images(self) -> Iterator[Passage]:
        blocks: list[Block] = []
        for stage, title in STAGES.items():
            shown = tuple(self.figures.get(f"images-{stage}", ()))
            blocks.append(Heading(title))
            lacks = Notice("missing", Line(f"Still missing: a photograph {stage} treatment."))
            blocks += shown or (lacks,)
        yield Passage("record", tuple(blocks))

    def _steps(self) -> Iterator[Passage]:
        steps = self.work.record.steps
        rows = [
            (one.what, self._planned(one.planned), STATE_WORDS[one.state],
             f"{one.date.isoformat()}\n{one.by}", "" if one.hours is None else f"{one.hours:g} h")
            for one in steps
        ]  # fmt: skip
        head = ("What was done", "Step of the plan", "How far", "When and by whom", "Time taken")
        blocks = [_table("Steps in the order of their entry", head, rows, STEP_WIDTHS)]
        seen = [(f"{one.what}, {one.date.isoformat()}", one.note) for one in steps if one.note]
        if seen:
            two = ("Step", "Seen meanwhile")
            blocks.append(_table("Seen meanwhile", two, seen, (0.35, 0.65)))
        yield Passage("record", tuple(blocks))
        if self.work.planned:
            yield Passage("derived", (self._against_plan(),))

    def _planned(self, option: str) -> str:
        if not option:
            return "a further step"
        labels: dict[str, str] = {o.id: o.label for o in self.work.answer.options()}
        damage = problem_in_words(option)
        words = f"{self.work.planned.get(option) or labels.get(option, option)} ({damage})"
        return words if option in self.work.planned else f"{words}; not in the plan of today"

    def _against_plan(self) -> Block:
        done: dict[str, list[str]] = {}
        for one in self.work.record.steps:
            done.setdefault(one.planned, []).append(
                f"{STATE_WORDS[one.state]} ({one.date.isoformat()})"
            )
        rows = [
            (label, problem_in_words(option),
             ", ".join(done.get(option, ())) or NO_ENTRY)
            for option, label in self.work.planned.items()
        ]  # fmt: skip
        head = ("Planned", "For", "What became of it")
        return _table("What the plan holds, and what became of it", head, rows, (0.4, 0.25, 0.35))

    def _deviations(self) -> Iterator[Passage]:
        found = [one for one in self.work.record.steps if one.deviation or one.state != "done"]
        if not found:
            words = "No step was entered as other than planned."
            yield Passage("derived", (Para(Line(words, ("claim:E-273",))),))
            return
        rows = [
            (one.what, STATE_WORDS[one.state], one.deviation or "still missing: why",
             one.approved_by or "not approved in writing")
            for one in found
        ]  # fmt: skip
        head = ("Step", "How far", "What was otherwise, and why", "Approved by")
        block = _table("Deviations, with who approved them", head, rows, (0.25, 0.13, 0.4, 0.22))
        yield Passage("record", (block,))

    def _readings(self) -> Iterator[Passage]:
        head = ("What was read", "Value", "When", "Where", "By", "Note")
        rows = [
            (QUANTITY_WORDS[one.quantity], f"{one.value:g} {one.unit}",
             f"{one.date.isoformat()} {one.time}".strip(), self._part(one.part), one.by, one.note)
            for one in self.work.record.readings
        ]  # fmt: skip
        blocks = [_table("Readings", head, rows, (0.2, 0.14, 0.2, 0.18, 0.12, 0.16))]
        yield Passage("record", (*blocks, *self.figures.get("readings", ())))

    def _materials(self) -> Iterator[Passage]:
        head = (
            "Material",
            "What became of it",
            "Batch and maker",
            "Amount",
            "Where",
            "Day",
            "Note",
        )
        rows = [
            (one.what, MANNER_WORDS[one.manner],
             f"{f'batch {one.batch}' if one.batch else 'batch not recorded'}\n{one.maker}".strip(),
             one.amount, self._part(one.part), one.date.isoformat(), one.note)
            for one in self.work.record.materials
        ]  # fmt: skip
        widths = (0.17, 0.15, 0.15, 0.11, 0.13, 0.14, 0.15)
        yield Passage("record", (_table("Materials", head, rows, widths),))

    def _outcomes(self) -> Iterator[Passage]:
        found = self.work.record.outcomes
        head = ("Part", "Damage", "Technique", "What came of it", "Judged", "What is seen")
        rows = [
            (self._part(one.part), self._damage(one.damage), self._technique(one.technique),
             RESULT_WORDS[one.result], f"{one.date.isoformat()}\n{one.by}", one.note)
            for one in found
        ]  # fmt: skip
        widths = (0.16, 0.14, 0.2, 0.14, 0.16, 0.2)
        harmed = [
            Notice("note", Line(f"Harm was done on {self._part(one.part)}: {one.note or NOT_SAID}"))
            for one in found
            if one.result == "harm"
        ]
        yield Passage("record", (*harmed, _table("Outcome by part", head, rows, widths)))

    def _final(self) -> Iterator[Passage]:
        final = self.work.record.final
        blocks: list[Block] = []
        for title, text in (
            ("State after treatment", final.state_after),
            ("What changed", final.changes),
            ("What was learnt", final.new_information),
            ("What was added for looks", final.compensation),
            ("Advice for future care", final.future_care),
        ):
            if text.strip():
                blocks += [Heading(title), *blocks_of(cleaned(text))]
        day = final.date.isoformat() if final.date else ""
        blocks.append(Facts((("recorded by", Line(final.recorder)), ("day", Line(day)))))
        yield Passage("own", tuple(blocks))

    def _follow_ups(self) -> Iterator[Passage]:
        head = ("Look again on", "At what", "Looked at on", "By", "What was found")
        rows = [
            (one.due.isoformat(), one.what, one.done.isoformat() if one.done else "not yet",
             one.by, one.found)
            for one in sorted(self.work.record.follow_ups, key=lambda f: (f.due, f.id))
        ]  # fmt: skip
        widths = (0.16, 0.3, 0.16, 0.14, 0.24)
        yield Passage("record", (_table("When to look again", head, rows, widths),))


def _table(
    caption: str,
    head: tuple[str, ...],
    rows: Sequence[tuple[str, ...]],
    widths: tuple[float, ...],
) -> Block:
    """Return a table, or a sentence where there is no row; empty columns go by themselves."""
    if not rows:
        return Para(Line("No entry."))
    return Table(caption, head, tuple(tuple(map(Line, row)) for row in rows), widths)


def _known(text: str) -> str:
    return "" if text == UNKNOWN else text


def _many(number: int, what: str) -> str:
    """Return a count with its noun.

    >>> _many(1, "step"), _many(2, "step")
    ('1 step', '2 steps')
    """
    return f"{number} {what}{'' if number == 1 else 's'}"
