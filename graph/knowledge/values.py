"""What the knowledge speaks of, as frozen values: agents, techniques, tests, damages, effects."""

from __future__ import annotations

from collections.abc import Mapping, Set
from dataclasses import dataclass, field

from leastwise.graph.knowledge.rates import Rate

__all__ = [
    "NOTHING_KNOWN",
    "Agent",
    "AgentUse",
    "ContactKind",
    "Damage",
    "Effect",
    "HindranceShift",
    "Need",
    "Passage",
    "Sensitivity",
    "Technique",
    "Test",
    "lightness",
]

UNKNOWN_HARM = -1


@dataclass(frozen=True, slots=True)
class Agent:
    """What acts on a material, and how it spreads from the place where it is put."""

    id: str
    label: str
    travels: str  # a manner that contact kinds pass, onlyAtPlace, or wholeObject if not said
    graded: bool  # should each material be graded for it?
    stopped_by: frozenset[str]  # of lw:Barrier, lw:Parting
    means_nothing_for: frozenset[str] = frozenset()  # kinds of material it can't do anything to


@dataclass(frozen=True, slots=True)
class AgentUse:
    """How a technique brings an agent; dose 1 trace, 2 low, 3 moderate, 4 full."""

    agent: str
    dose: int
    confined: bool
    rests_on: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Effect:
    """How well a technique answers a damage or need: 0 not at all to 4 wholly; *low* if it varies.

    *under* says in words when it is reached; *holds_if* and *fails_if* say it as conditions.
    """

    id: str
    technique: str
    damage: str
    efficacy: int
    low: int
    under: str
    statement: str
    basis: str
    confidence: str
    rests_on: tuple[str, ...]
    holds_if: tuple[str, ...] = ()  # conditions that must hold on every part treated
    fails_if: tuple[str, ...] = ()  # conditions that must hold on none


@dataclass(frozen=True, slots=True)
class Technique:
    """A way to intervene, or to refrain. Hours are a range for one damaged part.

    *rates* say what a unit of extent takes, on top of *set_up_hours*.
    """

    id: str
    label: str
    definition: str
    groups: tuple[str, ...]
    brings: tuple[AgentUse, ...]
    requires: tuple[str, ...]
    needs_tests: tuple[str, ...]
    burdens: tuple[tuple[str, int], ...]  # (axis, grade 0 to 4), in the order of the axes
    skill: int
    hours: tuple[float, float]
    hours_per: str
    equipment: str
    equipment_keys: tuple[str, ...]
    set_up: str
    monitoring: str
    stop_sign: str
    cautions: tuple[str, ...]
    not_while: frozenset[str]  # ways of holding the object, as names of the vocabulary
    only_for: frozenset[str]  # kinds of object; empty for any
    rests_on: tuple[str, ...]
    supplies: tuple[str, ...] = ()  # what an enabling act gives; empty for what is none
    for_contacts: frozenset[str] = frozenset()  # kinds of contact; empty for any
    reaches_whole: bool = False  # takes hold of the whole object: a tent, a bath, a freezer
    rates: tuple[Rate, ...] = ()
    set_up_hours: tuple[float, float] = (0.0, 0.0)


@dataclass(frozen=True, slots=True)
class Test:
    """An examination or trial. Material lost: 0 nothing to 3 a cut piece."""

    __test__ = False  # not a pytest class

    id: str
    label: str
    definition: str
    minutes: int
    material_lost: int
    tests_agent: frozenset[str]
    clears: frozenset[str]
    bars: frozenset[str]
    applies_to: frozenset[str]
    identifies: frozenset[str]
    checks: frozenset[str]
    one_agent_at_a_time: bool
    rests_on: tuple[str, ...]
    sets_the_work: bool = False  # finds settings on new material; hardly ever forbids

    def fits(self, kinds: Set[str]) -> bool:
        """Return whether it means something on what is of these kinds, broader ones included."""
        return not self.applies_to or not self.applies_to.isdisjoint(kinds)


@dataclass(frozen=True, slots=True)
class Damage:
    """A kind of damage; *hinders* grades how far it stands in the way of each aim, 0 to 4."""

    id: str
    label: str
    weakens: bool
    may_be_evidence: bool
    hinders: Mapping[str, int]
    rests_on: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Passage:
    """What a kind of contact lets pass: grades of dose lost, and to which of the two parts."""

    dose_loss: int
    to_first: bool = True
    to_second: bool = True


@dataclass(frozen=True, slots=True)
class Need:
    """What an object needs for its aim: when it arises, of which parts, and how far it hinders.

    *without* says what is so without it; *beforehand* that it is met before the aim is served.
    """

    id: str
    label: str
    without: str
    arises_when: tuple[str, ...]
    of_parts: str
    beforehand: bool
    hinders: Mapping[str, int]


@dataclass(frozen=True, slots=True)
class HindranceShift:
    """What the record of a damage adds to its hindrance: *grades*, where that is *from_grade*.

    It is for a severity or activity (*value*), or for an extent between two *percent*.
    """

    value: str
    percent: tuple[float, float] | None
    grades: int
    from_grade: int


@dataclass(frozen=True, slots=True)
class ContactKind:
    """How two parts may touch, and what passes there: manner of an agent -> passage."""

    id: str
    label: str
    sewn: bool
    passes: Mapping[str, Passage] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class Sensitivity:
    """What the claims say of an agent on a material. Harm -1 means that nothing is known."""

    harm: int
    claims: tuple[str, ...]
    contested: bool = False
    inherited_from: str = ""

    @property
    def known(self) -> bool:
        """Whether any claim grades the material for the agent."""
        return self.harm != UNKNOWN_HARM


NOTHING_KNOWN = Sensitivity(UNKNOWN_HARM, ())


def lightness(act: Technique) -> tuple[int, float]:
    """Return what sorts an act of less burden, then of fewer hours, before others."""
    return sum(grade for _, grade in act.burdens), act.hours[1]
