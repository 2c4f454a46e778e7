"""Costs by the house's rates where it gives them, else none."""

from __future__ import annotations

from pathlib import Path

from leastwise.graph import Adviser, load_adviser, read_demo
from leastwise.graph.planning.costs import cost_of
from leastwise.graph.planning.make import make_plan
from leastwise.graph.planning.values import Material, Plan

HOUSE = """
@prefix lw: <https://w3id.org/leastwise/ns#> .
@prefix planning: <https://w3id.org/leastwise/planning/> .
@prefix policy: <https://w3id.org/leastwise/policy/> .
@prefix xsd: <http://www.w3.org/2001/XMLSchema#> .
{policy} lw:hourPrice 40 ; lw:currency "EUR" .
planning:membrane-by-area lw:unitPrice 0.02 .
"""


def planned(adviser: Adviser) -> Plan:
    return make_plan(read_demo("guild-banner", adviser.knowledge), adviser)


def used_in(plan: Plan) -> list[Material]:
    return [m for step in plan.steps for m in step.materials]


def test_without_a_price_of_an_hour_nothing_is_reckoned(adviser: Adviser) -> None:
    plan = planned(adviser)

    assert cost_of(adviser.knowledge, plan.policy.id, plan.hours, used_in(plan)) is None


def test_with_a_house_rate_the_hours_are_costed_and_what_has_no_price_is_named(
    adviser: Adviser, tmp_path: Path, cache: Path
) -> None:
    (tmp_path / "prices.ttl").write_text(HOUSE.format(policy=adviser.policy.id), "utf-8")
    house = load_adviser([tmp_path], cache=cache)
    plan = planned(house)

    cost = cost_of(house.knowledge, plan.policy.id, plan.hours, used_in(plan))

    assert cost is not None
    assert cost.work == (40 * plan.hours[0], 40 * plan.hours[1])
    used = {m.item for m in used_in(plan)}
    assert set(cost.unpriced) <= used
    assert "EUR at 40 EUR an hour" in cost.in_words
