"""The steps of a case, as the sidebar of its pages shows them."""

from __future__ import annotations

from dataclasses import dataclass

__all__ = ["RECORD_STEPS", "STEPS", "Step"]


@dataclass(frozen=True, slots=True)
class Step:
    """One step of the way of a case, as the thread on the left shows it."""

    key: str
    label: str
    path: str  # below /cases/{case}


#: The way of a case, in order; the groups are: record it, weigh it, do it.
STEPS: tuple[tuple[str, tuple[Step, ...]], ...] = (
    (
        "Record",
        (
            Step("object", "Object", "/object"),
            Step("parts", "Parts and materials", "/parts"),
            Step("sketch", "Sketch and photographs", "/sketch"),
            Step("contacts", "How parts touch", "/contacts"),
            Step("damages", "Damage", "/damages"),
            Step("tests", "Tests done", "/tests"),
            Step("aim", "Significance, aim, means", "/aim"),
        ),
    ),
    (
        "Weigh",
        (
            Step("options", "Options", "/options"),
            Step("exposure", "What reaches what", "/exposure"),
            Step("past", "Precedents", "/precedents"),
        ),
    ),
    (
        "Do",
        (
            Step("plan", "Plan", "/plan"),
            Step("bench", "Bench sheet", "/bench"),
            Step("proposal", "Proposal", "/proposal"),
            Step("review", "Review", "/review"),
            Step("log", "Treatment log", "/log"),
        ),
    ),
)
RECORD_STEPS = frozenset({"", *(step.key for step in STEPS[0][1])})
