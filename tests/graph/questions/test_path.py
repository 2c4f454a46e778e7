"""The path: exact over its tests, and true to what weighing again says."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from itertools import product

import pytest
from hypothesis import given
from hypothesis import strategies as st

from leastwise.graph import Adviser, Case
from leastwise.graph.questions.change import applied
from leastwise.graph.questions.decision_tree import (
    BAD,
    GOOD,
    NOT_DONE,
    State,
    after,
    best_policy,
)
from leastwise.graph.questions.path import find_path
from leastwise.graph.questions.path_values import Branch, Path, in_words, leaves
from tests.conftest import DEMOS
from tests.graph.questions.made import Makeable
from tests.graph.weighing.collar import collar_with_sequins


@st.composite
def problems(draw: st.DrawFn) -> tuple[dict[State, float], list[float], list[float]]:
    number = draw(st.integers(0, 3))
    worth = st.integers(-20, 20).map(lambda n: n / 10)
    values = {s: draw(worth) for s in product((NOT_DONE, GOOD, BAD), repeat=number)}
    costs = [draw(st.integers(0, 5)) / 10 for _ in range(number)]
    return values, costs, [draw(st.integers(0, 10)) / 10 for _ in range(number)]


def every_strategy(
    state: State, values: dict[State, float], costs: list[float], chances: list[float]
) -> Iterator[float]:
    """Yield what each decision tree from *state* on is worth, written out in full."""
    yield values[state]
    for number, result in enumerate(state):
        if result == NOT_DONE:
            good = list(every_strategy(after(state, number, GOOD), values, costs, chances))
            bad = list(every_strategy(after(state, number, BAD), values, costs, chances))
            p = chances[number]
            yield from (p * a + (1 - p) * b - costs[number] for a in good for b in bad)


@given(problems())
def test_no_decision_tree_is_better(
    problem: tuple[dict[State, float], list[float], list[float]],
) -> None:
    values, costs, chances = problem
    start: State = (NOT_DONE,) * len(costs)
    best = max(every_strategy(start, *problem))
    assert best_policy(values, costs, chances)(start).value == pytest.approx(best, abs=1e-6)


@pytest.fixture(scope="module", params=DEMOS)
def found(
    adviser: Adviser, demo: Callable[[str], Case], request: pytest.FixtureRequest
) -> tuple[Case, Path]:
    case = demo(request.param)
    return case, find_path(adviser, case, most_tests=2)


def ends(branch: Branch, case: Case, makeable: Makeable) -> Iterator[tuple[Case, Branch]]:
    """Yield each end of a path with the case as its results would leave it."""
    if branch.test is None:
        yield case, branch
        return
    for result, inner in ((GOOD, branch.if_good), (BAD, branch.if_bad)):
        assert inner is not None
        yield from ends(inner, applied(case, makeable.of(branch.test.changes), result), makeable)


def test_the_end_of_each_branch_is_what_weighing_again_accepts(
    adviser: Adviser, found: tuple[Case, Path]
) -> None:
    case, path = found
    makeable = Makeable(adviser, case, [o.id for o in adviser.weigh(case).options()])
    start = applied(case, makeable.of(path.also_needed))
    for then, end in ends(path.first, start, makeable):
        options = {o.id: o for o in adviser.weigh(then).options()}
        for choice in end.choices:
            assert options[choice.option].verdict == "accepted"
            assert options[choice.option].meets_aim == choice.meets_aim
        assert end.serves == all(c.meets_aim for c in end.choices)


def test_every_problem_has_its_choice_at_every_end(found: tuple[Case, Path]) -> None:
    case, path = found
    for end in leaves(path.first):
        problems = {choice.problem for choice in end.choices}
        assert {d.id for d in case.damages} <= problems


def test_a_path_is_told_line_by_line(found: tuple[Case, Path]) -> None:
    _, path = found
    lines = list(in_words(path.first))
    told = [line for _, line in lines if not line.startswith("then ")]
    ends = list(leaves(path.first))
    assert sum("can serve" in line or "can't serve" in line for line in told) == len(ends)
    assert len(lines) - len(told) == sum(bool(end.rest) for end in ends)


def test_the_dancer_s_ground_and_lining_are_tested_before_needle_and_vapour(
    adviser: Adviser, demo: Callable[[str], Case]
) -> None:
    path = find_path(adviser, demo("festival-dancer"), most_tests=4)
    asked = {one.test: one.parts for one in path.tests}
    assert "top-tier" in asked["test:needle-prick"]
    assert asked["test:colourfastness-vapour"] == ("lining",)
    assert path.serves < 1


def test_what_is_open_at_an_end_lets_it_serve_if_it_comes_out_well(
    adviser: Adviser, found: tuple[Case, Path]
) -> None:
    case, path = found
    makeable = Makeable(adviser, case, [o.id for o in adviser.weigh(case).options()])
    start = applied(case, makeable.of(path.also_needed))
    for then, end in ends(path.first, start, makeable):
        assert not (end.serves and end.rest)
        if not end.rest:
            continue
        good = then
        for trial in end.rest:
            good = applied(good, makeable.of(trial.changes), GOOD)
        options = {o.id: o for o in adviser.weigh(good).options()}
        assert all(options[choice.option].verdict == "accepted" for choice in end.then)
        assert end.serves_then == all(options[choice.option].meets_aim for choice in end.then)
        assert sum(c.meets_aim for c in end.then) >= sum(c.meets_aim for c in end.choices)


def test_the_dancer_can_serve_once_all_that_is_asked_comes_out_well(
    adviser: Adviser, demo: Callable[[str], Case]
) -> None:
    path = find_path(adviser, demo("festival-dancer"), most_tests=4)
    end = path.first
    while end.if_good is not None:
        end = end.if_good
    assert not end.serves
    assert end.serves_then
    closures = [trial for trial in end.rest if trial.test == "test:closure-trial"]
    assert [set(trial.parts) for trial in closures] == [{"belt", "fastenings", "skirt"}]


def test_tests_beyond_the_bound_are_named(adviser: Adviser, demo: Callable[[str], Case]) -> None:
    none = find_path(adviser, demo("festival-dancer"), most_tests=0)
    assert none.first.test is None
    assert none.left_out
    with pytest.raises(ValueError, match="most_tests"):
        find_path(adviser, demo("festival-dancer"), most_tests=7)


def test_what_an_end_needs_besides_its_tests_is_named(
    adviser: Adviser, make_case: Callable[..., Case]
) -> None:
    record = collar_with_sequins("certain", barrier="in-place")
    record["parts"][0]["materials"][1] = {"material": "dye-unidentified", "identified": "unknown"}
    record["parts"][0]["lies_flat"] = "no"
    record["means"]["skill"] = "assistant"
    path = find_path(adviser, make_case(**record), most_tests=0)
    pack = "crushed/membrane-pack-suspended"

    assert path.first.rest
    assert [choice.option for choice in path.first.then if choice.problem == "crushed"] == [pack]
    assert [change.kind for change in path.also_needed] == ["means"]
