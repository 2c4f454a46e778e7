"""The plan as a board: what can begin now, what waits for something first, and what is left."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

from leastwise.graph.answer import DamageAnswer, TestAdvice
from leastwise.graph.meanings import Verdict
from leastwise.graph.planning.values import LeftUndone, Plan, Step
from leastwise.graph.sentences import listed

__all__ = ["Board", "Card", "TestOn", "board_of"]

#: So many parts of a problem are named on a card; the others are counted.
MOST_PARTS = 3


@dataclass(frozen=True, slots=True)
class Card:
    """One step on the board.

    *answers* are its problems with their parts, in words; *numbers* those of the record and
    *parts* where they are, for the picture. *least* and *most* are its hours in per cent of the
    longest step. *ahead* are steps that have to come first and wait themselves. *partly* is what
    stays of what it answers.
    """

    step: Step
    answers: tuple[str, ...]
    numbers: tuple[int, ...]
    parts: tuple[str, ...]
    least: float
    most: float
    ahead: tuple[int, ...]
    partly: tuple[LeftUndone, ...]


@dataclass(frozen=True, slots=True)
class TestOn:
    """A test with the parts on which it is made: the longest minutes and the most material lost."""

    __test__ = False  # not a pytest class

    label: str
    on: tuple[str, ...]
    minutes: int
    material_lost: int


@dataclass(frozen=True, slots=True)
class Board:
    """The cards by column, each in order of work; what is left undone stands beside its damage."""

    now: tuple[Card, ...]
    later: tuple[Card, ...]
    left: tuple[LeftUndone, ...]
    tests: tuple[TestOn, ...]


def board_of(
    plan: Plan,
    damages: Sequence[DamageAnswer],
    numbers: Mapping[str, int],
    names: Mapping[str, str],
) -> Board:
    """Return the board of a plan.

    *damages* are the problems of the answer, *numbers* the place of each damage in the record,
    *names* the names of the parts.
    """
    longest = max([step.hours[1] for step in plan.steps], default=0.0) or 1.0
    waits = _waiting(plan.steps)
    by_id = {d.id: d for d in damages}
    partly = {one.damage: one for one in plan.left_undone if one.done}
    cards = [
        Card(
            step,
            tuple(_in_words(by_id[d], names) for d in step.damages if d in by_id),
            tuple(numbers[d] for d in step.damages if d in numbers),
            tuple(dict.fromkeys(p for d in step.damages if d in by_id for p in by_id[d].parts)),
            round(100 * step.hours[0] / longest, 1),
            round(100 * step.hours[1] / longest, 1),
            tuple(sorted({one.step for one in step.after if one.step in waits})),
            tuple(partly[d] for d in step.damages if d in partly),
        )
        for step in plan.steps
    ]
    return Board(
        tuple(one for one in cards if one.step.number not in waits),
        tuple(one for one in cards if one.step.number in waits),
        plan.left_undone,
        tuple(_together(plan.tests_first)),
    )


def _waiting(steps: Iterable[Step]) -> frozenset[int]:
    """Return the steps that can't begin yet: they wait, or come after one that does."""
    found: set[int] = set()
    for step in steps:  # in order of work, so that what comes before is known
        if step.verdict == Verdict.UNDECIDED or any(one.step in found for one in step.after):
            found.add(step.number)
    return frozenset(found)


def _in_words(damage: DamageAnswer, names: Mapping[str, str]) -> str:
    where = [names.get(part, part) for part in damage.parts]
    if damage.kind == "need" or len(where) == len(names):
        return damage.label
    if len(where) > MOST_PARTS:
        where = [*where[: MOST_PARTS - 1], f"{len(where) - MOST_PARTS + 1} other parts"]
    return f"{damage.label} on {listed(where)}"


def _together(tests: Iterable[TestAdvice]) -> Iterable[TestOn]:
    same: dict[str, list[TestAdvice]] = {}
    for one in tests:
        same.setdefault(one.label, []).append(one)
    for label, rows in same.items():
        on = tuple(dict.fromkeys(one.part_name for one in rows))
        lost = max(one.material_lost for one in rows)
        yield TestOn(label, on, max(one.minutes for one in rows), lost)
