"""What an option comes to in changed cases: searches that ask together and are answered together.

A search is a generator: it yields the sets of changes that it wants weighed, is sent what each
comes to, and returns what it has found. Any number of searches go side by side; what all of them
ask at one time is written into one set of columns and weighed at once.
"""

from __future__ import annotations

from collections.abc import Callable, Generator, Iterable, Sequence
from dataclasses import dataclass, field
from functools import cached_property
from typing import TYPE_CHECKING, NamedTuple, TypeVar

from leastwise.graph.case.record import Case
from leastwise.graph.ids import OptionId
from leastwise.graph.meanings import BLOCKING, Verdict
from leastwise.graph.questions.change import Change, Key, applied
from leastwise.graph.weighing.earlier import may_work_before
from leastwise.graph.weighing.ranking import VERDICT_ORDER
from leastwise.graph.weighing.shared import Shared
from leastwise.graph.weighing.steps import Steps, Variant

if TYPE_CHECKING:
    from leastwise.graph.weighing.advise import Adviser

__all__ = ["Outcome", "Rerun", "Search", "answered", "one_verdict", "side_by_side"]

T = TypeVar("T")
_Key = frozenset[Key]


class Outcome(NamedTuple):
    """What an option comes to: its verdict, and how many findings stand against it."""

    verdict: Verdict
    against: int

    @property
    def standing(self) -> tuple[int, int]:
        """Sorts the better first."""
        return VERDICT_ORDER[self.verdict], self.against


Asked = Sequence[Sequence[Change]]
Search = Generator[Asked, Sequence[Outcome], T]


@dataclass
class Rerun:
    """Weighs changed cases for one option again; a set of changes is weighed once.

    *progress* is told how many runs are done; *whole* are the steps of the case, if at hand.
    """

    adviser: Adviser
    case: Case
    option: str
    progress: Callable[[int], None] | None = None
    runs: int = 0
    shared: Shared = field(default_factory=Shared, repr=False)
    whole: Steps | None = field(default=None, repr=False)
    _known: dict[_Key, Outcome] = field(default_factory=dict, repr=False)

    @cached_property
    def now(self) -> Steps:
        """Return the steps of the whole case as it stands."""
        return self.whole or self.adviser.steps(self.case)

    @cached_property
    def looked_at(self) -> frozenset[OptionId]:
        """Return the option with those of other problems whose work may come before it."""
        mine, steps = OptionId(self.option), self.now
        option = next((c for c in steps.candidates if c.id == mine), None)
        if option is None:
            return frozenset((mine,))
        works = may_work_before(option, steps.candidates, self.adviser.catalogue)
        return works | {mine}

    def verdict(self, changes: Iterable[Change]) -> Verdict:
        """Return the verdict of the option after *changes*."""
        return answered(self, one_verdict([*changes]))

    def against(self, changes: Iterable[Change]) -> list[str]:
        """Return what still speaks against the option after *changes*, each once."""
        findings = self.adviser.steps(applied(self.case, changes), self.option).findings
        attacks = (f for f in findings.get(self.option, ()) if f.rule.effect in BLOCKING)
        return list(dict.fromkeys(f.message for f in attacks))

    def unknown(self, asked: Asked) -> dict[_Key, Sequence[Change]]:
        """Return the sets of changes that nobody has weighed, each once."""
        sets = {_key(changes): changes for changes in asked}
        return {key: changes for key, changes in sets.items() if key not in self._known}

    def learn(self, key: _Key, steps: Steps) -> None:
        """Take in what the option comes to after a set of changes."""
        self.runs += 1
        if self.progress is not None:
            self.progress(self.runs)
        course = steps.courses.get(OptionId(self.option))
        if course is None:  # a need that no longer arises
            self._known[key] = Outcome(Verdict.ACCEPTED, 0)
        else:
            self._known[key] = Outcome(course.verdict, len(course.attacks))

    def outcomes(self, asked: Asked) -> list[Outcome]:
        """Return what is known of sets of changes that were weighed."""
        return [self._known[_key(changes)] for changes in asked]


def _key(changes: Iterable[Change]) -> _Key:
    return frozenset(change.key for change in changes)


def one_verdict(changes: Sequence[Change]) -> Search[Verdict]:
    """Ask for the verdict after one set of changes."""
    (found,) = yield [changes]
    return found.verdict


def answered(rerun: Rerun, search: Search[T]) -> T:
    """Return what one search finds."""
    return side_by_side([(rerun, search)])[0]


def side_by_side(searches: Sequence[tuple[Rerun, Search[T]]]) -> list[T]:
    """Return what each search finds; all that they ask at one time is weighed together."""
    done: dict[int, T] = {}
    asked: dict[int, Asked] = {}

    def go_on(number: int, answers: Sequence[Outcome] | None) -> None:
        search = searches[number][1]
        try:
            asked[number] = next(search) if answers is None else search.send(answers)
        except StopIteration as end:
            asked.pop(number, None)
            done[number] = end.value

    for number in range(len(searches)):
        go_on(number, None)
    while asked:
        _weigh([(searches[number][0], sets) for number, sets in asked.items()])
        for number, sets in list(asked.items()):
            go_on(number, searches[number][0].outcomes(sets))
    return [done[number] for number in range(len(searches))]


def _weigh(asked: Iterable[tuple[Rerun, Asked]]) -> None:
    """Weigh what is not known yet, all of it at once."""
    rows = []
    for rerun, sets in asked:
        for key, changes in rerun.unknown(sets).items():
            if changes:
                rows.append((rerun, key, changes))
            else:  # the case as it stands
                rerun.learn(key, rerun.now)
    if not rows:
        return
    variants = [
        Variant(applied(rerun.case, changes), rerun.looked_at) for rerun, _, changes in rows
    ]
    first = rows[0][0]
    weighed = first.adviser.variants(variants, first.shared)
    for (rerun, key, _), steps in zip(rows, weighed, strict=True):
        rerun.learn(key, steps)
