"""What the standards ask a proposal to hold at its stage, and what of it is missing."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from typing import Any

from leastwise.graph.case.record import UNKNOWN, Case, Tri
from leastwise.graph.knowledge.knowledge import Knowledge
from leastwise.graph.proposal.finding import ReviewFinding
from leastwise.graph.proposal.received import Approval, Proposal

__all__ = ["LEVELS", "ElementsDue"]

LEVELS = ("must", "should", "note")
STAGES = {
    "plan": ("examination", "plan"),
    "running": ("examination", "plan", "running"),
    "report": ("examination", "plan", "running", "report"),
}


@dataclass(frozen=True)
class ElementsDue:
    """The elements of a record, held beside one proposal and its case."""

    proposal: Proposal
    case: Case
    knowledge: Knowledge

    def findings(self) -> Iterator[ReviewFinding]:
        """Yield each element that is due at this stage and not there."""
        k = self.knowledge
        for one in k.instances("lw:RecordElement"):
            duty = self._duty(one)
            applies = self._applies(one) if duty else Tri.NO
            if applies is Tri.NO or self._filled(one):
                continue
            label, claims = k.label(one), k.objects(one, "lw:restsOn")
            unsure = applies is Tri.UNKNOWN
            yield ReviewFinding(
                "note" if unsure else duty, "record", k.text(one, "lw:proposalField"),
                f"It is not said whether this is due: {label}."
                if unsure
                else f"Not in the record: {label}.",
                k.text(claims[0], "lw:statement") if claims else "Common practice.",
                (f"record.{k.text(one, 'lw:proposalField')}",), tuple(claims), "",
            )  # fmt: skip

    def _duty(self, element: str) -> str:
        """Return must, should or nothing for the stage of the proposal."""
        k, stages = self.knowledge, STAGES[self.proposal.stage]
        duties = {
            k.text(node, "lw:duty")
            for node in k.objects(element, "lw:due")
            if k.text(node, "lw:stage") in stages
        }
        return next((level for level in LEVELS if level in duties), "")

    def _applies(self, element: str) -> Tri:
        k = self.knowledge
        named = set(k.objects(element, "lw:for"))
        if named and not any(
            named.intersection(k.broader(s.technique)) for s in self.proposal.steps
        ):
            return Tri.NO
        if k.text(element, "lw:onlyWhere") == "contractual":
            return self.proposal.record.contractual
        return Tri.YES

    def _filled(self, element: str) -> bool:
        k = self.knowledge
        field = k.text(element, "lw:proposalField")
        if field == "steps":
            return bool(self.proposal.steps)
        if _says_something(getattr(self.proposal.record, field)):
            return True
        value: Any = self.case
        path = k.text(element, "lw:caseField")
        for name in path.split(".") if path else ():
            value = getattr(value, name)
        return bool(path) and _says_something(value)


def _says_something(value: object) -> bool:
    if isinstance(value, Approval):
        return value.written is Tri.YES and bool(value.by.strip())
    if isinstance(value, str):
        return value.strip().casefold() not in ("", UNKNOWN)
    if isinstance(value, Iterable):
        return any(True for _ in value)
    return value is not None
