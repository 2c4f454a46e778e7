"""Burden, benefit and order."""

from __future__ import annotations

from dataclasses import replace

from hypothesis import given
from hypothesis import strategies as st

from leastwise.graph import Adviser
from leastwise.graph.weighing.ranking import Score, dominators, in_order

AXES = ("axis:a", "axis:b", "axis:c")


def make(name: str, grades: tuple[int, ...], efficacy: int = 2, hours: float = 1.0) -> Score:
    residual = max(0, 3 - efficacy)
    burdens = dict(zip(AXES, grades, strict=True))
    return Score(
        name, burdens, sum(grades) / 12, 3, efficacy, residual, residual <= 1, (hours, hours)
    )


scores = st.lists(
    st.builds(
        make,
        st.text("abcdef", min_size=1, max_size=4),
        st.tuples(*[st.integers(0, 4)] * 3),
        st.integers(0, 4),
        st.sampled_from([0.5, 1.0, 4.0]),
    ),
    max_size=7,
    unique_by=lambda s: s.option,
)
VERDICTS = st.sampled_from(["accepted", "undecided", "defeated"])


def test_gentler_on_one_axis_and_equal_elsewhere_dominates() -> None:
    a, b = make("a", (1, 1, 1)), make("b", (1, 2, 1))

    assert dominators(b, [a, b]) == ["a"]
    assert dominators(a, [a, b]) == []


def test_less_help_does_not_dominate() -> None:
    assert dominators(make("b", (2, 2, 2), 3), [make("a", (0, 0, 0), 1)]) == []


@given(scores)
def test_dominance_has_no_cycle(found: list[Score]) -> None:
    for one in found:
        for name in dominators(one, found):
            other = next(s for s in found if s.option == name)
            assert one.option not in dominators(other, found)


@given(scores, st.data())
def test_the_order_does_not_depend_on_the_order_given(
    found: list[Score], data: st.DataObject
) -> None:
    verdicts = {s.option: data.draw(VERDICTS) for s in found}
    shuffled = data.draw(st.permutations(found))

    assert in_order(found, verdicts) == in_order(shuffled, verdicts)


@given(scores)
def test_no_option_that_meets_the_aim_stands_behind_one_that_dominates_it_less(
    found: list[Score],
) -> None:
    verdicts = {s.option: "accepted" for s in found}
    order = [s.option for s in in_order(found, verdicts)]
    for one in found:
        for better in dominators(one, found):
            assert order.index(better) < order.index(one.option)


@given(scores, st.data())
def test_what_serves_the_aim_leads_and_what_is_defeated_closes(
    found: list[Score], data: st.DataObject
) -> None:
    verdicts = {s.option: data.draw(VERDICTS) for s in found}

    def place(s: Score) -> int:
        if verdicts[s.option] == "defeated":
            return 3
        return 0 if s.meets_aim else (1 if s.residual < s.hindrance else 2)

    places = [place(s) for s in in_order(found, verdicts)]

    assert places == sorted(places)


def test_open_points_count_as_the_burden_they_may_bring() -> None:
    light, heavy = make("light", (1, 1, 1)), make("heavy", (2, 2, 2))
    waiting = replace(light, waiting=heavy.burden - light.burden + 0.01)
    verdicts = {"light": "undecided", "heavy": "accepted"}

    assert [s.option for s in in_order([heavy, light], verdicts)] == ["light", "heavy"]
    assert [s.option for s in in_order([heavy, waiting], verdicts)] == ["heavy", "light"]


def test_waiting_grows_with_every_open_point(adviser: Adviser) -> None:
    costs = [adviser.policy.waiting(n) for n in range(6)]

    assert costs[0] == 0
    assert costs == sorted(set(costs))
    assert costs[-1] < adviser.policy.falling_back_costs


def test_what_takes_more_hours_dominates_nothing() -> None:
    gentle, quick = make("gentle", (1, 1, 1), hours=4.0), make("quick", (1, 2, 1), hours=1.0)

    assert dominators(quick, [gentle, quick]) == []
    assert dominators(quick, [make("as-quick", (1, 1, 1), hours=1.0)]) == ["as-quick"]
