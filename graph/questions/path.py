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
from collections.abc import Callable, Iterable, Iterator, Sequence
from functools import cache, cached_property
from itertools import product

from leastwise.graph.answer import Answer
from leastwise.graph.case.record import Case
from leastwise.graph.meanings import Verdict
from leastwise.graph.questions.change import Change, ChangeView, TestMade, applied, shown
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
from leastwise.graph.questions.path_tests import (
    MOST_FOLLOWED,
    Key,
    leading_open,
    one_each,
    takes_in,
    tests_in,
)
from leastwise.graph.questions.path_values import Branch, Choice, Path, Trial, leaves, rest_in_words
from leastwise.graph.sentences import the_all
from leastwise.graph.weighing.advise import Adviser
from leastwise.graph.weighing.ranking import WORST, in_order
from leastwise.graph.weighing.steps import Steps, Variant

__all__ = ["find_path"]

#: What a minute of testing costs, in units of burden: an hour weighs 0.03 (our judgement).
MINUTE = 0.0005
IGNORANCE = 0.5
MOST_TESTS = 4


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
        tests = [made for group in needed if (made := tests_in(group))]
        self.made, self.left_out = tests[:most_tests], tests[most_tests:]
        self.tests = [self._trial(group) for group in self.made]
        self.assumed = [group[0] for group in needed if not group[0].is_test]
        self.labels = {o.id: o.label for o in answer.options()}
        self.chances = [self._chance(trial.test) for trial in self.tests]
        self.steps = self._weighed()
        self.rests: dict[State, list[list[TestMade]]] = {}
        self.then: dict[State, tuple[Choice, ...]] = {}

    def _chance(self, test: str) -> float:
        stated = self.adviser.knowledge.number(test, "lw:shareGood")
        return IGNORANCE if stated is None else stated

    def _needed(self) -> Iterator[list[Change]]:
        """Yield in groups what the leading open options wait for, what opens one soonest first."""
        ranks: dict[str, int] = {o.id: o.rank for o in self.answer.options()}
        waiting: dict[Key, list[Change]] = {}
        for damage in self.answer.damages:
            for option in leading_open(damage):
                changes = open_changes(self.adviser, self.case, option.id)
                for group in one_each(option, changes):
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
        """Make a test once where options ask for it on the same parts, on the cloth or a material.

        A test on some of the parts on which another option asks for it is made with that.
        """
        kept: dict[Key, list[Change]] = {}
        for key in sorted(waiting, key=lambda key: (-len(key), key)):
            mine = waiting[key]
            wider = next((one for one, group in kept.items() if takes_in(group, mine)), None)
            if wider is None:
                kept[key] = mine
                continue
            self.needed_by[wider] |= self.needed_by.pop(key)
            kept[wider] = [*kept[wider], *(c for c in mine if c not in kept[wider])]
        return kept

    def _trial(self, group: Sequence[TestMade]) -> Trial:
        first, parts = group[0], list(dict.fromkeys(change.part for change in group))
        names = {part.id: part.name for part in self.case.parts}
        label = first.label
        if len(parts) > 1:
            on = the_all(names[part] for part in parts)
            label = f"{self.adviser.knowledge.label(first.test)} on {on}"
        return Trial(
            label,
            first.test,
            tuple(parts),
            sum({change.part: change.minutes for change in group}.values()),
            max(change.material_lost for change in group),
            tuple(shown(group)),
        )

    @cached_property
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
        outcomes: tuple[Outcome, ...] = (NOT_DONE, GOOD, BAD)
        states = list(product(outcomes, repeat=len(self.tests)))
        found = self._variants(self._after_results(state) for state in states)
        return dict(zip(states, found, strict=True))

    @cached_property
    def _base(self) -> Case:
        """Return the case with all that is taken as to be had."""
        return applied(self.case, self.assumed)

    def _variants(self, cases: Iterable[Case]) -> Iterator[Steps]:
        variants = [Variant(case, self._followed) for case in cases]
        return self.adviser.variants(variants, base=self._base)

    def _after_results(self, state: State) -> Case:
        case = self._base
        for group, result in zip(self.made, state, strict=True):
            if result != NOT_DONE:
                case = applied(case, group, result)
        return case

    @cache  # noqa: B019 - lives as long as one search
    def choices(self, state: State) -> tuple[tuple[Choice, float, float], ...]:
        """Return for each problem the choice under a set of results, its worth and burden."""
        return self._chosen(self.steps[state])

    def _chosen(self, steps: Steps) -> tuple[tuple[Choice, float, float], ...]:
        found = []
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
        ends = leaves(first)
        chosen = {choice.option for end in ends for choice in (*end.choices, *end.then)}
        return shown(one for one in self.assumed if self.needed_by[(one.key,)] & chosen)

    def path(self) -> Path:
        """Return the path."""
        values = {s: sum(worth for _, worth, _ in self.choices(s)) for s in self.steps}
        costs = [MINUTE * t.minutes * (1 + t.material_lost) for t in self.tests]
        policy = best_policy(values, costs, self.chances)
        start: State = tuple(NOT_DONE for _ in self.tests)
        self._find_rests(start, policy)
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
            rest = tuple(self._trial(group) for group in self.rests.get(state, ()))
            then = self.then.get(state, ())
            serves_then = bool(then) and all(choice.meets_aim for choice in then)
            return Branch(None, 0.0, None, None, tuple(chosen), serves, rest, then, serves_then)
        good, bad = (self._branch(after(state, number, r), policy) for r in (GOOD, BAD))
        return Branch(self.tests[number], self.chances[number], good, bad, tuple(chosen), serves)

    def _open_ends(self, state: State, policy: Callable[[State], Policy]) -> Iterator[State]:
        """Yield the states in which a path ends without serving."""
        number = policy(state).test
        if number is not None:
            for result in (GOOD, BAD):
                yield from self._open_ends(after(state, number, result), policy)
        elif not all(choice.meets_aim for choice, _, _ in self.choices(state)):
            yield state

    def _find_rests(self, start: State, policy: Callable[[State], Policy]) -> None:
        """Weigh each end that doesn't serve as if what is open there came out well."""
        for state in self._open_ends(start, policy):
            if rest := self._rest(state):
                self.rests[state] = rest
        rests = self.rests.items()
        found = self._variants(_all_good(self._after_results(at), rest) for at, rest in rests)
        for state, steps in zip(self.rests, found, strict=True):
            self.then[state] = tuple(choice for choice, _, _ in self._chosen(steps))

    def _rest(self, state: State) -> list[list[TestMade]]:
        """Return the tests not made that what leads for an unmet problem waits for."""
        steps = self.steps[state]
        unmet = {choice.problem for choice, _, _ in self.choices(state) if not choice.meets_aim}
        waits = {
            one.id for one in steps.candidates if steps.courses[one.id].verdict == Verdict.UNDECIDED
        }
        leading = {
            next((o.id for o in damage.options if o.meets_aim and o.id in waits), "")
            for damage in self.answer.damages
            if damage.id in unmet
        }
        undone = [g for g, result in zip(self.made, state, strict=True) if result == NOT_DONE]
        return [g for g in (*undone, *self.left_out) if self._asked_by(g) & leading]

    def _asked_by(self, group: Sequence[TestMade]) -> set[str]:
        keys = {change.key for change in group}
        return {
            o for key, options in self.needed_by.items() if keys.issuperset(key) for o in options
        }

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


def _all_good(case: Case, groups: Iterable[list[TestMade]]) -> Case:
    for group in groups:
        case = applied(case, group, GOOD)
    return case


def _sentence(first: Branch, serves: float) -> str:
    if first.test is None:
        if first.serves:
            return "No test is worth doing first: do what may be done now."
        if not first.serves_then:
            return (
                "No test that is open would let it serve its purpose; see what stands in the way."
            )
        return f"No test changes the choice by itself: {rest_in_words(first)}."
    what = f"First {first.test.label} ({first.test.minutes} min)."
    if serves:
        return f"{what} The object can then serve its purpose with a chance of {serves:.0%}."
    if any(end.serves_then for end in leaves(first)):
        more = "More is open than these tests settle"
        return f"{what} {more}; if that comes out well too, it can serve its purpose."
    return f"{what} More is open than these tests settle, so it can't serve its purpose yet."
