"""A record checked: what can't be read, what is odd, what is unknown and would matter."""

from __future__ import annotations

from dataclasses import dataclass, replace

from leastwise.graph.case.questions import Question, questions
from leastwise.graph.case.reading import case_from_data
from leastwise.graph.case.text import Written, read_text
from leastwise.graph.encoding import to_json
from leastwise.graph.errors import CaseError, Problem
from leastwise.graph.questions.open_entries import MOST_RUNS, OpenEntry, open_entries
from leastwise.graph.weighing.advise import Adviser
from leastwise.graph.weighing.tested import Settled, as_tested

__all__ = ["RecordCheck", "check_record"]


@dataclass(frozen=True, slots=True)
class RecordCheck:
    """What there is to say of a record.

    *settled* is what its tests found and it is weighed by. While there are *problems* it can't be
    weighed, and *settled* and *unknown* are empty.
    """

    says: str
    problems: tuple[Problem, ...] = ()
    questions: tuple[Question, ...] = ()
    settled: tuple[Settled, ...] = ()
    unknown: tuple[OpenEntry, ...] = ()

    @property
    def is_readable(self) -> bool:
        """Whether the record can be weighed."""
        return not self.problems

    def as_json(self) -> str:
        """Return the check as canonical JSON."""
        return to_json(self) + "\n"


def check_record(
    text: str, adviser: Adviser, *, is_json: bool = False, most_runs: int = MOST_RUNS
) -> RecordCheck:
    """Return what is to be said of the record in *text* (YAML or JSON); nothing is kept.

    The case is weighed again for at most *most_runs* fillings of what is unknown; with 0 none is
    tried.
    """
    try:
        written = read_text(text, is_json=is_json)
    except CaseError as error:
        return _refused(error.problems)
    try:
        case = case_from_data(written.data, adviser.knowledge)
    except CaseError as error:
        return _refused(tuple(written.placed(problem) for problem in error.problems))
    odd = tuple(_placed(one, written) for one in questions(case, adviser.knowledge))
    unknown = tuple(open_entries(case, adviser, most_runs))
    settled = as_tested(case, adviser.knowledge).settled
    return RecordCheck(_in_words(odd, unknown), (), odd, settled, unknown)


def _refused(problems: tuple[Problem, ...]) -> RecordCheck:
    n = len(problems)
    what = "one thing in it can't be meant" if n == 1 else f"{n} things in it can't be meant"
    return RecordCheck(f"The record can't be used yet: {what} or read.", problems)


def _placed(one: Question, written: Written) -> Question:
    line = written.placed(Problem(one.path, "", "")).line
    return replace(one, line=line) if line else one


def _in_words(odd: tuple[Question, ...], unknown: tuple[OpenEntry, ...]) -> str:
    matter = sum(one.changes == "yes" for one in unknown)
    asks = f"{len(odd)} question{'s' if len(odd) != 1 else ''}"
    return (
        f"The record can be weighed. {asks}; {len(unknown)} entries are unknown, "
        f"{matter} of which would change the answer."
    )
