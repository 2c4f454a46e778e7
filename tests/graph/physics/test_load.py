"""Load: slopes, hanging, support lines, waist tape, weights."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from leastwise.graph.physics.bounds import PhysicsInputError, Range
from leastwise.graph.physics.load import (
    hung_load,
    pressure_pa,
    slope,
    support_lines,
    waist_tape,
    weight_for_pressure,
)


@given(st.floats(0.01, 50), st.floats(1, 90), st.floats(0.05, 3))
def test_forces_on_a_slope_add_up_and_slip_turns_at_the_friction_needed(
    mass: float, angle: float, friction: float
) -> None:
    board = slope(mass, angle, Range(friction, friction))
    assert math.hypot(board.pull_n, board.press_n) == pytest.approx(board.weight_n)
    expected = "holds" if friction >= board.friction_needed else "too much"
    assert board.slip.state == expected
    assert (board.net_pull_n.high == 0) == (friction * board.press_n >= board.pull_n)


def test_unknown_friction_stays_unknown_and_a_wide_range_is_in_doubt() -> None:
    """claim:S-148: no published coefficient of museum covers was found; use a tilt test."""
    unknown = slope(2, 30)
    assert unknown.slip.state == "unknown"
    assert "tilt test" in unknown.slip.says
    assert unknown.net_pull_n.high == pytest.approx(unknown.pull_n)
    assert slope(2, 45, Range(0.5, 1.5)).slip.state == "in doubt"


def test_strength_unknown_says_what_a_trial_would_tell() -> None:
    """claim:S-182, S-241: no limit published; sound looks don't prove strength."""
    hung = hung_load(120, 140)
    assert hung.verdict.state == "unknown"
    assert hung.verdict.factor_of_safety is None
    assert "trial" in hung.verdict.says
    assert hung_load(120, 140, 1, Range(50, 80)).verdict.state == "holds"
    assert hung_load(120, 140, 1, Range(1, 2)).verdict.state == "too much"
    assert hung_load(120, 140, 1, Range(5, 50)).verdict.state == "in doubt"


@given(st.floats(10, 1000), st.floats(10, 400), st.floats(0.5, 50))
def test_support_lines_are_the_fewest_that_do(density: float, drop: float, allowed: float) -> None:
    total = hung_load(density, drop).line_load_n_m
    lines = support_lines(density, drop, allowed)
    assert lines.count is not None
    assert lines.load_per_line_n_m is not None
    assert lines.load_per_line_n_m <= allowed * (1 + 1e-6)
    assert lines.count == 1 or total / (lines.count - 1) > allowed
    assert len(lines.positions_cm) == lines.count


def test_too_many_lines_means_lay_it_flat() -> None:
    with pytest.raises(PhysicsInputError, match="lay it flat"):
        support_lines(500, 300, 0.01)


@given(st.floats(0.1, 10), st.floats(0, 0.9), st.floats(40, 120))
def test_tape_and_shoulders_carry_the_whole_skirt(mass: float, share: float, waist: float) -> None:
    tape = waist_tape(mass, Range(share, share), Range(0.3, 0.3), waist, 2.0)
    assert tape.tape_load_n.low + tape.shoulder_load_n.low == pytest.approx(tape.weight_n)
    # Tension turned back into friction on the whole circumference carries the load.
    assert 2 * math.pi * tape.tape_tension_n.low * 0.3 == pytest.approx(tape.tape_load_n.low)


def test_weights_follow_practice() -> None:
    """claim:W-186 (practice): 0.5-1 g/cm2 for silk; claim:D-11: 4 mm of glass is 1 g/cm2."""
    silk = weight_for_pressure(2.0, 200, "fragile")
    assert not silk.within_practice
    plan = weight_for_pressure(0.75, 250, "fragile")
    assert plan.within_practice
    assert plan.glass_thickness_mm == pytest.approx(3)
    assert plan.plates == 3
    assert plan.pressure_pa == pytest.approx(pressure_pa(187.5, 250))
    with pytest.raises(PhysicsInputError, match="fragile or ordinary or robust"):
        weight_for_pressure(1, 100, "lead")
