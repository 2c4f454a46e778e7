"""What a book of reference holds, as frozen values; names are CURIEs, grades are figures."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from leastwise.graph.knowledge.concepts import Technique
from leastwise.graph.knowledge.rules import Rule

__all__ = [
    "Apart",
    "ClaimEntry",
    "Contest",
    "Entry",
    "Fact",
    "GradeRow",
    "Mention",
    "Reference",
    "RuleEntry",
    "SchemeEntry",
    "SourceEntry",
    "Value",
]


@dataclass(frozen=True, slots=True)
class Value:
    """A value of a fact: its text, and the concept that it names, if it names one."""

    text: str
    concept: str = ""


@dataclass(frozen=True, slots=True)
class Fact:
    """What else is said of a concept: property with its label, and values."""

    predicate: str
    label: str
    values: tuple[Value, ...]


@dataclass(frozen=True, slots=True)
class Mention:
    """A rule, technique or test that has to do with a concept, and how; *via* are claims.

    A grade is a dose (1 to 4) or a burden (0 to 4) where *how* says so, else -1.
    """

    id: str
    how: str
    grade: int = -1
    via: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class GradeRow:
    """Harm 0 to 4 by one agent on one material, -1 where nothing is known.

    Attributes:
        concept: the other side: the agent on a material's entry, the material on an agent's.
        conditional: claims that hold only in a state, beside the grade.
        inherited_from: the broader material whose claims count, or "".

    """

    concept: str
    harm: int
    claims: tuple[str, ...]
    conditional: tuple[str, ...]
    contested: bool
    inherited_from: str


@dataclass(frozen=True, slots=True)
class ClaimEntry:
    """A claim with all that it states; grades and figures are absent where it states none."""

    id: str
    kind: str  # sensitivity, effect, figure, comparison, guidance, condition, statement
    about: tuple[str, ...]
    agents: tuple[str, ...]
    statement: str
    basis: str
    confidence: str
    sources: tuple[str, ...]
    rests_on: tuple[str, ...]
    disagrees_with: tuple[str, ...]  # both ways: those it names and those that name it
    severity: int | None
    beneficial: bool
    only_if: Value | None
    technique: str
    damage: str
    efficacy: int | None
    efficacy_low: int | None
    under: str
    value: float | None
    value_high: float | None
    unit: str
    at: str
    formula: str
    series: tuple[tuple[str, str], ...]
    better: tuple[str, ...]
    worse: tuple[str, ...]
    in_respect_of: str
    analogy: bool
    needs_check: bool
    judged: str = ""  # by whom and when, where it is a judgement
    read_as: str = ""  # how much of the source was read


@dataclass(frozen=True, slots=True)
class SourceEntry:
    """A source with the claims that were taken from it."""

    id: str
    citation: str
    address: str
    low_authority: bool
    not_opened: bool
    claims: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class RuleEntry:
    """A rule and the concepts that its shape names."""

    rule: Rule
    names: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Apart:
    """A neighbour that a concept is easily taken for, and what tells the two apart."""

    other: str
    says: str


@dataclass(frozen=True, slots=True)
class Entry:
    """A concept. Each claim about it stands in exactly one of claims, sensitivities, effects."""

    id: str
    scheme: str
    label: str
    also: tuple[str, ...]
    definition: str
    letter: str
    basis: str
    broader: tuple[str, ...]
    narrower: tuple[str, ...]
    facts: tuple[Fact, ...]
    technique: Technique | None
    hinders: tuple[tuple[str, int], ...]
    grades: tuple[GradeRow, ...]
    claims: tuple[str, ...]
    sensitivities: tuple[str, ...]
    effects: tuple[str, ...]
    mentions: tuple[str, ...]  # claims that name it without being about it
    rests_on: tuple[str, ...]
    rules: tuple[Mention, ...]
    techniques: tuple[Mention, ...]
    tests: tuple[Mention, ...]
    practices: tuple[Mention, ...] = ()  # practices not to use
    look_for: str = ""
    apart: tuple[Apart, ...] = ()
    drawing_shows: str = ""
    judged: str = ""  # by whom and when its own grades and times were judged


@dataclass(frozen=True, slots=True)
class SchemeEntry:
    """A kind of concept with its entries, those without a broader one first in *top*."""

    key: str
    label: str
    entries: tuple[str, ...]
    top: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Contest:
    """Claims that grade one material for one agent two or more apart."""

    material: str
    agent: str
    low: int
    high: int
    claims: tuple[str, ...]


@dataclass(frozen=True)
class Reference:
    """The whole content of the book; look-ups by CURIE."""

    knowledge_digest: str
    rules_digest: str
    labels: Mapping[str, str]
    schemes: tuple[SchemeEntry, ...]
    entries: Mapping[str, Entry]
    claims: Mapping[str, ClaimEntry]
    sources: Mapping[str, SourceEntry]
    rules: Mapping[str, RuleEntry]
    graded_agents: tuple[str, ...]
    disagreements: tuple[tuple[str, str], ...]
    contests: tuple[Contest, ...]

    def label(self, curie: str) -> str:
        """Return the label of a name, or the name itself."""
        return self.labels.get(curie, curie)
