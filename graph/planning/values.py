"""The plan: plain frozen values that every door shows alike, and their canonical JSON."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Literal

from leastwise.graph.answer import (
    ActView,
    CaseSummary,
    ClaimView,
    FindingView,
    KnowledgeStamp,
    PolicyView,
    SourceView,
    TestAdvice,
)
from leastwise.graph.encoding import to_json
from leastwise.graph.ids import OptionId
from leastwise.graph.meanings import Verdict

__all__ = [
    "Barred",
    "Binding",
    "FrontierPoint",
    "LeftUndone",
    "Material",
    "MeansView",
    "OpenPoint",
    "OrderReason",
    "Plan",
    "ProjectHours",
    "Section",
    "Step",
    "StepTime",
    "TriedFirst",
    "UseLimit",
]


@dataclass(frozen=True, slots=True)
class Material:
    """Something that is used; *amount* is (least, most) in *unit*, empty where not computed."""

    item: str
    amount: tuple[float, ...]
    unit: str
    because: str
    claims: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class UseLimit:
    """A limit within which the object may serve its aim; *kept* is yes, no or unknown."""

    quantity: str
    allowed: str
    planned: str
    kept: str
    remark: str
    parts: tuple[str, ...]
    basis: str
    claims: tuple[str, ...]

    @property
    def is_light(self) -> bool:
        """Whether it limits light."""
        return self.quantity in ("illuminance", "light dose a year")

    @property
    def in_words(self) -> str:
        """The limit in a sentence."""
        words = f"{self.quantity[:1].upper()}{self.quantity[1:]}: {self.allowed}."
        return f"{words} {self.remark}" if self.remark else words


@dataclass(frozen=True, slots=True)
class Section:
    """Parts of a step that are worked one after another, or as a group."""

    parts: tuple[str, ...]
    one_after_another: bool
    in_words: str


@dataclass(frozen=True, slots=True)
class OrderReason:
    """Why a step comes after an earlier one; *wait_until* says what has to hold in between."""

    step: int
    because: str
    wait_until: str
    claims: tuple[str, ...]
    entry: str


@dataclass(frozen=True, slots=True)
class StepTime:
    """When to look, stop or dry; *basis* is computed for a planned pack, or practice."""

    what: str
    value: str
    basis: str
    remark: str
    claims: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class TriedFirst:
    """Gentle work on the same damage that is tried before a step; *hours* come on top of its own.

    The step itself follows only for what stays.
    """

    option: OptionId
    label: str
    damage: str
    hours: tuple[float, ...]
    because: str
    in_words: str


@dataclass(frozen=True, slots=True)
class Step:
    """One piece of work; *hours* are (least, most) with a shared set-up counted in one step only.

    *hours_basis* says which recorded size they follow from, or that none is recorded. *times* are
    those of the clock, which the bench sheet shows too; *worked* is what is worked out for a mount
    or a support: sizes, loads, what to take; *limits* are what the step has to keep, such as light
    with its days.

    *shares_set_up_with* is the number of the step that has the set-up, 0 if this one has its own.
    *acts* come first and make it possible. Where the step is undecided, *waits_for* says what
    would settle it, and *otherwise* what is left for each damage if that comes out badly.
    *tried_first* is gentler work that may do part of it, each damage's own.
    """

    number: int
    options: tuple[OptionId, ...]
    technique: str
    label: str
    damages: tuple[str, ...]
    verdict: Verdict
    because: str
    burden: float
    hours: tuple[float, ...]
    hours_basis: str
    shares_set_up_with: int
    sections: tuple[Section, ...]
    acts: tuple[ActView, ...]
    waits_for: tuple[str, ...]
    otherwise: tuple[str, ...]
    set_up: str
    equipment: str
    materials: tuple[Material, ...]
    times: tuple[StepTime, ...]
    worked: tuple[StepTime, ...]
    limits: tuple[str, ...]
    monitoring: str
    stop_sign: str
    take_care: tuple[str, ...]
    after: tuple[OrderReason, ...]
    claims: tuple[str, ...]
    tried_first: tuple[TriedFirst, ...] = ()


@dataclass(frozen=True, slots=True)
class Barred:
    """A more helpful option that is not in the plan, and what bars it."""

    option: OptionId
    label: str
    verdict: Verdict
    because: str
    claims: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class LeftUndone:
    """A damage that is left alone (*done* is false) or answered in part, and why."""

    damage: str
    label: str
    parts: tuple[str, ...]
    option: OptionId | Literal[""]
    done: bool
    meets_aim: bool
    because: str
    hours: tuple[float, ...]
    watch: str
    stop_sign: str
    barred: tuple[Barred, ...]


@dataclass(frozen=True, slots=True)
class OpenPoint:
    """Something to settle before an undecided option begins.

    *how* says whether any of the things in *any_of* does it, or each of them is needed.
    """

    option: OptionId
    message: str
    any_of: tuple[str, ...]
    claims: tuple[str, ...]
    how: str = "Any of"


@dataclass(frozen=True, slots=True)
class MeansView:
    """The means that the plan was held to; "unknown" means that no limit could be held."""

    hours: float | str
    skill: str
    equipment: tuple[str, ...] | str


@dataclass(frozen=True, slots=True)
class Binding:
    """A limit without which more of the aim would be met, and what that would take."""

    limit: str  # hours, skill, equipment, means together, open questions
    at_hand: str
    needed: str
    shortfall: int
    options: tuple[OptionId, ...]
    in_words: str


@dataclass(frozen=True, slots=True)
class FrontierPoint:
    """How much help some hours buy: grades of hindrance taken away, over all damages."""

    hours: tuple[float, ...]
    benefit: int
    burden: float
    damages_that_meet_the_aim: int
    within_means: bool
    options: tuple[OptionId, ...]


@dataclass(frozen=True, slots=True)
class ProjectHours:
    """How long published projects took beside what was reckoned for them, and so this work.

    *factors* are the lower end, the middle and the upper end of how many times as long; *hours*
    those between which such work lies in nine of ten cases, *half* those of every other. *sized*:
    they are projects whose size is known, as most of this work's is.
    """

    projects: int
    sized: bool
    factors: tuple[float, float, float]
    half: tuple[float, float]
    hours: tuple[float, float]

    @property
    def in_words(self) -> str:
        """How far it may differ, in a sentence or two."""
        which = "whose size is known" if self.sized else "of unknown size"
        low, middle, high = self.factors
        words = (
            f"{self.projects} published projects {which} took {middle:.2g} times what is reckoned "
            f"here, in the middle. By them half of all such work takes {_span(self.half)} h, and "
            f"nine of ten {_span(self.hours)} h ({low:.2g} to {high:.0f} times)"
        )
        return words if self.sized else f"{words}; sizes, once recorded, narrow it"


def _span(hours: tuple[float, float]) -> str:
    return f"{hours[0]:g} to {hours[1]:g}"


@dataclass(frozen=True, slots=True)
class Plan:
    """One option for each damage, in order of work, with what it takes and what it leaves.

    *possible* is false where not even leaving everything alone fits the means or the rules.
    *shortfall* adds up the grades of hindrance that stay above what the policy allows.
    """

    case: CaseSummary
    stamp: KnowledgeStamp
    policy: PolicyView
    undecided_allowed: bool
    possible: bool
    meets_aim: bool
    in_words: str
    people_first: tuple[FindingView, ...]
    record: tuple[FindingView, ...]
    tests_first: tuple[TestAdvice, ...]
    settle_first: tuple[OpenPoint, ...]
    steps: tuple[Step, ...]
    left_undone: tuple[LeftUndone, ...]
    use_limits: tuple[UseLimit, ...]
    hours: tuple[float, ...]
    hours_saved: tuple[float, ...]
    hours_of_projects: ProjectHours | None
    burden: float
    shortfall: int
    means: MeansView
    binding: tuple[Binding, ...]
    frontier: tuple[FrontierPoint, ...]
    claims: Mapping[str, ClaimView]
    sources: Mapping[str, SourceView]

    def as_json(self) -> str:
        """Return the plan as JSON: the same bytes for the same case, knowledge and rules."""
        return to_json(self) + "\n"
