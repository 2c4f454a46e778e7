"""A proposal: what somebody wants to do to an object, in order, with reasons and record elements.

Every field of the record that isn't filled in stays ``unknown`` and counts as missing.
"""

from __future__ import annotations

from datetime import date as Day  # noqa: N812 - the field is called date
from importlib import resources
from pathlib import Path
from typing import Annotated, Any, Literal

from pydantic import BaseModel, ConfigDict, Field, ValidationError

from leastwise.graph.case import reading
from leastwise.graph.case.demo import read_demo
from leastwise.graph.case.names import Names, find_concept
from leastwise.graph.case.record import (
    UNKNOWN,
    Case,
    DamageFound,
    LongText,
    Slug,
    Text,
    Tri,
    Unknown,
)
from leastwise.graph.errors import CaseError, LeastwiseError, NotFound, Problem
from leastwise.graph.knowledge.concepts import Catalogue
from leastwise.graph.knowledge.knowledge import Knowledge
from leastwise.graph.proposal.refused import refused_words
from leastwise.graph.weighing.needs import problems as problems_here

__all__ = [
    "Approval",
    "Proposal",
    "ProposalError",
    "ProposalRecord",
    "ProposedStep",
    "demo_proposal",
    "parse_proposal",
    "proposal_schema",
    "read_proposal",
]

Filled = Annotated[str, Field(min_length=1, max_length=8000)]
Concept = Annotated[
    str, Field(min_length=1, max_length=120, description="a CURIE or a label of the knowledge")
]


class ProposalError(CaseError):
    """A proposal that can't be read; carries every problem found, not only the first."""


class _Record(BaseModel):
    model_config = ConfigDict(frozen=True, extra="forbid")


class ProposedStep(_Record):
    """One technique on one damage or need of the case; steps stand in the order of the work."""

    damage: Slug = Field(description="the id of a damage or need of the case")
    technique: Concept
    reason: LongText = ""
    considered: list[Concept] = Field(
        default_factory=list, max_length=60, description="other techniques that were weighed"
    )


class Approval(_Record):
    """Written approval of the owner or authorised custodian."""

    written: Tri = Tri.UNKNOWN
    by: Annotated[str, Field(max_length=200)] = ""
    date: Day | Unknown = UNKNOWN


class ProposalRecord(_Record):
    """What the documentation standards ask a proposal or report to hold."""

    purpose: Filled = UNKNOWN
    recorder: Filled = UNKNOWN
    date: Day | Unknown = UNKNOWN
    identification: Filled = UNKNOWN
    methods: Filled = UNKNOWN
    observation: Filled = UNKNOWN
    interpretation: Filled = UNKNOWN
    present_condition: Filled = UNKNOWN
    past_treatment: Filled = UNKNOWN
    significance: Filled = UNKNOWN
    images_before: Filled = UNKNOWN
    images_during: Filled = UNKNOWN
    images_after: Filled = UNKNOWN
    materials: list[Text] = Field(default_factory=list, max_length=200)
    hours: Annotated[float, Field(ge=0, le=100000)] | Unknown = UNKNOWN
    contractual: Tri = Tri.UNKNOWN
    cost: Filled = UNKNOWN
    benefits: Filled = UNKNOWN
    risks: Filled = UNKNOWN
    options_considered: list[Text] = Field(default_factory=list, max_length=200)
    approval: Approval = Approval()
    compensation: Filled = UNKNOWN
    actions: list[Text] = Field(default_factory=list, max_length=5000)
    variations: Filled = UNKNOWN
    added_or_removed: Filled = UNKNOWN
    final_state: Filled = UNKNOWN
    future_care: Filled = UNKNOWN


class Proposal(_Record):
    """What is proposed for one object."""

    leastwise_proposal: Literal[1] = Field(description="version of this format")
    id: Slug
    title: Text
    demo: bool = Field(default=False, description="true for an invented proposal")
    stage: Literal["plan", "running", "report"] = Field(
        "plan", description="how far the work is; decides what the record has to hold"
    )
    case: dict[str, Any] | Text = Field(
        description="the case record itself, demo:NAME, or the path of a case file"
    )
    steps: list[ProposedStep] = Field(default_factory=list, max_length=500)
    record: ProposalRecord = ProposalRecord()


def proposal_schema() -> dict[str, Any]:
    """Return the JSON Schema of a proposal."""
    schema = Proposal.model_json_schema()
    return {"$schema": "https://json-schema.org/draft/2020-12/schema", **schema}


