"""Light: doses, budgets and rotation plans."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from leastwise.graph.physics.bounds import PhysicsInputError
from leastwise.graph.physics.light import (
    LitPart,
    Responsivity,
    dose_lx_h,
    fade_time,
    responsivity_of,
    ruling_part,
    uv_dose,
    years_to_fade,
)
from leastwise.graph.physics.rotation import DisplayPeriod, Lighting, check_plan, plan_rotation


@given(st.integers(1, 7), st.floats(1, 1000), st.floats(10, 8760), st.booleans())
def test_a_higher_class_lasts_longer_and_more_light_less(
    blue_wool: int, light: float, hours: float, removed: bool
) -> None:
    here = years_to_fade(blue_wool, light, hours, uv_removed=removed)
    assert years_to_fade(blue_wool + 1, light, hours, uv_removed=removed) > here
    assert years_to_fade(blue_wool, 2 * light, hours, uv_removed=removed) == pytest.approx(here / 2)
    assert years_to_fade(blue_wool, light, hours, uv_removed=True) >= here


@given(
    st.floats(1, 300),
    st.floats(1, 12),
    st.floats(1_000, 500_000),
    st.integers(1, 6),
    st.integers(1, 4),
)
def test_a_plan_holds_its_budget_and_one_more_day_would_not(
    light: float, hours: float, budget: float, cycle: int, cycles: int
) -> None:
    plan = plan_rotation(Lighting(light, hours), budget, cycle, cycles)
    assert plan.dose_lx_h_per_cycle <= plan.budget_lx_h_per_cycle * (1 + 1e-12)
    if plan.rest_days:
        assert plan.dose_lx_h_per_cycle + light * hours > plan.budget_lx_h_per_cycle * (1 - 1e-12)
    if cycle == 1:
        assert check_plan(Lighting(light, hours), plan.periods, budget, cycles).holds


def test_light_at_rest_is_part_of_the_dose() -> None:
    dim = plan_rotation(Lighting(50, 8, 1.0, 8), 15_000)
    assert dim.show_days < plan_rotation(Lighting(50, 8), 15_000).show_days
    with pytest.raises(PhysicsInputError, match="rest_illuminance_lx"):
        plan_rotation(Lighting(50, 8, 50, 8), 15_000)


def test_a_plan_over_budget_is_told_in_the_year_it_happens() -> None:
    check = check_plan(Lighting(50, 8), [DisplayPeriod(300, 100)], 15_000, 2)
    assert check.days_shown_by_year == (65, 35)
    assert check.dose_lx_h_by_year == (26_000, 14_000)
    assert not check.holds
    assert check.cumulative_dose_lx_h == (0, 0, 40_000, 40_000)
    assert check.days == (0, 300, 400, 730)


def test_overlapping_periods_are_refused() -> None:
    with pytest.raises(PhysicsInputError, match="overlap"):
        check_plan(Lighting(50, 8), [DisplayPeriod(0, 30), DisplayPeriod(20, 30)], 1e5, 1)


def test_the_most_sensitive_part_rules() -> None:
    """Common practice; claim:E-005: a costume becomes R3 as soon as silk is recorded."""
    rule = ruling_part(
        [LitPart("brass hook", Responsivity.R0, measured=True), LitPart("lining", Responsivity.R3)]
    )
    assert rule.ruling.name == "lining"
    assert rule.budget.dose_lx_h_per_year == 15_000
    assert any("lining" in text and "not measured" in text for text in rule.caveats)
    assert responsivity_of(silk=False, fugitive_dye=False) is Responsivity.R2
    with pytest.raises(PhysicsInputError):
        ruling_part([])


def test_an_unknown_class_and_unknown_uv_give_a_wider_band() -> None:
    wide, narrow = fade_time((1, 3), 50, 3000), fade_time((2, 2), 50, 3000, uv_removed=True)
    assert narrow.years.low == narrow.years.high
    assert wide.years.low < narrow.years.low < wide.years.high
    assert any("memory" in text for text in wide.rests_on)


@pytest.mark.parametrize(
    ("share", "word"), [(8, "ideal of"), (60, "within the most"), (90, "filter")]
)
def test_uv_verdict(share: float, word: str) -> None:
    """claim:E-029 (read): 0-10 ideal, 75 microwatt per lumen at most."""
    assert word in uv_dose(50, share, 100).verdict


@pytest.mark.parametrize("blue_wool", [0, 9])
def test_a_class_off_the_scale_is_refused(blue_wool: int) -> None:
    with pytest.raises(PhysicsInputError, match="from 1 to 8"):
        years_to_fade(blue_wool, 50, 3000, uv_removed=True)
    with pytest.raises(PhysicsInputError, match="most sensitive first"):
        fade_time((3, 1), 50, 3000)
    with pytest.raises(PhysicsInputError):
        dose_lx_h(-1, 3)
