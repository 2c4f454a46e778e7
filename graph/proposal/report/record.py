"""The sections of a proposal that come from the record: what was seen, and what is not known."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass

from leastwise.graph.answer import Answer
from leastwise.graph.case.record import UNKNOWN, Case, Constituent, Contact, DamageFound, Part, Tri
from leastwise.graph.case.record import TestDone as Done
from leastwise.graph.knowledge.knowledge import Knowledge
from leastwise.graph.meanings import Stance
from leastwise.graph.proposal.report.choice import sentence
from leastwise.graph.proposal.report.values import (
    Block,
    Bullets,
    Facts,
    Heading,
    Line,
    Notice,
    Para,
    Passage,
    Table,
)
from leastwise.graph.proposal.report.words import OwnWords
from leastwise.graph.weighing.case_policy import OWN_WEIGHTS

__all__ = ["RecordSections", "said"]

HANDLING = (
    ("lies_flat", "lies flat"),
    ("reverse_reachable", "reverse within reach"),
    ("bears_handling", "bears handling"),
    ("bears_needle", "bears a needle"),
    ("sound_surroundings", "sound cloth beside the damage"),
)
EVIDENCE = {
    Tri.YES: "yes: evidence that must be kept",
    Tri.NO: "no",
    Tri.UNKNOWN: "not known",
    Tri.NOT_APPLICABLE: "not applicable",
}
UNITS = {"cm2": "cm²", "cm": "cm", "count": "counted", "percent": "%"}
#: What the American commentary 24 lists and the record may hold or not.
IDENTIFICATION = "claim:E-265"


def said(text: object) -> str:
    """Return a value of the record in words, empty where it is unknown."""
    words = str(text).strip()
    return "" if words.casefold() in ("", UNKNOWN) else words


@dataclass(frozen=True)
class RecordSections:
    """Writes what the record holds."""

    case: Case
    knowledge: Knowledge
    answer: Answer
    words: OwnWords

    def purpose(self) -> Iterator[Passage]:
        """Yield why, by whom and when the record was made."""
        record = self.case.record
        rows = (
            ("Purpose", Line(said(record.purpose), ("claim:E-265",))),
            ("Recorder", Line(said(record.recorder), ("claim:E-265",))),
            ("Date", Line(said(record.date), ("claim:E-265",))),
        )
        yield Passage("record", (Facts(rows),))

    def identification(self) -> Iterator[Passage]:
        """Yield what tells the object from others."""
        thing, words = self.case.object, self.words
        made = said(thing.made)
        between = [str(y) for y in (thing.made_from, thing.made_to) if y != UNKNOWN]
        if between and between != [made]:
            made = f"{made} ({' to '.join(between)})".strip()
        yield Passage(
            "record",
            (
                Facts(
                    (
                        ("Object", Line(thing.name)),
                        ("Title of the case", Line(self.case.title)),
                        ("Unique identification", Line(said(thing.identifier), (IDENTIFICATION,))),
                        ("Kind", Line(said(thing.kind).replace("-", " "))),
                        ("Date made", Line(made)),
                        ("Owner or keeper", Line(said(thing.keeper))),
                    )
                ),
            ),
        )
        own = (
            ("Owner, if another than the keeper", "owner"),
            ("Maker", "maker"),
            ("Size", "size"),
            ("Marks and inscriptions", "marks"),
            ("Accessories", "accessories"),
        )
        optional = ("owner", "accessories")
        rows = tuple(
            (label, Line(words.text(key)))
            for label, key in own
            if words.text(key) or key not in optional
        )
        yield Passage("own", (Facts(rows),))

    def observation(self) -> Iterator[Passage]:
        """Yield parts, materials and contacts, as they were seen."""
        case = self.case
        rows = tuple(
            (Line(p.name), Line(self._materials(p)), Line(_handling(p)), Line(p.note.strip()))
            for p in case.parts
        )
        head = ("Part", "Materials as recorded", "How it can be handled", "Note")
        blocks: list[Block] = [
            Table(f"Parts ({len(rows)})", head, rows, (0.22, 0.36, 0.22, 0.20)),
        ]
        if case.contacts:
            touching = tuple(self._contact(c) for c in case.contacts)
            caption = f"How parts touch ({len(touching)})"
            columns = ("Between", "How", "Barrier", "Parting", "Note")
            blocks.append(Table(caption, columns, touching, (0.36, 0.16, 0.13, 0.13, 0.22)))
        else:
            blocks.append(Para(Line("No contacts between parts are recorded.")))
        yield Passage("record", tuple(blocks))

    def _materials(self, part: Part) -> str:
        return "; ".join(self._material(m) for m in part.materials)

    def _material(self, one: Constituent) -> str:
        sure = {"certain": "", "presumed": " (presumed)", "unknown": " (not identified)"}
        note = f", {one.note.strip()}" if one.note.strip() else ""
        return f"{self.knowledge.label(one.material)}{sure[one.identified]}{note}"

    def _contact(self, one: Contact) -> tuple[Line, ...]:
        names = " and ".join(self.part_name(p) for p in one.between)
        texts = (
            names,
            one.kind.replace("-", " "),
            one.barrier.replace("-", " "),
            one.parting,
            one.note.strip(),
        )
        return tuple(Line(text) for text in texts)

    def part_name(self, part: str) -> str:
        """Return the name that the record gives a part."""
        return next((p.name for p in self.case.parts if p.id == part), part)

    def _part_names(self, parts: Iterable[str]) -> str:
        return ", ".join(self.part_name(p) for p in parts)

    def interpretation(self) -> Iterator[Passage]:
        """Yield what follows from what was seen, and what is not known."""
        items = []
        for damage in self.answer.damages:
            baseline = next((o for o in damage.options if o.is_baseline), None)
            reason = baseline.reasons.reasons[0] if baseline and baseline.reasons.reasons else None
            if reason is not None and reason.stance == Stance.FOR:
                where = self._part_names(damage.parts)
                text = f"{sentence(damage.label).rstrip('.')} on {where}: {reason.text}"
                items.append(Line(text, tuple(reason.claims)))
        blocks: list[Block] = [Bullets(tuple(items))] if items else []
        unknown = tuple(self._not_known())
        if unknown:
            blocks += [Heading("Not known"), Bullets(unknown)]
        if blocks:
            yield Passage("derived", tuple(blocks))

    def _not_known(self) -> Iterator[Line]:
        """Yield what the record leaves open, part by part; unknown is never taken as harmless."""
        for part in self.case.parts:
            unsure = [
                f"{self.knowledge.label(m.material)} ({m.identified})"
                for m in part.materials
                if m.identified != "certain"
            ]
            if unsure:
                yield Line(f"What it is made of, for certain, on {part.name}: {', '.join(unsure)}.")
        for key, label in HANDLING:
            parts = [p.name for p in self.case.parts if getattr(p, key) is Tri.UNKNOWN]
            if parts:
                yield Line(f"Whether it {_whether(label)}: {', '.join(parts)}.")
        for damage in self.case.damages:
            if damage.activity == UNKNOWN:
                label = damage.in_words(self.knowledge.label)
                where = self._part_names(damage.parts)
                yield Line(f"Whether {label} on {where} is active or stable.")

    def condition(self) -> Iterator[Passage]:
        """Yield the damages as they were found."""
        if not self.case.damages:
            yield Passage("record", (Para(Line("No damage is recorded.")),))
            return
        rows = tuple(self._damage(d) for d in self.case.damages)
        head = ("Damage", "On", "Extent", "Severity", "Activity", "Evidence of use or making")
        table = Table(
            f"Damages found ({len(rows)})", head, rows, (0.24, 0.26, 0.12, 0.12, 0.1, 0.16)
        )
        yield Passage("record", (table,))

    def _damage(self, one: DamageFound) -> tuple[Line, ...]:
        extent = (
            "not known"
            if isinstance(one.extent, str)
            else f"{one.extent.value:g} {UNITS[one.extent.unit]}"
        )
        note = f": {one.note.strip()}" if one.note.strip() else ""
        known = {"unknown": "not known"}
        texts = (
            f"{one.in_words(self.knowledge.label)}{note}",
            self._part_names(one.parts),
            extent,
            known.get(one.severity, one.severity),
            known.get(one.activity, one.activity),
            EVIDENCE[one.evidence],
        )
        return tuple(Line(text) for text in texts)

    def past_treatment(self) -> Iterator[Passage]:
        """Yield the evidence of past treatment."""
        past = said(self.case.object.past_treatment)
        if past:
            yield Passage("record", (Para(Line(past)),))
        elif not self.words.text("past_treatment"):
            lacks = "Not recorded; look for evidence of it and say so even if there is none."
            yield Passage("record", (Notice("missing", Line(lacks, ("claim:E-268",))),))

    def significance(self) -> Iterator[Passage]:
        """Yield why the object matters and what must not be lost."""
        about = self.case.significance
        blocks: list[Block] = []
        if about.statement.strip():
            blocks.append(Para(Line(about.statement.strip())))
        elif not self.words.text("significance"):
            blocks.append(Notice("missing", Line("No statement of significance is recorded.",
                                                 ("claim:E-262",))))  # fmt: skip
        if about.keep:
            blocks += [Heading("What must be kept"), Bullets(tuple(Line(k) for k in about.keep))]
        agrees = {
            Tri.YES: "The curator has agreed that damage may be reduced.",
            Tri.NO: "The curator has not agreed that damage may be reduced.",
            Tri.UNKNOWN: "Whether the curator agrees that damage may be reduced is not recorded.",
        }.get(about.curator_agrees)
        if agrees:
            blocks.append(Para(Line(agrees)))
        evidence = [d for d in self.case.damages if d.evidence is Tri.YES]
        if evidence:
            items = tuple(
                Line(f"{d.in_words(self.knowledge.label)} on {self._part_names(d.parts)}")
                for d in evidence
            )
            blocks += [Heading("Damage that is evidence of use or making"), Bullets(items)]
        yield Passage("record", tuple(blocks))

    def aims(self) -> Iterator[Passage]:
        """Yield what the object is needed for, and how far the policy goes."""
        aim, means = self.case.aim, self.case.means
        figures = (
            ("Purpose", aim.purpose),
            ("How it is held", said(aim.mounting).replace("-", " ")),
            ("Degrees from the vertical", _number(aim.degrees_from_vertical, "°")),
            ("How long", _number(aim.months, " months")),
            ("Light", _number(aim.lux, " lx")),
            ("Hours a day", _number(aim.hours_per_day, " h")),
            ("Days a year", _number(aim.days_per_year, "")),
            ("Humidity is controlled", _tri(aim.rh_controlled)),
            ("Travels", _tri(aim.travels)),
            ("Note", aim.note.strip()),
            ("Hours at hand", _number(means.hours, " h")),
            ("Skill at hand", said(means.skill)),
        )
        rows = tuple((label, Line(text or "not recorded")) for label, text in figures if text != "")
        yield Passage("record", (Facts(rows),))
        yield Passage("derived", (Para(Line(self._policy(), ("claim:E-263",))),))

    def _policy(self) -> str:
        """Return by which policy the options are put in order, and what this case changes."""
        policy, own = self.answer.policy, self.case.weighing
        text = f"Options are put in order by this policy: {policy.label}. {policy.definition}"
        if own.weights and OWN_WEIGHTS in policy.label:
            k = self.knowledge
            weights = (f"{k.label(axis)} {share:.0%}" for axis, share in policy.weights.items())
            text += f" Weights here: {', '.join(weights)}."
        return f"{text} {sentence(own.why)}" if own.why else text

    def tests_done(self) -> Iterator[Block]:
        """Yield the tests that were made."""
        if not self.case.tests:
            yield Para(Line("No tests are recorded as done."))
            return
        rows = tuple(self._test(t) for t in self.case.tests)
        head = ("Test", "On", "Result", "Date", "By", "Note")
        widths = (0.26, 0.24, 0.12, 0.12, 0.1, 0.16)
        yield Table(f"Tests done ({len(rows)})", head, rows, widths)

    def _test(self, one: Done) -> tuple[Line, ...]:
        k = self.knowledge
        on = [k.label(one.material)] if one.material else []
        on.append(self.part_name(one.part))
        agent = f" ({k.label(one.agent)})" if one.agent else ""
        texts = (
            f"{one.other or k.label(one.test)}{agent}",
            " of ".join(on),
            self._found(one),
            said(one.date) or "not recorded",
            one.by.strip() or "not recorded",
            one.note.strip(),
        )
        return tuple(Line(text) for text in texts)

    def _found(self, one: Done) -> str:
        """Return what a test showed, in words: the result, what was identified, read, done."""
        said: list[str] = [] if one.result == "not-judged" else [one.result]
        if one.identified:
            said.append(f"identified as {self.knowledge.label(one.identified)}")
        if one.reading:
            said.append(f"{one.reading.value:g} {one.reading.unit}")
        if one.effect:
            said.append(f"effect: {one.effect}")
        return "; ".join(said)


def _handling(part: Part) -> str:
    known = [
        f"{label}: {_tri(getattr(part, key))}"
        for key, label in HANDLING
        if getattr(part, key) is not Tri.UNKNOWN
    ]
    return "; ".join(known) or "not known"


def _whether(label: str) -> str:
    stiff = {
        "reverse within reach": "can be reached from the back",
        "sound cloth beside the damage": "has sound cloth beside the damage",
    }
    return stiff.get(label, label)


def _tri(value: Tri) -> str:
    return {"unknown": "not known", "not-applicable": "not applicable"}.get(value, str(value))


def _number(value: float | str, unit: str) -> str:
    if isinstance(value, str):
        return "" if value == UNKNOWN else "not applicable"
    return f"{value:g}{unit}"
