"""What the documentation standards ask a proposal to hold, and how this one meets each point.

The elements are knowledge (``lw:RecordElement``); a few more that identification and the care of
people ask for stand below with the claims they rest on.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass

from leastwise.graph.case.record import UNKNOWN
from leastwise.graph.meanings import Verdict
from leastwise.graph.proposal.report.choice import Work
from leastwise.graph.proposal.report.record import said
from leastwise.graph.proposal.report.reviews import Reviews
from leastwise.graph.proposal.report.values import Element, State

__all__ = ["Elements"]

STAGES = ("examination", "plan")
DUTIES = ("must", "should")
#: The field of a record element -> the section of ours that meets it.
SECTIONS = {
    "purpose": "purpose",
    "recorder": "purpose",
    "date": "purpose",
    "identification": "identification",
    "observation": "observation",
    "interpretation": "interpretation",
    "methods": "methods",
    "present_condition": "condition",
    "past_treatment": "past_treatment",
    "significance": "significance",
    "images_before": "images",
    "steps": "method",
    "materials": "method",
    "hours": "time",
    "cost": "cost",
    "benefits": "benefits",
    "risks": "risks",
    "options_considered": "options",
    "approval": "approvals",
    "compensation": "compensation",
}
#: Further elements: key, label, duty, section, claims.
FURTHER = (
    ("keeper", "owner or keeper", "must", "identification", ("claim:E-265",)),
    ("made", "date made", "must", "identification", ("claim:E-265",)),
    ("maker", "maker, or that none is known", "must", "identification", ("claim:E-265",)),
    ("size", "size", "must", "identification", ("claim:E-265",)),
    ("marks", "marks, or that there are none", "must", "identification", ("claim:E-265",)),
    ("aims", "aims, stated before the means", "must", "aims", ("claim:E-263",)),
    ("tests", "tests done and to be done", "must", "tests", ("claim:E-267",)),
    ("people", "safety of people", "must", "people", ("claim:E-276",)),
    ("display", "limits of use", "should", "display", ("claim:E-262",)),
    ("future_care", "recommendations for future care", "should", "future_care", ("claim:E-278",)),
    ("competence", "who is competent for the work", "must", "competence", ("claim:E-277",)),
    ("deviations", "departures are approved again", "must", "deviations", ("claim:E-270",)),
)
SECTION_OF_REASON = "options"
Met = tuple[State, str]


@dataclass(frozen=True)
class Elements:
    """Holds the proposal against what is asked for."""

    work: Work
    pictures_before: int
    reviews: Reviews | None = None

    def all(self) -> tuple[Element, ...]:
        """Return the elements that are due, those of the record first."""
        return (*self._of_knowledge(), *self._further(), *self._reasons())

    def _of_knowledge(self) -> Iterator[Element]:
        k = self.work.adviser.knowledge
        for one in k.instances("lw:RecordElement"):
            duties = {
                k.text(node, "lw:duty")
                for node in k.objects(one, "lw:due")
                if k.text(node, "lw:stage") in STAGES
            }
            duty = next((d for d in DUTIES if d in duties), "")
            field = k.text(one, "lw:proposalField")
            if not duty or field not in SECTIONS:
                continue
            state, remark = self._met(field, one)
            yield Element(
                field, k.label(one), duty, state, remark, SECTIONS[field],
                tuple(k.objects(one, "lw:restsOn")),
            )  # fmt: skip

    def _further(self) -> Iterator[Element]:
        for key, label, duty, section, claims in FURTHER:
            state, remark = self._met_further(key)
            yield Element(key, label, duty, state, remark, section, claims)

    def _reasons(self) -> Iterator[Element]:
        """Yield the reasons that choices against the rules or the open points ask for."""
        for one in self.work.chosen:
            if one.is_own_choice and one.verdict in (Verdict.UNDECIDED, Verdict.DEFEATED):
                state: State = "missing" if one.needs_reason else "own"
                label = f"reason for choosing {one.label} for {one.damage_label}, {one.verdict}"
                yield Element(
                    f"reason:{one.damage}", label, "must", state, "", SECTION_OF_REASON,
                    ("claim:E-253",),
                )  # fmt: skip

    def _met(self, field: str, element: str) -> Met:
        met: dict[str, Callable[[], Met]] = {
            "steps": self._course,
            "materials": self._materials,
            "options_considered": self._options,
            "cost": self._cost,
            "approval": self._approval,
            "images_before": self._images,
            "hours": lambda: self._written("time", bool(self.work.answer.damages)),
            "benefits": lambda: self._written("benefits", bool(self.work.proposed)),
            "risks": lambda: self._written("risks", bool(self.work.proposed)),
            "methods": self._methods,
            "interpretation": lambda: self._written("interpretation", bool(self.work.case.damages)),
        }
        if field in met:
            return met[field]()
        if field == "compensation":
            return self._compensation(element)
        return self._recorded(field)

    def _recorded(self, field: str) -> Met:
        """Return how the record, or own words beside it, meets an element."""
        case, words = self.work.case, self.work.words
        there = {
            "purpose": said(case.record.purpose),
            "recorder": said(case.record.recorder),
            "date": said(case.record.date),
            "identification": said(case.object.identifier),
            "observation": case.parts,
            "present_condition": case.damages,
            "past_treatment": said(case.object.past_treatment),
            "significance": case.significance.statement.strip(),
        }[field]
        if there:
            return "record", ""
        own = SECTIONS[field] if field not in ("recorder", "date") else ""
        if own and words.text(own):
            return "own", ""
        return "missing", "fill it in in the record"

    def _written(self, section: str, derived: bool) -> Met:
        if self.work.words.text(section):
            return "own", "" if derived else "nothing was derived"
        return ("derived", "") if derived else ("missing", "in own words")

    def _course(self) -> Met:
        open_ones = [c.damage for c in self.work.chosen if not c.option]
        if open_ones:
            return "missing", f"nothing is proposed yet for {', '.join(open_ones)}"
        if self.work.order_fault:
            return "missing", "the work can't be put in order"
        return "derived", "" if self.work.steps else "nothing is done; it is left alone and watched"

    def _materials(self) -> Met:
        if self.work.words.text("method"):
            return "own", ""
        if not self.work.steps:
            return "not due", "no work is proposed"
        named = any(s.materials or s.equipment.strip() for s in self.work.steps)
        return ("derived", "") if named else ("missing", "in own words, under method")

    def _options(self) -> Met:
        if not self.work.answer.damages:
            return "not due", "no damage is recorded"
        return "derived", "leaving alone among them"

    def _cost(self) -> Met:
        if self.work.words.text("cost"):
            return "own", ""
        match self.work.words.contractual:
            case "yes":
                return "missing", "in own words"
            case "no":
                return "not due", "the work is not contractual"
            case _:
                return "missing", "say whether the work is contractual"

    def _approval(self) -> Met:
        reviews = self.reviews or Reviews()
        signed = reviews.approval
        if signed is None:
            return "missing", reviews.why_not
        return "signed", f"{reviews.versions[-1].name}, by {signed.who} on {signed.at}"

    def _images(self) -> Met:
        if self.pictures_before:
            return "record", f"{self.pictures_before} photographs"
        if self.work.words.text("images"):
            return "own", ""
        return "missing", "add photographs to the case"

    def _methods(self) -> Met:
        return ("own", "") if self.work.words.text("methods") else ("missing", "in own words")

    def _compensation(self, element: str) -> Met:
        k = self.work.adviser.knowledge
        named = set(k.objects(element, "lw:for"))
        due = any(named.intersection(k.broader(o.technique)) for o in self.work.proposed)
        if self.work.words.text("compensation"):
            return "own", ""
        return ("missing", "in own words") if due else ("not due", "nothing proposed fills a loss")

    def _identified(self, key: str) -> Met:
        case, words = self.work.case, self.work.words
        if key in ("maker", "size", "marks"):
            return ("own", "") if words.text(key) else ("missing", "in own words")
        if key == "keeper":
            is_there = bool(said(case.object.keeper) or words.text("owner"))
        else:
            is_there = bool(said(case.object.made)) or case.object.made_from != UNKNOWN
        return ("record", "") if is_there else ("missing", "fill it in in the record")

    def _met_further(self, key: str) -> Met:
        case, words = self.work.case, self.work.words
        if key in ("keeper", "made", "maker", "size", "marks"):
            return self._identified(key)
        if words.text(key):
            return "own", ""
        if key == "aims":
            return "record", ""
        if key == "tests":
            return "derived", f"{len(case.tests)} done, {len(self.work.tests_open)} to be done"
        return "derived", ""
