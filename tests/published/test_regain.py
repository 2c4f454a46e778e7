"""Moisture regain: published values, their order, and the formula between regain and content."""

from __future__ import annotations

import pytest

from leastwise.graph import Adviser
from leastwise.graph.knowledge.figures import figure, moisture_content_percent, regain_percent


def mid(adviser: Adviser, claim: str) -> float:
    found = figure(adviser.knowledge, f"claim:{claim}")
    return (found.low + found.high) / 2


def test_the_order_of_regain_at_65_percent_rh_is_the_published_one(adviser: Adviser) -> None:
    """wool > viscose > silk > cotton >= flax > acetate > nylon > polyester.

    Wool, silk, cotton, flax: Bioresources and Bioprocessing 2020, Table 10 (M-007, M-005, M-001,
    M-003); viscose: teaching notes (M-010, low authority); acetate: My Textile Notes 2009 (M-012,
    low authority); nylon, polyester: trade table (M-015, M-017, low authority).
    """
    order = ["M-007", "M-010", "M-005", "M-001", "M-003", "M-012", "M-015", "M-017"]

    regains = [mid(adviser, claim) for claim in order]

    assert regains == sorted(regains, reverse=True)


@pytest.mark.parametrize(
    ("claim", "low", "high"),
    [("M-001", 7, 8), ("M-003", 7, 7), ("M-005", 10, 10), ("M-007", 14, 18)],
)
def test_regain_at_65_percent_rh(adviser: Adviser, claim: str, low: float, high: float) -> None:
    """Bioresources and Bioprocessing 2020, Table 10, at 65 % RH and 20 °C."""
    found = figure(adviser.knowledge, f"claim:{claim}")

    assert (found.low, found.high, found.basis) == (low, high, "read")


@pytest.mark.parametrize(
    ("regain", "content"), [(8.5, 7.83), (11.0, 9.91), (16.0, 13.79), (12.4, 11.03), (0.4, 0.398)]
)
def test_content_follows_from_regain(regain: float, content: float) -> None:
    """M = R/(1 + R/100): Textile Triangle section 2 (M-024; low authority, arithmetic only).

    R 11.0 giving M 9.91 is the source's own example; the others are the same arithmetic.
    """
    assert moisture_content_percent(regain) == pytest.approx(content, abs=0.006)


def test_the_trade_table_is_not_copied_where_its_columns_disagree() -> None:
    """Textile Calculation 2015 prints 7.34 % for 8.5 % regain; its own formula gives 7.83."""
    assert moisture_content_percent(8.5) != pytest.approx(7.34, abs=0.1)


def test_regain_is_water_over_dry_mass() -> None:
    """R = 100 W/D: Textile Calculation 2015 (M-023; low authority, a definition)."""
    assert regain_percent(11, 100) == 11


def test_commercial_and_equilibrium_regain_are_kept_apart(adviser: Adviser) -> None:
    """Flax: 12 % commercial (M-004), 7 % at 65 % RH (M-003): ASTM D1909-04 section 4.1 (M-022)."""
    k = adviser.knowledge

    assert k.text("claim:M-004", "lw:property") == "commercial-regain"
    assert k.text("claim:M-003", "lw:property") == "moisture-regain"
    assert mid(adviser, "M-004") > 1.5 * mid(adviser, "M-003")