def demo_proposal(name: str) -> Path:
    """Return the file of an invented proposal.

    Raises:
        NotFound: no demo proposal is called so; those that there are stand in the message.

    """
    folder = Path(str(resources.files("leastwise.seed_data"))) / "demo" / "proposals"
    names = sorted(path.stem for path in folder.glob("*.yaml"))
    if name not in names:
        raise NotFound("demo proposal", name, names)
    return folder / f"{name}.yaml"


def read_proposal(path: Path, knowledge: Knowledge) -> tuple[Proposal, Case]:
    """Return the proposal in a JSON or YAML file and its case; a path is taken from that file.

    Raises:
        ProposalError: the file or its case can't be read, or a field is wrong.

    """
    try:
        if path.stat().st_size > reading.MAX_BYTES:
            raise ProposalError([Problem(str(path), "a file over 8 MiB", "a smaller file")])
        text = path.read_text("utf-8")
    except UnicodeDecodeError as error:
        raise ProposalError(
            [Problem(str(path), "a file that isn't UTF-8", "UTF-8 text")]
        ) from error
    except OSError as error:
        raise ProposalError([Problem(str(path), f"{error.strerror}", "a readable file")]) from error
    is_json = path.suffix.lower() == ".json"
    return parse_proposal(text, knowledge, is_json=is_json, folder=path.parent)


def parse_proposal(
    text: str, knowledge: Knowledge, *, is_json: bool = False, folder: Path | None = None
) -> tuple[Proposal, Case]:
    """Return the proposal written in *text* and its case, with names tied to the knowledge.

    Without a *folder* the case has to stand in the proposal or be a demo case: nothing is read.

    Raises:
        ProposalError: with every problem found, those of the case under ``case.``.

    """
    try:
        data = reading.load_text(text, is_json=is_json)
        if not isinstance(data, dict):
            raise ProposalError(
                [Problem("the proposal", reading.show(data), "a mapping of fields to values")]
            )
        proposal = Proposal.model_validate(data)
    except ValidationError as error:
        raise ProposalError(reading.as_problems(error)) from error
    except CaseError as error:
        raise ProposalError(list(error.problems)) from error
    case = _case_of(proposal, knowledge, folder)
    return _resolved(proposal, case, knowledge), case


def _case_of(proposal: Proposal, knowledge: Knowledge, folder: Path | None) -> Case:
    try:
        if isinstance(proposal.case, dict):
            return reading.case_from_data(proposal.case, knowledge)
        if proposal.case.startswith("demo:"):
            return read_demo(proposal.case.removeprefix("demo:"), knowledge)
    except CaseError as error:
        raise ProposalError(
            [Problem(f"case.{p.path}", p.given, p.accepted) for p in error.problems]
        ) from error
    except LeastwiseError as error:
        raise ProposalError([Problem("case", str(error), "a demo case")]) from error
    if folder is None:
        accepted = "the case record itself, or demo:NAME"
        raise ProposalError([Problem("case", repr(proposal.case), accepted)])
    try:
        return reading.read_case(folder / proposal.case, knowledge)
    except CaseError as error:
        raise ProposalError(
            [
                Problem(f"case ({proposal.case}): {p.path}", p.given, p.accepted)
                for p in error.problems
            ]
        ) from error


def problems_of(case: Case, knowledge: Knowledge) -> tuple[DamageFound, ...]:
    """Return what a step may be for: the damages of a case, and its needs."""
    return problems_here(case, knowledge.made("catalogue", lambda k, _: Catalogue(k)))


def _resolved(proposal: Proposal, case: Case, knowledge: Knowledge) -> Proposal:
    """Return the proposal with every technique named by its CURIE, and damages that are there.

    A practice not to use may stand in place of a technique, so that the check can speak of it.
    """
    damages, refused = [d.id for d in problems_of(case, knowledge)], refused_words(knowledge)
    problems: list[Problem] = []
    names = Names(knowledge, problems)

    steps = []
    for i, step in enumerate(proposal.steps):
        if step.damage not in damages:
            accepted = f"the id of a damage of the case ({', '.join(damages) or 'it has none'})"
            problems.append(Problem(f"steps[{i}].damage", repr(step.damage), accepted))
        practice = refused.named(step.technique)
        chosen = (
            practice.id
            if practice and not find_concept(step.technique, "technique", knowledge)
            else names.of(f"steps[{i}].technique", step.technique, "technique")
        )
        considered = [
            names.of(f"steps[{i}].considered[{j}]", one, "technique")
            for j, one in enumerate(step.considered)
        ]
        steps.append(step.model_copy(update={"technique": chosen, "considered": considered}))
    if problems:
        raise ProposalError(problems)
    return proposal.model_copy(update={"steps": steps})
