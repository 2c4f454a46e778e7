"""The policy that a case keeps: followed by all that is worked out from the case."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import pytest

from leastwise.graph import Adviser, Case
from leastwise.graph.case.reading import case_from_data
from leastwise.graph.errors import CaseError
from leastwise.graph.planning.make import make_plan
from leastwise.graph.questions.acceptability import case_shares
from leastwise.graph.questions.path import find_path
from leastwise.graph.questions.weights import order_kept
from leastwise.graph.weighing.case_policy import OWN_WEIGHTS

Maker = Callable[..., Case]


def kept(demo: Callable[[str], Case], adviser: Adviser, **weighing: Any) -> Case:
    data = demo("guild-banner").model_dump(mode="json") | {"weighing": weighing}
    return case_from_data(data, adviser.knowledge)


@pytest.mark.parametrize("written", ["policy:display-driven", "display-driven"])
def test_a_case_that_keeps_a_policy_is_weighed_by_it(
    demo: Callable[[str], Case], adviser: Adviser, written: str
) -> None:
    case = kept(demo, adviser, policy=written)
    asked = adviser.under("policy:display-driven").weigh(demo("guild-banner"))

    answer = adviser.weigh(case)

    assert case.weighing.policy == "policy:display-driven"
    assert answer.policy == asked.policy
    assert [o.id for o in answer.options()] == [o.id for o in asked.options()]
    assert make_plan(case, adviser, answer=answer).policy.id == "policy:display-driven"
    assert case_shares(adviser, case, draws=100).policy == "policy:display-driven"


def test_what_is_asked_for_now_goes_before_what_the_case_keeps(
    demo: Callable[[str], Case], adviser: Adviser
) -> None:
    case = kept(demo, adviser, policy="display-driven", weights={"exposure": 100})

    assert adviser.under("conservative").weigh(case).policy.id == "policy:conservative"
    assert OWN_WEIGHTS not in adviser.under("conservative").weigh(case).policy.label


def test_weights_of_a_case_are_shares_and_move_the_order_but_no_verdict(
    demo: Callable[[str], Case], adviser: Adviser
) -> None:
    axes = [axis.partition(":")[2] for axis in adviser.catalogue.axes]
    only = dict.fromkeys(axes, 0) | {"visual-change": 50}
    before, after = (
        adviser.weigh(kept(demo, adviser, weights=w)) for w in (dict.fromkeys(axes, 10), only)
    )

    assert after.policy.weights["axis:visual-change"] == 1.0
    assert sum(before.policy.weights.values()) == pytest.approx(1.0, abs=1e-5)
    assert after.policy.label.endswith(OWN_WEIGHTS)
    assert {o.id: o.verdict for o in before.options()} == {o.id: o.verdict for o in after.options()}
    assert [o.id for o in before.options()] != [o.id for o in after.options()]
    for o in after.options():
        assert o.burden == pytest.approx(o.burdens["axis:visual-change"] / 4)


def test_an_axis_that_is_not_named_keeps_the_points_of_the_policy(
    demo: Callable[[str], Case], adviser: Adviser
) -> None:
    house = adviser.policy.weights
    found = adviser.policy_of(kept(demo, adviser, weights={"exposure": 100})).weights

    total = 1.0 + sum(w for axis, w in house.items() if axis != "axis:exposure")
    assert found["axis:exposure"] == pytest.approx(1 / total, abs=1e-6)
    assert found["axis:penetration"] == pytest.approx(house["axis:penetration"] / total, abs=1e-6)


def test_shares_leave_out_an_order_that_the_weights_of_the_case_go_against(
    demo: Callable[[str], Case], adviser: Adviser
) -> None:
    axes = adviser.catalogue.axes
    house = order_kept(adviser.catalogue, adviser.policy)
    least = {j for _, j in house} - {i for i, _ in house}
    name = axes[min(least)].partition(":")[2]
    policy = adviser.policy_of(kept(demo, adviser, weights={name: 100}))

    found = order_kept(adviser.catalogue, policy)
    assert found == {(i, j) for i, j in house if j != min(least)}
    assert found < house


def test_the_path_follows_the_policy_of_the_case(
    demo: Callable[[str], Case], adviser: Adviser
) -> None:
    case, plain = kept(demo, adviser, policy="display-driven"), demo("guild-banner")

    assert find_path(adviser, case) == find_path(adviser.under("display-driven"), case)
    assert find_path(adviser, plain) == find_path(adviser.under("conservative"), plain)


@pytest.mark.parametrize(
    ("weighing", "path", "accepted"),
    [
        ({"policy": "boldest"}, "weighing.policy", "a policy of the knowledge"),
        ({"weights": {"beauty": 3}}, "weighing.weights.beauty", "one of "),
        ({"weights": {"exposure": -1}}, "weighing.weights.exposure", "greater than or equal to 0"),
        ({"weights": {"exposure": 101}}, "weighing.weights.exposure", "less than or equal to 100"),
        ({"wieghts": {}}, "weighing.wieghts", "a field that the format has"),
    ],
)
def test_what_can_not_be_weighed_with_is_told_with_its_place(
    demo: Callable[[str], Case],
    adviser: Adviser,
    weighing: dict[str, Any],
    path: str,
    accepted: str,
) -> None:
    with pytest.raises(CaseError) as caught:
        kept(demo, adviser, **weighing)
    assert [(p.path, accepted in p.accepted) for p in caught.value.problems] == [(path, True)]


def test_nothing_but_zeros_is_told(demo: Callable[[str], Case], adviser: Adviser) -> None:
    axes = [axis.partition(":")[2] for axis in adviser.catalogue.axes]
    with pytest.raises(CaseError, match=r"weighing\.weights"):
        kept(demo, adviser, weights=dict.fromkeys(axes, 0))
