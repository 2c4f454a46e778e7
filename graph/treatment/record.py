"""The treatment record: what was done, by whom, with what, what was read, what came of it.

It is a running record: entries are added as the work goes on. What a running record and a final
record must hold stands in the claims E-272 (dated, who did it, images), E-273 (procedures,
variations from the plan, materials added or removed, state after), E-270 (approval of deviations)
and E-278 (future care).
"""

from __future__ import annotations

from collections.abc import Collection, Iterable, Iterator, Mapping
from dataclasses import dataclass
from datetime import date as Day  # noqa: N812 - the field is called date
from typing import Annotated, Literal

from pydantic import BaseModel, ConfigDict, Field, ValidationError

from leastwise.graph.case.reading import as_problems
from leastwise.graph.case.record import Case, Concept, LongText, Slug, Text
from leastwise.graph.case.written import UNNAMED
from leastwise.graph.errors import CaseError, Problem
from leastwise.graph.ids import OptionId, problem_in_words
from leastwise.graph.treatment.precedents import Outcome

__all__ = [
    "FinalState",
    "FollowUp",
    "MaterialUsed",
    "Missing",
    "PartOutcome",
    "Reading",
    "StepDone",
    "TreatmentError",
    "TreatmentRecord",
    "due",
    "missing_in",
    "outcomes_of",
    "treatment_from_data",
]

Who = Annotated[str, Field(min_length=1, max_length=200)]
Optional = Annotated[str, Field(max_length=200)]
Maybe = Annotated[str, Field(max_length=64)]
Stage = Literal["before", "during", "after"]


class TreatmentError(CaseError):
    """A treatment record that can't be read; carries every problem found, not only the first."""


class _Entry(BaseModel):
    model_config = ConfigDict(frozen=True, extra="forbid")

    id: Slug


class StepDone(_Entry):
    """A step as it was done; *planned* names the option of the plan, empty for a further step."""

    planned: Annotated[str, Field(max_length=200)] = ""
    what: Text
    state: Literal["done", "partly", "stopped", "not-done"]
    date: Day
    by: Who
    hours: Annotated[float, Field(ge=0, le=10000)] | None = None
    deviation: LongText = Field("", description="what was done otherwise than planned, and why")
    approved_by: Optional = Field("", description="who approved the deviation in writing")
    note: LongText = ""


class Reading(_Entry):
    """A value read during the work, with its unit."""

    date: Day
    time: Annotated[str, Field(pattern=r"^$|^([01]\d|2[0-3]):[0-5]\d$", examples=["14:30"])] = ""
    quantity: Literal["rh", "temperature", "duration", "weight", "ph", "conductivity", "other"]
    value: Annotated[float, Field(ge=-1e6, le=1e9)]
    unit: Annotated[str, Field(min_length=1, max_length=20, examples=["%", "°C", "min", "g"])]
    part: Maybe = ""
    by: Optional = ""
    note: LongText = ""


class MaterialUsed(_Entry):
    """A material that was added to the object, removed from it or only used on it."""

    what: Text
    manner: Literal["added", "removed", "used"]
    batch: Optional = ""
    maker: Optional = ""
    amount: Optional = ""
    part: Maybe = ""
    date: Day
    note: LongText = ""


class PartOutcome(_Entry):
    """What came of a technique on a part."""

    part: Slug
    damage: Slug = Field(description="the id of a damage of the case")
    technique: Concept
    result: Literal["met", "partly", "not-met", "harm"]
    date: Day
    by: Who
    note: LongText = Field("", description="what is seen, apart from what it may mean")


class FollowUp(_Entry):
    """A day on which somebody has to look again, and what was found."""

    due: Day
    what: Text
    done: Day | None = None
    by: Optional = ""
    found: LongText = ""


class FinalState(BaseModel):
    """How the object was left."""

    model_config = ConfigDict(frozen=True, extra="forbid")

    state_after: LongText = ""
    changes: LongText = ""
    new_information: LongText = ""
    compensation: LongText = Field("", description="what was added for looks, where, detectable?")
    future_care: LongText = ""
    recorder: Optional = ""
    date: Day | None = None


class TreatmentRecord(BaseModel):
    """The running record of one case."""

    model_config = ConfigDict(frozen=True, extra="forbid")

    steps: list[StepDone] = Field(default_factory=list, max_length=2000)
    readings: list[Reading] = Field(default_factory=list, max_length=20000)
    materials: list[MaterialUsed] = Field(default_factory=list, max_length=2000)
    outcomes: list[PartOutcome] = Field(default_factory=list, max_length=5000)
    follow_ups: list[FollowUp] = Field(default_factory=list, max_length=500)
    final: FinalState = FinalState()


@dataclass(frozen=True, slots=True)
class Missing:
    """Something that a final record must hold and this one doesn't, with the claim that asks."""

    what: str
    where: str
    claim: str


def treatment_from_data(data: object, case: Case | None = None) -> TreatmentRecord:
    """Return a treatment record from plain data; with *case* its parts and damages are checked.

    Raises:
        TreatmentError: every problem with its path.

    """
    try:
        record = TreatmentRecord.model_validate(data)
    except ValidationError as error:
        raise TreatmentError(as_problems(error)) from error
    if case is not None:
        strange = list(_strange(record, case))
        if strange:
            raise TreatmentError(strange)
    return record


