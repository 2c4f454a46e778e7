"""What a change of knowledge changes: claims, rules, and the verdicts and ranks of cases.

An editor sees the consequences of a folder of Turtle before accepting it.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from pathlib import Path

from leastwise.graph.answer import Answer, OptionAnswer
from leastwise.graph.authoring.overlays import said_of
from leastwise.graph.case.demo import demo_names, demo_path
from leastwise.graph.case.reading import read_case
from leastwise.graph.errors import CaseError
from leastwise.graph.ids import OptionId
from leastwise.graph.knowledge.knowledge import (
    Knowledge,
)
from leastwise.graph.meanings import Verdict
from leastwise.graph.weighing.advise import Adviser

__all__ = [
    "CaseChange",
    "Comparison",
    "OptionChange",
    "Side",
    "Stand",
    "SubjectChange",
    "compare",
    "demo_cases",
]

SHIPPED = "shipped"
CLAIM, RULE, CONCEPT = "claim", "rule", "concept"


@dataclass(frozen=True)
class Side:
    """One side of the comparison: knowledge with its rules as a graph."""

    name: str
    adviser: Adviser
    rules: Knowledge


@dataclass(frozen=True, slots=True)
class SubjectChange:
    """A claim, concept or rule that was added, removed or changed, and in which properties."""

    kind: str  # claim, concept, rule
    what: str  # added, removed, changed
    subject: str
    properties: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Stand:
    """Where an option stands within its damage: rank from 1, burden 0 to 1."""

    verdict: Verdict
    rank: int
    burden: float
    meets_aim: bool


@dataclass(frozen=True, slots=True)
class OptionChange:
    """An option whose verdict or rank changed; None where it isn't an option at all.

    *rules_gained* and *rules_lost* are the rules that speak on one side only.
    """

    option: str
    label: str
    old: Stand | None
    new: Stand | None
    rules_gained: tuple[str, ...]
    rules_lost: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class CaseChange:
    """What changed in one case; *problem* says why it can't be weighed on one side."""

    case: str
    options: Mapping[str, tuple[OptionChange, ...]]  # by damage found
    problem: str = ""


@dataclass(frozen=True, slots=True)
class Comparison:
    """All that differs between two states of the knowledge."""

    old: str
    new: str
    subjects: tuple[SubjectChange, ...]
    cases: tuple[CaseChange, ...]

    @property
    def verdicts_change(self) -> bool:
        """Whether a verdict or rank of any case changes, or a case can't be weighed any more."""
        return any(one.problem or any(one.options.values()) for one in self.cases)


def demo_cases() -> list[Path]:
    """Return the files of the demo cases."""
    return [demo_path(name) for name in demo_names()]


def compare(old: Side, new: Side, cases: Iterable[Path]) -> Comparison:
    """Return what differs between the two sides, and in the answers to *cases*.

    Raises:
        CaseError: a case can't be read with either knowledge.

    """
    subjects = [
        *_subjects(old.adviser.knowledge, new.adviser.knowledge),
        *_subjects(old.rules, new.rules),
    ]
    return Comparison(
        old.name, new.name, tuple(subjects), tuple(_case(path, old, new) for path in cases)
    )


def _subjects(old: Knowledge, new: Knowledge) -> list[SubjectChange]:
    named = [
        {s for s in k.subjects() if not s.startswith("_:") and "/example/" not in s}
        for k in (old, new)
    ]
    found = []
    for subject in sorted(named[0] | named[1]):
        before, after = said_of(old, subject), said_of(new, subject)
        if before != after:
            what = "changed" if before and after else "added" if after else "removed"
            properties = sorted(p for p in before | after if before.get(p) != after.get(p))
            listed = properties if what == "changed" else []
            found.append(SubjectChange(_kind(subject), what, subject, tuple(listed)))
    return found


def _kind(subject: str) -> str:
    prefix = subject.partition(":")[0]
    return prefix if prefix in (CLAIM, RULE) else CONCEPT


def _case(path: Path, old: Side, new: Side) -> CaseChange:
    answers: list[Answer] = []
    problem: CaseError | None = None
    for side in (old, new):
        try:
            answers.append(side.adviser.weigh(read_case(path, side.adviser.knowledge)))
        except CaseError as error:
            if problem is not None:
                raise
            problem, failed = error, side.name
    if problem is not None:
        return CaseChange(path.stem, {}, f"can't be read with {failed}: {problem}")
    return CaseChange(answers[0].case.id, _options(*answers))


def _options(old: Answer, new: Answer) -> dict[str, tuple[OptionChange, ...]]:
    changes: dict[str, tuple[OptionChange, ...]] = {}
    labels = {d.id: d for answer in (new, old) for d in answer.damages}
    for damage in labels:
        sides = [
            {o.id: o for d in answer.damages if d.id == damage for o in d.options}
            for answer in (old, new)
        ]
        changed = [_option(one, sides[0].get(one), sides[1].get(one)) for one in _in_order(sides)]
        if any(changed):
            mine = [one for one in changed if one is not None]
            changes[damage] = tuple(sorted(mine, key=_is_mere_shift))  # verdicts first, then ranks
    return changes


def _is_mere_shift(change: OptionChange) -> bool:
    old, new = change.old, change.new
    return old is not None and new is not None and old.verdict == new.verdict


def _in_order(sides: Sequence[dict[OptionId, OptionAnswer]]) -> list[OptionId]:
    """Return the options of both sides, those of the new side first and in its order."""
    return list(dict.fromkeys([*sides[1], *sides[0]]))


def _option(one: str, old: OptionAnswer | None, new: OptionAnswer | None) -> OptionChange | None:
    stands = [_stand(o) for o in (old, new)]
    if _decisive(stands[0]) == _decisive(stands[1]):
        return None
    rules = [{f.rule for f in o.findings} if o else set[str]() for o in (old, new)]
    both = old is not None and new is not None
    known = new or old
    return OptionChange(
        one,
        known.label if known else "",
        stands[0],
        stands[1],
        tuple(sorted(rules[1] - rules[0]) if both else []),
        tuple(sorted(rules[0] - rules[1]) if both else []),
    )


def _stand(option: OptionAnswer | None) -> Stand | None:
    if option is None:
        return None
    return Stand(option.verdict, option.rank, option.burden, option.meets_aim)


def _decisive(stand: Stand | None) -> Stand | None:
    return None if stand is None else replace(stand, burden=0.0)
