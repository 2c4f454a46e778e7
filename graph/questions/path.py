"""A path for the whole object: which test first, and what to do after each result.

The path is a contingent plan, a tree of tests that ends in a choice for every problem. It is
found exactly over the tests looked at, by working backwards over all sets of results (dynamic
programming over the information states of a finite decision tree; the same optimum as AO* search,
Nilsson 1980, *Principles of Artificial Intelligence*, chapter 3):

    V(s) = max( stop(s), max over tests t not in s of
                -cost(t) + p(t) V(s with t good) + (1 - p(t)) V(s with t bad) )
    stop(s) = sum over problems of the best accepted option's benefit / 4 - burden under s
    cost(t) = minutes * (1 + material lost) * MINUTE

Every set of results is weighed for itself, all of them in one go; nothing is guessed. Tests are
taken as independent and always right, each as likely good as bad unless the knowledge states a
share (``lw:shareGood``). What is needed besides tests (a film whose place was not looked at, an
entry, more means) is listed and taken as to be had.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from functools import cache
from itertools import product

from leastwise.graph.answer import Answer, DamageAnswer, FindingView, OptionAnswer
from leastwise.graph.case.record import Case
from leastwise.graph.encoding import to_json
from leastwise.graph.meanings import Remedy, RuleEffect, Verdict
from leastwise.graph.questions.change import Change, ChangeView, TestMade, applied, shown
from leastwise.graph.questions.change import Key as ChangeKey
from leastwise.graph.questions.changes import open_changes
from leastwise.graph.questions.decision_tree import (
    BAD,
    GOOD,
    NOT_DONE,
    Outcome,
    Policy,
    State,
    after,
    best_policy,
)
from leastwise.graph.sentences import listed, the_all
from leastwise.graph.weighing.advise import Adviser
from leastwise.graph.weighing.ranking import WORST, in_order
from leastwise.graph.weighing.steps import Steps, Variant

__all__ = [
    "Branch",
    "Choice",
    "Path",
    "Trial",
    "find_path",
    "in_words",
    "leaves",
]

#: What a minute of testing costs, in units of burden: an hour weighs 0.03 (our judgement).
MINUTE = 0.0005
IGNORANCE = 0.5
MOST_TESTS = 4
#: So many options of a problem are followed: those that lead, open or not, and leaving alone.
MOST_FOLLOWED = 5


#: Tells groups of changes apart.
Key = tuple[ChangeKey, ...]


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
    """A test with what follows from either result, or, without one, the choices made."""

    test: Trial | None
    chance_good: float
    if_good: Branch | None
    if_bad: Branch | None
    choices: tuple[Choice, ...]
    serves: bool


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


def find_path(
    adviser: Adviser, case: Case, *, most_tests: int = MOST_TESTS, answer: Answer | None = None
) -> Path:
    """Return the path for a case; at most 3^most_tests sets of results are weighed.

    *answer* is what this adviser says of the case, if it is at hand.

    Raises:
        ValueError: *most_tests* is not between 0 and 6.

    """
    if not 0 <= most_tests <= 6:
        raise ValueError(f"most_tests: expected 0 to 6, got {most_tests}")
    return _Finder(adviser, case, answer or adviser.weigh(case), most_tests).path()


class _Finder:
    """Finds the path: the tests to look at, the worth of every set of results, the tree."""

    def __init__(self, adviser: Adviser, case: Case, answer: Answer, most_tests: int) -> None:
        self.adviser, self.case, self.answer = adviser, case, answer
        self.needed_by: dict[Key, set[str]] = {}
        needed = list(self._needed())
        tests = [made for group in needed if (made := _tests_in(group))]
        self.made, self.left_out = tests[:most_tests], tests[most_tests:]
        self.tests = [self._trial(group) for group in self.made]
        self.assumed = [group[0] for group in needed if not group[0].is_test]
        self.labels = {o.id: o.label for o in answer.options()}
        self.chances = [self._chance(trial.test) for trial in self.tests]
        self.steps = self._weighed()

    def _chance(self, test: str) -> float:
        stated = self.adviser.knowledge.number(test, "lw:shareGood")
        return IGNORANCE if stated is None else stated

    def _needed(self) -> Iterator[list[Change]]:
        """Yield in groups what the leading open options wait for, what opens one soonest first."""
        ranks: dict[str, int] = {o.id: o.rank for o in self.answer.options()}
        waiting: dict[Key, list[Change]] = {}
        for damage in self.answer.damages:
            for option in _leading_open(damage):
                changes = open_changes(self.adviser, self.case, option.id)
                for group in _one_each(option, changes):
                    key: Key = tuple(change.key for change in group)
                    waiting.setdefault(key, group)
                    self.needed_by.setdefault(key, set()).add(option.id)

        waiting = self._without_lesser(waiting)
        asks = Counter(option for options in self.needed_by.values() for option in options)

        def place(key: Key) -> tuple[object, ...]:
            group = waiting[key]
            lost, minutes = max(c.cost[0] for c in group), sum(c.cost[1] for c in group)
            options = self.needed_by[key]
            soonest = min((asks[o], ranks[o]) for o in options)
            return *soonest, -len(options), lost, minutes, key

        for one in sorted(waiting, key=place):
            yield waiting[one]

    def _without_lesser(self, waiting: dict[Key, list[Change]]) -> dict[Key, list[Change]]:
        """Leave out a test on some of the parts on which another option asks for it anyway."""
        kept = dict(waiting)
        for key in sorted(waiting, key=len):
            wider = [one for one in kept if set(key) < set(one)]
            if wider:
                self.needed_by[wider[0]] |= self.needed_by.pop(key)
                del kept[key]
        return kept

    def _trial(self, group: Sequence[TestMade]) -> Trial:
        first, parts = group[0], [change.part for change in group]
        names = {part.id: part.name for part in self.case.parts}
        label = first.label
        if len(group) > 1:
            on = the_all(names[part] for part in parts)
            label = f"{self.adviser.knowledge.label(first.test)} on {on}"
        return Trial(
            label,
            first.test,
            tuple(parts),
            sum(change.minutes for change in group),
            max(change.material_lost for change in group),
            tuple(shown(group)),
        )

    @property
    def _followed(self) -> frozenset[str]:
        return frozenset(
            o.id
            for damage in self.answer.damages
            for o in [
                *[o for o in damage.options if o.verdict != Verdict.DEFEATED][:MOST_FOLLOWED],
                *[o for o in damage.options if o.verdict == Verdict.ACCEPTED and o.meets_aim][:1],
                *[o for o in damage.options if o.is_baseline],
            ]
        )

    def _weighed(self) -> dict[State, Steps]:
        """Weigh the case with every set of results."""
        base = applied(self.case, self.assumed)
        outcomes: tuple[Outcome, ...] = (NOT_DONE, GOOD, BAD)
        states = list(product(outcomes, repeat=len(self.tests)))
        cases = [self._with(base, state) for state in states]
        followed = self._followed
        found = self.adviser.variants([Variant(case, followed) for case in cases], base=base)
        return dict(zip(states, found, strict=True))

    def _with(self, case: Case, state: State) -> Case:
        for group, result in zip(self.made, state, strict=True):
            if result != NOT_DONE:
                case = applied(case, group, result)
        return case

    @cache  # noqa: B019 - lives as long as one search
    def choices(self, state: State) -> tuple[tuple[Choice, float, float], ...]:
        """Return for each problem the choice under a set of results, its worth and burden."""
        steps, found = self.steps[state], []
        for damage in self.answer.damages:
            mine = [c for c in steps.candidates if c.damage.id == damage.id]
            verdicts = {c.id: steps.courses[c.id].verdict for c in mine}
            scores = [steps.scores[c.id] for c in mine if verdicts[c.id] == Verdict.ACCEPTED]
            best = next(iter(in_order(scores, verdicts)), None)
            if best is None:
                found.append((Choice(damage.id, "", "nothing that may be done", False), -1.0, 0.0))
                continue
            label = self.labels[best.option]
            choice = Choice(damage.id, best.option, label, best.meets_aim)
            found.append((choice, best.benefit / WORST - best.burden, best.burden))
        return tuple(found)

    def _also_needed(self, first: Branch) -> list[ChangeView]:
        """Return what was taken as to be had by options that the path comes to."""
        chosen = {choice.option for leaf in leaves(first) for choice in leaf.choices}
        return shown(one for one in self.assumed if self.needed_by[(one.key,)] & chosen)

    def path(self) -> Path:
        """Return the path."""
        values = {s: sum(worth for _, worth, _ in self.choices(s)) for s in self.steps}
        costs = [MINUTE * t.minutes * (1 + t.material_lost) for t in self.tests]
        policy = best_policy(values, costs, self.chances)
        start: State = tuple(NOT_DONE for _ in self.tests)
        first = self._branch(start, policy)
        minutes, burden, serves = self._expected(start, policy)
        return Path(
            sentence=_sentence(first, serves),
            first=first,
            minutes=round(minutes, 1),
            burden=round(burden, 4),
            serves=round(serves, 4),
            tests=tuple(self.tests),
            also_needed=tuple(self._also_needed(first)),
            left_out=tuple(self._trial(group) for group in self.left_out),
            runs=len(self.steps),
        )

    def _branch(self, state: State, policy: Callable[[State], Policy]) -> Branch:
        number = policy(state).test
        chosen = [choice for choice, _, _ in self.choices(state)]
        serves = all(choice.meets_aim for choice in chosen)
        if number is None:
            return Branch(None, 0.0, None, None, tuple(chosen), serves)
        good, bad = (self._branch(after(state, number, r), policy) for r in (GOOD, BAD))
        return Branch(self.tests[number], self.chances[number], good, bad, tuple(chosen), serves)

    def _expected(
        self, state: State, policy: Callable[[State], Policy]
    ) -> tuple[float, float, float]:
        """Return minutes, burden and the chance to serve that are to be expected from a state."""
        number = policy(state).test
        if number is None:
            chosen = self.choices(state)
            met = all(choice.meets_aim for choice, _, _ in chosen)
            return 0.0, sum(burden for _, _, burden in chosen), float(met)
        chance = self.chances[number]
        good, bad = (self._expected(after(state, number, r), policy) for r in (GOOD, BAD))
        minutes, burden, likely = (
            chance * a + (1 - chance) * b for a, b in zip(good, bad, strict=True)
        )
        return minutes + self.tests[number].minutes, burden, likely


def _leading_open(damage: DamageAnswer) -> Iterator[OptionAnswer]:
    """Yield the open options that stand before the first that may be done and meets the aim."""
    for option in damage.options[:MOST_FOLLOWED]:
        if option.verdict == Verdict.ACCEPTED and option.meets_aim:
            return
        if option.verdict == Verdict.UNDECIDED and option.meets_aim:
            yield option


def _one_each(option: OptionAnswer, changes: Sequence[Change]) -> Iterator[list[Change]]:
    """Yield for each open finding of an option what would settle it, a test before all else.

    What a finding asks for on several parts alike comes together.
    """
    given: set[Key] = set()
    for finding in option.findings:
        if finding.effect != RuleEffect.LEAVES_UNDECIDED:
            continue
        group = _settling(finding, changes)
        key: Key = tuple(change.key for change in group)
        if group and key not in given:
            given.add(key)
            yield group


def _tests_in(group: Sequence[Change]) -> list[TestMade]:
    return [change for change in group if isinstance(change, TestMade)]


def _settling(finding: FindingView, changes: Sequence[Change]) -> list[Change]:
    """Return what settles a finding: the same test on several parts, else one change."""
    named = {(m.kind, m.what): i for i, m in reversed(list(enumerate(finding.mends)))}
    seen = {change: change.view for change in changes}
    fits = [
        c
        for c, v in seen.items()
        if (v.kind, v.what) in named and (not v.part or finding.part in ("", v.part))
    ]
    # what a rule names first is what people at a bench have; the others stand in for it
    fits.sort(key=lambda c: (not c.is_test, named[c.kind, seen[c].what], c.cost[0], c.key))
    first = next(iter(fits), None)
    if not isinstance(first, TestMade) or finding.part:
        return fits[:1]
    same = [c for c in _tests_in(fits) if _asked(c) == _asked(first)]
    return [*reversed({c.part: c for c in reversed(same)}.values())]


def _asked(test: TestMade) -> tuple[Remedy, str, str]:
    """Return what two tests have in common that ask the same of different parts."""
    return test.kind, test.test, test.agent


def _sentence(first: Branch, serves: float) -> str:
    if first.test is None:
        return (
            "No test is worth doing first: do what may be done now."
            if first.serves
            else "No test that is open would let it serve its purpose; see what stands in the way."
        )
    what = f"First {first.test.label} ({first.test.minutes} min)."
    if not serves:
        return f"{what} More is open than these tests settle, so it can't serve its purpose yet."
    return f"{what} The object can then serve its purpose with a chance of {serves:.0%}."


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
        return
    yield depth, f"{branch.test.label} ({branch.test.minutes} min)"
    for result, inner in (("good", branch.if_good), ("bad", branch.if_bad)):
        if inner is not None:
            yield depth + 1, f"if {result}:"
            yield from in_words(inner, depth + 2)
