"""The answer: plain frozen values that every door shows alike, and their canonical JSON."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass

from leastwise.graph.encoding import to_json
from leastwise.graph.ids import OptionId
from leastwise.graph.meanings import Remedy, RuleEffect, Stance, Verdict

__all__ = [
    "ActView",
    "Answer",
    "CaseSummary",
    "ClaimView",
    "DamageAnswer",
    "DoNow",
    "FindingView",
    "Headline",
    "KnowledgeStamp",
    "MendView",
    "OptionAnswer",
    "Overlay",
    "OverlayView",
    "Override",
    "PolicyView",
    "Reason",
    "Refrain",
    "SetAsideView",
    "SettleFirst",
    "SettledView",
    "SourceView",
    "TestAdvice",
    "WorkView",
]


@dataclass(frozen=True, slots=True)
class Override:
    """One thing that an overlay overrides: the shipped subject, and a sentence on it."""

    subject: str
    sentence: str

    def __str__(self) -> str:
        return f"{self.subject}: {self.sentence}"

    @property
    def names(self) -> list[str]:
        """The CURIEs that it names, the subject first."""
        return [name.rstrip(".,;:") for name in re.findall(r"\b[a-z]+:[\w./-]+", str(self))]


@dataclass(frozen=True, slots=True)
class Overlay:
    """A folder that was laid over the knowledge, and what it overrides."""

    folder: str
    overrides: tuple[Override, ...]

    @property
    def sentences(self) -> tuple[str, ...]:
        """The overrides as sentences, each once."""
        return tuple(dict.fromkeys(str(one) for one in self.overrides))


@dataclass(frozen=True, slots=True)
class OverlayView:
    """A collection's own folder, and in sentences what of the knowledge beneath it it overrides."""

    folder: str
    overrides: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class KnowledgeStamp:
    """Which program, knowledge and rules an answer came from; the same give the same answer."""

    program: str  # version
    knowledge: str
    rules: str
    overlays: tuple[OverlayView, ...]

    @property
    def in_words(self) -> str:
        """The stamp as a line of text."""
        return f"Leastwise {self.program}, knowledge {self.knowledge}, rules {self.rules}."


@dataclass(frozen=True, slots=True)
class CaseSummary:
    """The case in a few words."""

    id: str
    title: str
    object: str
    demo: bool
    aim: str
    mounting: str


@dataclass(frozen=True, slots=True)
class PolicyView:
    """The policy that put the options in order, with its weights by axis."""

    id: str
    label: str
    definition: str
    weights: Mapping[str, float]
    residual_allowed: int


@dataclass(frozen=True, slots=True)
class MendView:
    """A test, barrier, parting or entry that would lift a finding, or one *condition* of it."""

    kind: Remedy
    what: str
    label: str
    part: str
    material: str
    condition: str = ""


@dataclass(frozen=True, slots=True)
class FindingView:
    """What one rule says, what it rests on, and what lifts it: one mend for each condition."""

    rule: str
    severity: str
    effect: RuleEffect
    theme: str
    message: str
    part: str
    material: str
    agent: str
    via: str
    cautions: tuple[str, ...]
    claims: tuple[str, ...]
    mends: tuple[MendView, ...]
    times: int = 1


@dataclass(frozen=True, slots=True)
class Reason:
    """A node of the tree of reasons: *for*, *against*, *open*, *answered by*, *care*, *order*."""

    stance: Stance | Verdict
    text: str
    claims: tuple[str, ...] = ()
    rule: str = ""
    reasons: tuple[Reason, ...] = ()


@dataclass(frozen=True, slots=True)
class Computed:
    """A dose that was computed for a planned pack, 1 to 4, with the reason that tells of it."""

    dose: int
    reason: Reason


@dataclass(frozen=True, slots=True)
class WorkView:
    """Parts that are worked one after another, or as a group."""

    parts: tuple[str, ...]
    one_after_another: bool
    in_words: str


@dataclass(frozen=True, slots=True)
class ActView:
    """An enabling act of a course: what is done first, and where, so that the rest may follow.

    *supplies* is ``lw:Barrier``, ``lw:Parting`` or a condition; *where* holds one or two parts;
    *hours* are a range.
    """

    technique: str
    label: str
    supplies: str
    where: tuple[str, ...]
    in_words: str
    hours: tuple[float, ...]
    set_up: str


