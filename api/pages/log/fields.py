"""The fields of the treatment record as a form shows them."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from leastwise.graph import Case
from leastwise.graph.answer import Answer
from leastwise.graph.planning.values import Plan
from leastwise.graph.treatment.report import (
    MANNER_WORDS,
    QUANTITY_WORDS,
    RESULT_WORDS,
    STATE_WORDS,
)

__all__ = ["FINAL", "LISTINGS", "Field", "Listing", "Work", "fields_of"]

Choices = tuple[tuple[str, str], ...]

STATES: Choices = tuple(STATE_WORDS.items())
RESULTS: Choices = tuple(RESULT_WORDS.items())
QUANTITIES: Choices = tuple(QUANTITY_WORDS.items())
MANNERS: Choices = tuple(MANNER_WORDS.items())


@dataclass(frozen=True, slots=True)
class Field:
    """One field: *kind* is text, long, number, date, time, choose or tap."""

    name: str
    label: str
    kind: str = "text"
    hint: str = ""
    options: Choices = ()
    optional: bool = False
    unit: str = ""


@dataclass(frozen=True, slots=True)
class Work:
    """What the choices of the forms come from."""

    case: Case
    plan: Plan
    answer: Answer


@dataclass(frozen=True, slots=True)
class Listing:
    """One list of the record, with the words around it."""

    key: str
    title: str
    one: str
    lead: str
    fields: Callable[[Work], tuple[Field, ...]]


def _parts(case: Case) -> Choices:
    return tuple((part.id, part.name) for part in case.parts)


def _whole(case: Case) -> Choices:
    return (("", "the whole object"), *_parts(case))


def _planned(work: Work) -> Choices:
    """Return the steps that may be chosen: a further one, and those of the plan."""
    return (
        ("", "a further step"),
        *(
            (option, f"{step.number}. {step.label}: {option.problem}")
            for step in work.plan.steps
            for option in step.options
        ),
    )


def _steps(work: Work) -> tuple[Field, ...]:
    return (
        Field("planned", "Step of the plan", "choose", options=_planned(work)),
        Field("what", "What was done", hint="For example: pack laid on the top tier, 40 minutes."),
        Field("state", "How far", "tap", options=STATES),
        Field("date", "Day", "date"),
        Field("by", "Done by"),
        Field("hours", "Time taken", "number", optional=True, unit="hours"),
        Field(
            "deviation",
            "What was otherwise than planned, and why",
            "long",
            "Stays empty if all went as planned. A deviation that matters needs approval first.",
            optional=True,
        ),
        Field("approved_by", "Deviation approved by", hint="Name and role.", optional=True),
        Field("note", "Seen meanwhile", "long", optional=True),
    )


def _readings(work: Work) -> tuple[Field, ...]:
    return (
        Field("quantity", "What was read", "choose", options=QUANTITIES),
        Field("value", "Value", "number"),
        Field(
            "unit",
            "Unit",
            hint="Humidity in %; temperature in °C, K or °F; time in s, min, h or d; weight in mg, "
            "g or kg; pH; conductivity in µS/cm or mS/cm.",
        ),
        Field("date", "Day", "date"),
        Field("time", "Time", "time", optional=True),
        Field("part", "Where", "choose", options=_whole(work.case)),
        Field("by", "Read by", optional=True),
        Field("note", "Note", "long", optional=True),
    )


def _materials(work: Work) -> tuple[Field, ...]:
    return (
        Field("what", "Material", hint="For example: silk crepeline, dyed."),
        Field("manner", "What became of it", "tap", options=MANNERS),
        Field("batch", "Batch", optional=True),
        Field("maker", "Maker or supplier", optional=True),
        Field("amount", "Amount, with its unit", optional=True),
        Field("part", "Where", "choose", options=_whole(work.case)),
        Field("date", "Day", "date"),
        Field("note", "Note", "long", optional=True),
    )


def _outcomes(work: Work) -> tuple[Field, ...]:
    planned = ((step.technique, step.label) for step in work.plan.steps)
    others = sorted((o.technique, o.label) for o in work.answer.options() if not o.is_baseline)
    techniques = dict([*planned, *others])  # those of the plan first
    damages = tuple((d.id, f"{d.label} ({d.id.replace('-', ' ')})") for d in work.answer.damages)
    return (
        Field("part", "Part", "choose", options=_parts(work.case)),
        Field("damage", "Damage", "choose", options=damages),
        Field("technique", "Technique", "choose", options=tuple(techniques.items())),
        Field("result", "What came of it", "tap", options=RESULTS),
        Field("date", "Day", "date"),
        Field("by", "Judged by"),
        Field("note", "What is seen", "long", "Apart from what it may mean.", optional=True),
    )


def _follow_ups(_: Work) -> tuple[Field, ...]:
    return (
        Field("due", "Look again on", "date"),
        Field("what", "At what", hint="For example: colour of the laid silk, tension of the seam."),
        Field("done", "Looked at on", "date", optional=True),
        Field("by", "By", optional=True),
        Field("found", "What was found", "long", optional=True),
    )


#: In the order in which the work goes.
LISTINGS: dict[str, Listing] = {
    one.key: one
    for one in (
        Listing(
            "steps",
            "Steps done",
            "step",
            "What was done, on which day and by whom, against the plan.",
            _steps,
        ),
        Listing(
            "readings",
            "Readings",
            "reading",
            "Relative humidity, temperature, times and weights as they were read.",
            _readings,
        ),
        Listing(
            "materials",
            "Materials",
            "material",
            "What was added, removed or used, with its batch.",
            _materials,
        ),
        Listing(
            "outcomes",
            "Outcome by part",
            "outcome",
            "What came of each technique on each part. It is counted under Precedents.",
            _outcomes,
        ),
        Listing(
            "follow_ups",
            "Follow-up",
            "follow-up",
            "When somebody has to look again, and what was found.",
            _follow_ups,
        ),
    )
}

#: The final record.
FINAL: tuple[Field, ...] = (
    Field("state_after", "State after treatment", "long"),
    Field("changes", "What changed", "long", "What the treatment changed on the object."),
    Field("new_information", "What was learnt", "long", optional=True),
    Field(
        "compensation",
        "What was added for looks",
        "long",
        "Where it is, how it can be told from the original, how it is taken off again.",
        optional=True,
    ),
    Field("future_care", "Advice for future care", "long"),
    Field("recorder", "Recorded by"),
    Field("date", "Day", "date"),
)


def fields_of(listing: str, work: Work) -> tuple[Field, ...]:
    """Return the fields of a list, with the choices that the case and its plan give."""
    return LISTINGS[listing].fields(work)
