"""A path through tests as frozen values, and the lines that tell it."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from leastwise.graph.encoding import to_json
from leastwise.graph.questions.change import ChangeView
from leastwise.graph.sentences import listed

__all__ = ["Branch", "Choice", "Path", "Trial", "in_words", "leaves", "rest_in_words"]


@dataclass(frozen=True, slots=True)
class Trial:
    """A test on one part, or on all parts of an option that needs it on each of them.

    It comes out well if it does so on every part. *material_lost* is 0 nothing to 3 a cut piece.
    """

    label: str
    test: str
    parts: tuple[str, ...]
    minutes: int
    material_lost: int
    changes: tuple[ChangeView, ...]


@dataclass(frozen=True, slots=True)
class Choice:
    """What is done for a problem at the end of a branch."""

    problem: str
    option: str
    label: str
    meets_aim: bool


@dataclass(frozen=True, slots=True)
class Branch:
    """A test with what follows from either result, or, without one, the choices made.

    At an end that leaves the aim unmet *rest* are the tests that what would meet it still waits
    for, beyond those that the path weighs against one another; *then* and *serves_then* are the
    choices, and whether it can serve, if all of them come out well.
    """

    test: Trial | None
    chance_good: float
    if_good: Branch | None
    if_bad: Branch | None
    choices: tuple[Choice, ...]
    serves: bool
    rest: tuple[Trial, ...] = ()
    then: tuple[Choice, ...] = ()
    serves_then: bool = False


@dataclass(frozen=True, slots=True)
class Path:
    """The contingent plan for an object.

    *minutes* and *burden* are what is to be expected along it; *serves* is the chance that the
    object can serve its purpose at its end. *left_out* are open tests that were not looked at.
    """

    sentence: str
    first: Branch
    minutes: float
    burden: float
    serves: float
    tests: tuple[Trial, ...]
    also_needed: tuple[ChangeView, ...]
    left_out: tuple[Trial, ...]
    runs: int

    def as_json(self) -> str:
        """Return the path as JSON: the same bytes for the same case, knowledge and rules."""
        return to_json(self) + "\n"


def leaves(branch: Branch) -> Iterator[Branch]:
    """Yield the ends of a path."""
    if branch.test is None:
        yield branch
    for inner in (branch.if_good, branch.if_bad):
        if inner is not None:
            yield from leaves(inner)


def in_words(branch: Branch, depth: int = 0) -> Iterator[tuple[int, str]]:
    """Yield the tree as (depth, line), the good result of each test first."""
    if branch.test is None:
        done = [f"{c.label} for {c.problem}" for c in branch.choices]
        serves = "it can serve" if branch.serves else "it can't serve yet"
        yield depth, f"do {listed(done)}; {serves}" if done else serves
        if branch.rest:
            yield depth, rest_in_words(branch)
        return
    yield depth, f"{branch.test.label} ({branch.test.minutes} min)"
    for result, inner in (("good", branch.if_good), ("bad", branch.if_bad)):
        if inner is not None:
            yield depth + 1, f"if {result}:"
            yield from in_words(inner, depth + 2)


def rest_in_words(end: Branch) -> str:
    """Return what is still open at an end, and whether it can serve if all comes out well."""
    minutes = sum(trial.minutes for trial in end.rest)
    what = listed([trial.label for trial in end.rest])
    serves = "it can serve" if end.serves_then else "more would still be open"
    return f"then {what} ({minutes} min); if all comes out well {serves}"
