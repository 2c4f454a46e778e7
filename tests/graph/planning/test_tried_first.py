"""What is tried first: gentle work that may be done on the same damage, where knowledge says so."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import pytest

from leastwise.graph import Adviser, Case
from leastwise.graph.planning.make import make_plan
from tests.conftest import DEMOS, changed

pytestmark = pytest.mark.slow


@pytest.mark.parametrize("name", DEMOS)
def test_what_is_tried_first_may_be_done_and_burdens_less(
    adviser: Adviser, demo: Callable[[str], Case], name: str
) -> None:
    case = demo(name)
    answer = adviser.weigh(case)
    options = {o.id: o for o in answer.options()}
    for step in make_plan(case, adviser, answer=answer).steps:
        for one in step.tried_first:
            assert one.damage in step.damages
            assert options[one.option].verdict == "accepted"
            assert options[one.option].burden < step.burden
            assert one.because in one.in_words


def test_rest_and_tissue_are_tried_before_vapour(
    adviser: Adviser, demo: Callable[[str], Case]
) -> None:
    """Common practice: folds that drop by themselves need no moisture."""
    plan = make_plan(demo("festival-dancer"), adviser)
    (vapour,) = (s for s in plan.steps if s.technique == "technique:membrane-pack-suspended")

    assert [one.option for one in vapour.tried_first] == ["crushed-tiers/hang-and-settle"]
    assert sum(bool(step.tried_first) for step in plan.steps) == 1


def test_nothing_is_tried_first_that_may_not_be_done(
    adviser: Adviser, demo: Callable[[str], Case]
) -> None:
    """Creases that are evidence wait for the curator, at rest as with vapour."""

    def keep(data: dict[str, Any]) -> None:
        data["significance"]["curator_agrees"] = "no"
        for damage in data["damages"]:
            damage["evidence"] = "yes"

    plan = make_plan(changed(demo("festival-dancer"), adviser, keep), adviser)

    assert not [one for step in plan.steps for one in step.tried_first if "crushed" in one.damage]


def test_what_comes_off_dry_is_taken_off_before_washing(
    adviser: Adviser, make_case: Callable[..., Case]
) -> None:
    """Common practice, and prec:cleaning-before-water: dry before wet."""
    cloth = {
        "id": "cloth",
        "name": "cloth",
        "lies_flat": "yes",
        "bears_handling": "yes",
        "materials": [
            {"material": "cotton", "identified": "certain"},
            {"material": "undyed", "identified": "certain"},
        ],
    }
    case = make_case(
        object={"name": "cloth", "kind": "flat-textile"},
        parts=[cloth],
        damages=[{"id": "dirt", "damage": "ingrained-soil", "parts": ["cloth"], "evidence": "no"}],
        means={"skill": "specialist", "hours": 100, "equipment": "unknown"},
    )
    plan = make_plan(case, adviser)
    wet = [s for s in plan.steps if "dirt" in s.damages]

    assert [one.option for step in wet for one in step.tried_first] == ["dirt/screened-vacuum"]