@dataclass(frozen=True, slots=True)
class OptionAnswer:
    """One option with verdict, burden, benefit, findings and reasons.

    *rank* counts from 1 within its damage. Grades run 0 to 4, burden 0 to 1, hours are a range.
    *waiting* is what its open points add to the burden in expectation; *heading* is meets-aim,
    helps, idle or out. *hours_basis* says which size the hours follow from; "" without a rate.
    """

    id: OptionId
    technique: str
    label: str
    definition: str
    groups: tuple[str, ...]
    rank: int
    verdict: Verdict
    verdict_in_words: str
    meets_aim: bool
    hindrance: int
    efficacy: int
    residual: int
    burdens: Mapping[str, int]
    burden: float
    waiting: float
    heading: str
    hours: tuple[float, ...]
    hours_basis: str
    skill: int
    is_baseline: bool
    dominated_by: tuple[OptionId, ...]
    work: tuple[WorkView, ...]
    acts: tuple[ActView, ...]
    set_up: str
    monitoring: str
    stop_sign: str
    equipment: str
    findings: tuple[FindingView, ...]
    reasons: Reason


@dataclass(frozen=True, slots=True)
class SetAsideView:
    """A technique that is no option here, since a condition of its effect fails."""

    technique: str
    label: str
    because: str


@dataclass(frozen=True, slots=True)
class Place:
    """One place of a list: the option that leads it, and *beside* it what goes much the same way.

    *way* names the way in words and *choice* what decides between them; both are "" where an
    option stands alone.
    """

    leads: OptionId
    beside: tuple[OptionId, ...]
    way: str = ""
    choice: str = ""

    @property
    def options(self) -> list[OptionId]:
        """Return the ids of all options of the place, the best first."""
        return [self.leads, *self.beside]


@dataclass(frozen=True, slots=True)
class DamageAnswer:
    """One damage that was found, or one need, with its options in order.

    *kind* is damage or need; a need is *derived* where it follows from the record.
    *shown* holds the ids of what is worth weighing, in order; the others are dominated, idle or
    defeated. *places* is the same choice, with options that go much the same way in one place.
    """

    id: str
    damage: str
    label: str
    parts: tuple[str, ...]
    activity: str
    options: tuple[OptionAnswer, ...]
    shown: tuple[OptionId, ...]
    kind: str = "damage"
    derived: bool = False
    set_aside: tuple[SetAsideView, ...] = ()
    places: tuple[Place, ...] = ()


@dataclass(frozen=True, slots=True)
class DoNow:
    """What may be done as the case stands: the least that meets the aim for one problem."""

    problem: str
    option: OptionId
    in_words: str
    hours: tuple[float, ...]


@dataclass(frozen=True, slots=True)
class SettleFirst:
    """One thing to find out or to come by, what it costs, and the options it opens.

    *kind* is test, identity, barrier, parting, record or means; *minutes* (on all parts together)
    and *material_lost* (0 nothing to 3 a cut piece) are 0 where it is no test.
    """

    kind: Remedy
    what: str
    label: str
    parts: tuple[str, ...]
    minutes: int
    material_lost: int
    opens: tuple[OptionId, ...]


@dataclass(frozen=True, slots=True)
class Refrain:
    """What suggests itself and is not to be done, with the first reason, for which problems."""

    technique: str
    label: str
    why: str
    problems: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Headline:
    """What is read first: can the object serve its purpose, and what follows from that.

    *serves*: yes, not-yet, no. *waits* are met once something is settled, *unanswered* by nothing.
    """

    serves: str
    in_words: str
    do_now: tuple[DoNow, ...]
    settle_first: tuple[SettleFirst, ...]
    refrain: tuple[Refrain, ...]
    waits: tuple[str, ...]
    unanswered: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class SettledView:
    """What a test of the record has settled, and so how the case was weighed: place and words."""

    path: str
    says: str


@dataclass(frozen=True, slots=True)
class TestAdvice:
    """A test that would settle open questions, with the options that wait for it."""

    __test__ = False  # not a pytest class

    test: str
    label: str
    part: str
    part_name: str
    material: str
    minutes: int
    material_lost: int
    options: tuple[OptionId, ...]


@dataclass(frozen=True, slots=True)
class ClaimView:
    """A claim that the answer cites."""

    statement: str
    basis: str
    confidence: str
    source: str
    read_as: str = ""  # how much of the source was read, where it was


@dataclass(frozen=True, slots=True)
class SourceView:
    """A source that a cited claim comes from."""

    citation: str
    address: str


@dataclass(frozen=True, slots=True)
class Answer:
    """Everything that Leastwise says of a case."""

    case: CaseSummary
    stamp: KnowledgeStamp
    policy: PolicyView
    headline: Headline
    people_first: tuple[FindingView, ...]
    record: tuple[FindingView, ...]
    damages: tuple[DamageAnswer, ...]
    tests_first: tuple[TestAdvice, ...]
    claims: Mapping[str, ClaimView]
    sources: Mapping[str, SourceView]
    cautions: Mapping[str, str]
    settled: tuple[SettledView, ...] = ()

    def as_json(self) -> str:
        """Return the answer as JSON: the same bytes for the same case, knowledge and rules."""
        return to_json(self) + "\n"

    def options(self) -> list[OptionAnswer]:
        """Return the options of all damages, in order."""
        return [option for damage in self.damages for option in damage.options]
