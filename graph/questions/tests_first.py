"""What to find out first: tests by the change of decision that they promise, and what they cost.

A test is worth doing only if it could change the choice (value of information: Raiffa and
Schlaifer's preposterior analysis). Each open test is weighed with a good and with a bad result,
and so is each *bundle*, the tests that an option needs together before it is accepted; one test of
a bundle seldom changes anything by itself.

    expected change = sum over results x of p(x) * [the choice for any damage differs under x]
    gain            = EVPI = sum over x of p(x) max_a U(a, x) - max_a sum over x of p(x) U(a, x)
    U(a, x)         = benefit / 4 - burden if a is accepted under x, else -1

The choice for a damage is the accepted option that ranks first. A bundle comes out well only if
all its tests do; it is stopped at the first that doesn't, so that its tests are put in order of
minutes per chance of a bad result, and its minutes and loss are what is to be expected. Prior:
half good, half bad, out of ignorance, unless the knowledge states a share (``lw:shareGood``) or
the caller gives one; a test of what a material is comes out well if it shows the one that is
named. Tests are taken as independent of each other and as always right; barriers,
partings, entries and means of a bundle are listed and taken as to be had.

Order: expected change / (minutes * (1 + material lost)), so that a crumb taken weighs as much as
doing the test three times; then gain. Gains are added up over the damages.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from itertools import chain

import numpy as np
from numpy.typing import NDArray

from leastwise.graph.case.record import Case
from leastwise.graph.ids import OptionId
from leastwise.graph.meanings import Verdict
from leastwise.graph.questions.change import (
    Change,
    ChangeView,
    Key,
    Result,
    TestMade,
    applied,
    shown,
)
from leastwise.graph.questions.changes import open_changes_of
from leastwise.graph.questions.information import evpi
from leastwise.graph.questions.rerun import Rerun, side_by_side
from leastwise.graph.questions.what_if import enough
from leastwise.graph.weighing.advise import Adviser
from leastwise.graph.weighing.candidates import BASELINE
from leastwise.graph.weighing.ranking import WORST
from leastwise.graph.weighing.shared import Shared
from leastwise.graph.weighing.standing import Standing, standings
from leastwise.graph.weighing.steps import Variant

__all__ = ["FindOutFirst", "Step", "find_out_first"]

IGNORANCE = 0.5
NOT_ACCEPTED = -1.0
NOTHING = "No test is worth doing: none would change what is chosen for any damage."


@dataclass(frozen=True, slots=True)
class Step:
    """A test, or the tests of a bundle in the order in which to do them.

    *expected_change* is the probability that a choice changes; *minutes* and *material_lost* are
    what is to be expected (0 nothing to 3 a cut piece, added up); *also_needed* is what isn't a
    test but has to be there. *then* says what would be chosen.
    """

    tests: tuple[ChangeView, ...]
    priors: tuple[float, ...]
    also_needed: tuple[ChangeView, ...]
    for_options: tuple[str, ...]
    expected_change: float
    gain: float
    minutes: float
    material_lost: float
    worth: float
    then: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class FindOutFirst:
    """What to find out first, best first, with what isn't worth finding out now.

    *without_tests* names options that would be chosen with no test at all, and what they need.
    """

    sentence: str
    steps: tuple[Step, ...]
    changes_nothing: tuple[ChangeView, ...]
    without_tests: tuple[str, ...]
    choice_now: Mapping[str, str]
    prior_in_words: str
    runs: int


def find_out_first(
    adviser: Adviser,
    case: Case,
    priors: Mapping[str, float] | None = None,
    progress: Callable[[int], None] | None = None,
) -> FindOutFirst:
    """Return the tests that could change a choice, most change for least cost first.

    *priors* gives the chance of a good result by test (CURIE); it goes before what the knowledge
    states and before ignorance.

    Raises:
        ValueError: a prior is not between 0 and 1.

    """
    for test, share in (priors or {}).items():
        if not 0.0 <= share <= 1.0:
            raise ValueError(f"prior of {test}: got {share}; expected 0 to 1")
    return _Planner(adviser, case, dict(priors or {}), progress).plan()


#: Problem -> its options in order, under one set of results.
Outcome = Mapping[str, Sequence[Standing]]
#: Problem -> the option that would be chosen, or None.
_Choices = Mapping[str, Standing | None]
_RESULTS: tuple[Result, Result] = ("good", "bad")


@dataclass(frozen=True, slots=True)
class _Trial:
    """Tests with the outcomes that their results lead to, the good one first."""

    tests: tuple[TestMade, ...]
    also_needed: tuple[Change, ...]
    options: tuple[str, ...]
    good: float
    outcomes: tuple[Outcome, Outcome]
    words: tuple[str, str]


@dataclass(frozen=True, slots=True)
class _Bundle:
    """What an option needs together before it is accepted: tests in their order, and the rest."""

    option: Standing
    tests: tuple[TestMade, ...]
    others: tuple[Change, ...]

    @property
    def is_worth_a_look(self) -> bool:
        """Whether there is something to find out that was not looked at as a single test."""
        return bool(self.tests) and (len(self.tests) > 1 or bool(self.others))

    @property
    def without_tests(self) -> str:
        """What it needs, in words, where that is no test."""
        what = ", ".join(c.label for c in self.others)
        return f"{self.option.label} for {self.option.id.problem}: {what}"


class _Planner:
    """Weighs a case with the results that its open tests could have."""

    def __init__(
        self,
        adviser: Adviser,
        case: Case,
        priors: dict[str, float],
        progress: Callable[[int], None] | None,
    ) -> None:
        self.adviser, self.case, self.priors, self.progress = adviser, case, priors, progress
        self.runs, self.shared = 0, Shared()
        self._tick()
        (self.steps,) = adviser.variants([Variant(case)], self.shared, case)
        self.now = standings(self.steps)
        self.choice = _choices(self.now)
        self.waiting: dict[TestMade, list[str]] = {}
        self.open: dict[str, list[Change]] = {}
        self.without_tests: list[str] = []

    def _weighed(self, cases: Sequence[Case]) -> list[tuple[Outcome, Outcome]]:
        """Return what cases come to, two and two."""
        for _ in cases:
            self._tick()
        variants = [Variant(case) for case in cases]
        found = map(standings, self.adviser.variants(variants, self.shared, self.case))
        return [*zip(found, found, strict=True)]

    def _tick(self, _: int = 0) -> None:
        self.runs += 1
        if self.progress is not None:
            self.progress(self.runs)

    def prior(self, test: str) -> float:
        """Return the chance of a good result: given, else stated by the knowledge, else half."""
        stated = self.adviser.knowledge.number(test, "lw:shareGood")
        return self.priors.get(test, IGNORANCE if stated is None else stated)

    def plan(self) -> FindOutFirst:
        """Return the plan."""
        options = chain.from_iterable(self.now.values())
        undecided = [o.id for o in options if o.verdict == Verdict.UNDECIDED]
        self.open = open_changes_of(self.adviser, self.case, undecided, self.steps, self.shared)
        for option in undecided:
            for change in self.open[option]:
                if isinstance(change, TestMade):
                    self.waiting.setdefault(change, []).append(option)
        steps = self._singles()
        steps += self._bundles()
        steps = [s for s in steps if s.expected_change > 0]
        steps.sort(key=lambda s: (-s.worth, -s.gain, [t.key for t in s.tests]))
        used = {t.key for s in steps for t in s.tests}
        return FindOutFirst(
            sentence=_in_words(steps),
            steps=tuple(steps),
            changes_nothing=tuple(shown(t for t in self.waiting if t.key not in used)),
            without_tests=tuple(self.without_tests),
            choice_now={damage: o.id if o else "" for damage, o in self.choice.items()},
            prior_in_words=self._prior_in_words(),
            runs=self.runs,
        )

    def _prior_in_words(self) -> str:
        known = sorted({t.test for t in self.waiting if self.prior(t.test) != IGNORANCE})
        said = [f"{test} {self.prior(test):g}" for test in known]
        return "chance of a good result: " + ", ".join(
            [*said, f"{IGNORANCE:g} for all others, out of ignorance" if said
             else f"{IGNORANCE:g} for every test, out of ignorance"]
        )  # fmt: skip

    def _singles(self) -> list[Step]:
        """Return the step of every open test by itself."""
        words = "it comes out well", "it comes out badly"
        cases = [applied(self.case, [t], result) for t in self.waiting for result in _RESULTS]
        return [
            self._step(_Trial((test,), (), tuple(options), self.prior(test.test), outcomes, words))
            for (test, options), outcomes in zip(
                self.waiting.items(), self._weighed(cases), strict=True
            )
        ]

    def _bundles(self) -> list[Step]:
        """Return the bundle of every undecided option that would be chosen if it were accepted."""
        leading = [
            option
            for problem, options in self.now.items()
            for option in options
            if option.verdict == Verdict.UNDECIDED and _would_lead(option, self.choice[problem])
        ]
        needed = side_by_side(
            [
                (
                    Rerun(self.adviser, self.case, o.id, self._tick, 0, self.shared, self.steps),
                    enough(self.open[o.id]),
                )
                for o in leading
            ]
        )
        bundles = [
            _Bundle(option, tuple(self._in_turn([c for c in changes if isinstance(c, TestMade)])),
                    tuple(c for c in changes if not isinstance(c, TestMade)))
            for option, changes in zip(leading, needed, strict=True)
        ]  # fmt: skip
        self.without_tests += [b.without_tests for b in bundles if b.others and not b.tests]
        found: dict[frozenset[Key], Step] = {}
        for step in self._steps_of([b for b in bundles if b.is_worth_a_look]):
            key = frozenset(c.key for c in [*step.tests, *step.also_needed])
            found.setdefault(key, step)
        return list(found.values())

    def _steps_of(self, bundles: Sequence[_Bundle]) -> Iterator[Step]:
        cases = [
            applied(self.case, changes)
            for one in bundles
            for changes in ([*one.others, *one.tests], one.others)
        ]
        words = "all come out well", "not all do"
        for one, outcomes in zip(bundles, self._weighed(cases), strict=True):
            well = math.prod(self.prior(test.test) for test in one.tests)
            yield self._step(_Trial(one.tests, one.others, (one.option.id,), well, outcomes, words))

    def _in_turn(self, tests: list[TestMade]) -> list[TestMade]:
        """Put tests in the order that is cheapest if one stops at the first bad result."""

        def cost(test: TestMade) -> tuple[float, Key]:
            bad = 1.0 - self.prior(test.test)
            return (_effort(test.minutes, test.material_lost) / bad if bad else np.inf, test.key)

        return sorted(tests, key=cost)

    def _step(self, trial: _Trial) -> Step:
        chances = [trial.good, 1.0 - trial.good]
        # what a bundle needs besides tests is done first, and is not the tests' merit
        before = _choices(trial.outcomes[1]) if trial.also_needed else self.choice
        choices = [_choices(o) for o in trial.outcomes]
        differs = [_ids(c) != _ids(before) for c in choices]
        change = sum(p for p, d in zip(chances, differs, strict=True) if d)
        gain = sum(evpi(chances, block) for block in _utilities(trial.outcomes))
        minutes, lost = self._expected_cost(trial.tests)
        return Step(
            tests=tuple(shown(trial.tests)),
            priors=tuple(self.prior(t.test) for t in trial.tests),
            also_needed=tuple(shown(trial.also_needed)),
            for_options=trial.options,
            expected_change=round(change, 6),
            gain=round(gain, 6),
            minutes=round(minutes, 1),
            material_lost=round(lost, 2),
            worth=round(change / _effort(minutes, lost), 6),
            then=tuple(
                f"if {word}: {self._named(c, before)}"
                for c, d, word in zip(choices, differs, trial.words, strict=True)
                if d
            ),
        )

    @staticmethod
    def _named(choices: _Choices, before: _Choices) -> str:
        changed = [
            f"{choice.label if choice else 'nothing'} for {damage}"
            for damage, choice in choices.items()
            if _ids({damage: choice}) != _ids({damage: before.get(damage)})
        ]
        return ", ".join(changed)

    def _expected_cost(self, tests: Sequence[TestMade]) -> tuple[float, float]:
        """Return minutes and loss to expect if one stops at the first bad result."""
        reached, minutes, lost = 1.0, 0.0, 0.0
        for test in tests:
            minutes += reached * test.minutes
            lost += reached * test.material_lost
            reached *= self.prior(test.test)
        return minutes, lost


def _effort(minutes: float, lost: float) -> float:
    return max(minutes, 1.0) * (1.0 + lost)


def _choices(outcome: Outcome) -> _Choices:
    """Return for each problem the option that would be chosen: the first that is accepted."""
    return {
        problem: next((o for o in options if o.verdict == Verdict.ACCEPTED), None)
        for problem, options in outcome.items()
    }


def _ids(choices: _Choices) -> dict[str, str]:
    return {damage: o.id if o else "" for damage, o in choices.items()}


def _would_lead(option: Standing, now: Standing | None) -> bool:
    """Return whether an option would stand before the choice if it were accepted too."""
    return now is None or _order(option) < _order(now)


def _order(o: Standing) -> tuple[object, ...]:
    residual = 0 if o.meets_aim else o.residual
    return (not o.meets_aim, residual, o.burden, o.hours[0], o.residual, o.hours[1], o.id)


def _utilities(outcomes: Sequence[Outcome]) -> list[NDArray[np.float64]]:
    """Return for each damage the utility of its options (rows) in every outcome (columns).

    Each damage is chosen for by itself, so that the gains of the damages add up.
    """
    blocks = []
    for problem, options in outcomes[0].items():
        columns = [_utilities_of(problem, outcome) for outcome in outcomes]
        blocks.append(np.array([[c.get(o.id, NOT_ACCEPTED) for c in columns] for o in options]))
    return blocks


def _utilities_of(problem: str, outcome: Outcome) -> dict[OptionId, float]:
    """Return the utility of the options of a problem, 0 for leaving alone what is none any more."""
    found = outcome.get(problem)
    if found is None:
        return {OptionId.of(problem, BASELINE): 0.0}
    return {o.id: _utility(o) for o in found}


def _utility(o: Standing) -> float:
    if o.verdict != Verdict.ACCEPTED:
        return NOT_ACCEPTED
    return (o.hindrance - o.residual) / WORST - o.burden


def _in_words(steps: Sequence[Step]) -> str:
    if not steps:
        return NOTHING
    first = steps[0]
    names = ", then ".join(t.label for t in first.tests)
    also = "".join(f"; also needed: {c.label}" for c in first.also_needed)
    return (
        f"First: {names}{also}. It has a {first.expected_change:.0%} chance of changing the "
        f"choice, and takes about {first.minutes:g} minutes."
    )
