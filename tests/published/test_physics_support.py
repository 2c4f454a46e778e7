"""Check values of support-and-display.md S-146, S-147 and moisture-and-cleaning.md D-11, D-12."""

from __future__ import annotations

import pytest

from leastwise.graph.physics.load import (
    friction_needed,
    pressure_pa,
    pull_along_slope,
    weight_for_pressure,
)


@pytest.mark.parametrize(
    ("angle", "share"),
    [(5, 0.996), (15, 0.966), (30, 0.866), (45, 0.707), (60, 0.500), (70, 0.342)],
)
def test_pull_along_a_slope(angle: float, share: float) -> None:
    """claim:S-146 (practice, arithmetic)."""
    assert pull_along_slope(angle) == pytest.approx(share, abs=5e-4)


@pytest.mark.parametrize(("angle", "friction"), [(30, 1.73), (45, 1.00), (60, 0.58), (70, 0.36)])
def test_friction_needed(angle: float, friction: float) -> None:
    """claim:S-147 (practice, arithmetic)."""
    assert friction_needed(angle) == pytest.approx(friction, abs=5e-3)


@pytest.mark.parametrize(
    ("millimetres", "g_cm2", "pascal"),
    [(3, 0.75, 74), (4, 1.0, 98), (6, 1.5, 147), (8, 2.0, 196), (10, 2.5, 245), (12, 3.0, 294)],
)
def test_glass_weights(millimetres: float, g_cm2: float, pascal: float) -> None:
    """D-11 (density from memory, W-184)."""
    plan = weight_for_pressure(g_cm2, 100)
    assert plan.glass_thickness_mm == pytest.approx(millimetres)
    assert plan.pressure_pa == pytest.approx(pascal, abs=0.6)


def test_iso_test_pressure() -> None:
    """D-12: 12.5 kPa is 127 g/cm2."""
    assert pressure_pa(127, 1) == pytest.approx(12_500, rel=5e-3)
