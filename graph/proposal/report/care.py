"""The sections of a proposal on people, care and approval: who is safe, who may, who agrees."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass

from leastwise.graph.meanings import RuleEffect
from leastwise.graph.proposal.report.approval import said_in_review
from leastwise.graph.proposal.report.choice import Work, sentence
from leastwise.graph.proposal.report.derived import notices
from leastwise.graph.proposal.report.reviews import Reviews
from leastwise.graph.proposal.report.values import (
    Block,
    Bullets,
    Facts,
    Line,
    Notice,
    Para,
    Passage,
    Sign,
    Table,
)
from leastwise.graph.weighing.said_once import said_once

__all__ = ["CareSections"]

SKILL = {0: "no particular training", 1: "assistant", 2: "conservator", 3: "specialist"}
SAFETY = "claim:E-276"
COMPETENCE, CONSERVATOR = "claim:E-277", "claim:E-258"
APPROVAL, VARIATIONS, CONSULT = "claim:E-270", "claim:E-273", "claim:E-278"
COMPENSATION = "claim:E-264"


@dataclass(frozen=True)
class CareSections:
    """Writes what protects people and the object, before and afterwards."""

    work: Work
    reviews: Reviews | None = None

    def _part_names(self, parts: Iterable[str]) -> str:
        return ", ".join(self.work.names_of(parts))

    def people(self) -> Iterator[Passage]:
        """Yield what protects people, gravest first, and who decides."""
        items = tuple(Line(f.message, tuple(f.claims)) for f in self.work.people)
        last = Line(
            "Local codes, safety data sheets and licensed practice decide; what is not known of "
            "a hazard is not taken as safe.",
            (SAFETY,),
        )
        lead = (
            Bullets(items)
            if items
            else Para(Line("The record shows no hazard to people that the knowledge names."))
        )
        yield Passage("derived", (lead, Notice("people", last)))

    def compensation(self) -> Iterator[Passage]:
        """Yield what compensation for loss has to be."""
        words = (
            "Compensation for loss is to be located and documented, told from the original by at "
            "least one common way of looking, and reversible."
        )
        yield Passage("derived", (Para(Line(words, (COMPENSATION,))),))

    def display(self) -> Iterator[Passage]:
        """Yield the limits to use, and what the record calls for in light and storage."""
        limits = self.work.plan.use_limits
        blocks: list[Block] = []
        if limits:
            rows = tuple(
                (
                    Line(x.quantity),
                    Line(f"{x.allowed}{' (recalled)' if x.basis == 'memory' else ''}",
                         tuple(x.claims)),
                    Line(x.planned),
                    Line({"unknown": "not known"}.get(x.kept, x.kept)),
                    Line(" ".join(y for y in (x.remark, self._for_parts(x.parts)) if y)),
                )
                for x in limits
            )  # fmt: skip
            head = ("Limit", "Allowed", "Planned", "Kept", "Remark and parts")
            blocks.append(Table("Limits to use", head, rows, (0.2, 0.22, 0.18, 0.1, 0.3)))
        care = [
            Line(sentence(f.message), tuple(f.claims))
            for f in said_once(self.work.answer.record, self.work.part_names)
            if f.theme in ("light", "storage", "pests") and f.effect != RuleEffect.RECORDS
        ]
        if care:
            blocks.append(Bullets(tuple(dict.fromkeys(care))))
        if blocks:
            yield Passage("derived", tuple(blocks))

    def _for_parts(self, parts: Sequence[str]) -> str:
        if len(parts) == len(self.work.case.parts):
            return "All parts."
        return f"{sentence(self._part_names(parts))}"

    def future_care(self) -> Iterator[Passage]:
        """Yield what to look at afterwards, and when to act."""
        rows: dict[str, Line] = {}
        for option in self.work.proposed:
            words = " ".join(sentence(w) for w in (option.monitoring, option.stop_sign) if w)
            if words:
                rows.setdefault(option.label, Line(words))
        blocks: list[Block] = [Facts(tuple(rows.items()))] if rows else []
        records = [
            Line(sentence(f.message), tuple(f.claims))
            for _, f in self.work.findings(RuleEffect.RECORDS)
            if f.rule in ("rule:review-date-for-the-interim", "rule:test-what-touches-the-object")
        ]
        if records:
            blocks.append(Bullets(tuple(records)))
        blocks.append(
            Para(Line("The final report lists materials, methods and future care.", (CONSULT,)))
        )
        yield Passage("derived", tuple(blocks))

    # -- who, and by whose leave

    def competence(self) -> Iterator[Passage]:
        """Yield who is competent for the work."""
        need = max((o.skill for o in self.work.proposed), default=0)
        at_hand = self.work.case.means.skill
        words = f"The work that asks most of experience asks for: {SKILL.get(need, need)}."
        words += (
            " Whose skill is at hand is not recorded."
            if at_hand == "unknown"
            else f" At hand: {at_hand}."
        )
        ranked = {"assistant": 1, "conservator": 2, "specialist": 3}
        blocks: list[Block] = [Para(Line(words, (COMPETENCE,)))]
        if need > ranked.get(at_hand, need):
            lacks = (
                "That is more than is at hand: bring in somebody competent, or choose otherwise."
            )
            blocks.append(Notice("undecided", Line(lacks, (COMPETENCE,))))
        if any(not o.is_baseline for o in self.work.proposed):
            direct = "Direct action on the object calls for a conservator-restorer."
            blocks.append(Para(Line(direct, (CONSERVATOR,))))
        yield Passage("derived", tuple(blocks))

    def deviations(self) -> Iterator[Passage]:
        """Yield what happens where the work has to depart from the plan."""
        words = (
            "A significant departure from this proposal is put to the owner or authorised "
            "custodian in writing and approved again before it is carried out. Every variation, "
            "and all material added or removed, goes into the running record and the report."
        )
        yield Passage("derived", (Para(Line(words, (APPROVAL, VARIATIONS, CONSULT))),))

    def approvals(self) -> Iterator[Passage]:
        """Yield what is approved, what was said in Review, and the lines to sign."""
        words = self.work.words
        lead = (
            "Approval in writing comes before the work, by the owner or a custodian whose "
            "authority was checked. It holds for this version and its digests only."
        )
        sign = Sign(
            (
                "Owner or authorised custodian",
                "Authority to approve checked by",
                "Conservator responsible for the work",
            ),
            (words.text("approver"), "", words.text("responsible")),
        )
        blocks: tuple[Block, ...] = (Para(Line(lead, (APPROVAL,))), *notices(self.work.chosen))
        if self.reviews is None:
            yield Passage("derived", (*blocks, sign))
            return
        yield Passage("derived", blocks)
        yield from said_in_review(self.reviews)
        named = (("approver", sign.roles[0]), ("responsible", sign.roles[2]))
        rows = tuple((role, Line(words.text(key))) for key, role in named if words.text(key))
        if rows:
            yield Passage("own", (Facts(rows),))
        yield Passage("derived", (sign,))