def _strange(record: TreatmentRecord, case: Case) -> Iterator[Problem]:
    """Yield what names a part or a damage that the case doesn't have, and ids given twice."""
    parts = [part.id for part in case.parts]
    damages = [damage.id for damage in case.damages]
    for listing in ("readings", "materials", "outcomes"):
        for i, one in enumerate(getattr(record, listing)):
            if one.part and one.part not in parts:
                yield Problem(f"{listing}[{i}].part", one.part, f"one of {', '.join(parts)}")
    for i, one in enumerate(record.outcomes):
        if one.damage not in damages:
            yield Problem(f"outcomes[{i}].damage", one.damage, f"one of {', '.join(damages)}")
    for listing in ("steps", "readings", "materials", "outcomes", "follow_ups"):
        seen: set[str] = set()
        for i, one in enumerate(getattr(record, listing)):
            if one.id in seen:
                yield Problem(f"{listing}[{i}].id", one.id, "an id that no other entry has")
            seen.add(one.id)


def missing_in(
    record: TreatmentRecord, case: Case, stages: Collection[str], planned: Mapping[str, str]
) -> list[Missing]:
    """Return what a final record still lacks.

    *stages* are those of which there are photographs; *planned* the options of the plan, with
    the labels of their techniques.
    """
    return [
        *_missing_steps(record, planned),
        *_missing_photographs(stages),
        *_missing_outcomes(record, case, planned),
        *_missing_in_final(record.final),
    ]


def _missing_steps(record: TreatmentRecord, planned: Mapping[str, str]) -> Iterator[Missing]:
    if not record.steps:
        yield Missing("what was done, dated, with the name of who did it", "steps", "claim:E-272")
    told = {step.planned for step in record.steps}
    for option, label in planned.items():
        if option not in told:
            what = f"what became of the planned {label} for {problem_in_words(option)}"
            yield Missing(what, "steps", "claim:E-273")
    for step in record.steps:
        if step.deviation and not step.approved_by:
            what = f"written approval of the deviation in {step.what}"
            yield Missing(what, "steps", "claim:E-270")
        if step.state != "done" and not step.deviation:
            yield Missing(f"why {step.what} was {step.state}", "steps", "claim:E-273")


def _missing_photographs(stages: Collection[str]) -> Iterator[Missing]:
    for stage in ("before", "during", "after"):
        if stage not in stages:
            yield Missing(f"a photograph {stage} treatment", "photographs", "claim:E-272")


def _missing_outcomes(
    record: TreatmentRecord, case: Case, planned: Collection[str]
) -> Iterator[Missing]:
    names = {part.id: part.name for part in case.parts}
    judged = {(one.part, one.damage) for one in record.outcomes}
    worked = {OptionId(option).problem for option in planned}
    for damage in case.damages:
        for part in damage.parts:
            if damage.id in worked and (part, damage.id) not in judged:
                what = f"the outcome of {_spaced(damage.id)} on {names.get(part, part)}"
                yield Missing(what, "outcomes", "claim:E-273")


def _spaced(name: str) -> str:
    return name.replace("-", " ")


def _missing_in_final(final: FinalState) -> Iterator[Missing]:
    wanted = (
        ("the state after treatment", "state_after", "claim:E-273"),
        ("what changed", "changes", "claim:E-273"),
        ("what is advised for future care", "future_care", "claim:E-278"),
        ("who recorded it", "recorder", "claim:E-265"),
        ("the date of the record", "date", "claim:E-265"),
    )
    for what, field, claim in wanted:
        if not getattr(final, field):
            yield Missing(what, f"final.{field}", claim)


def _counted(materials: Iterable[str]) -> tuple[str, ...]:
    all_of_it = tuple(materials)
    named = tuple(one for one in all_of_it if one not in UNNAMED.values())
    return named or all_of_it


def outcomes_of(record: TreatmentRecord, case: Case) -> list[Outcome]:
    """Return the outcomes as precedents count them: technique, damage, materials of the part.

    What nobody has named, as a dye that may not be there, counts only where nothing is named.
    """
    parts = {part.id: part for part in case.parts}
    damages = {damage.id: damage.damage for damage in case.damages}
    return [
        Outcome(
            one.technique,
            damages[one.damage],
            _counted(c.material for c in parts[one.part].materials),
            one.result,
            case.demo,
        )
        for one in record.outcomes
        if one.part in parts and one.damage in damages
    ]


def due(
    records: Mapping[str, TreatmentRecord], today: Day, within_days: int = 60
) -> list[tuple[int, str, FollowUp]]:
    """Return (days left, case, follow-up) of what has to be looked at, the most urgent first.

    Days left are negative for what is overdue.
    """
    found = [
        ((one.due - today).days, name, one)
        for name, record in records.items()
        for one in record.follow_ups
        if one.done is None and (one.due - today).days <= within_days
    ]
    return sorted(found, key=lambda f: (f[0], f[1], f[2].id))
