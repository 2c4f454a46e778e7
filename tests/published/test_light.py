"""Light: doses of the Blue Wools and the yearly limits of the categories, as the rules use them."""

from __future__ import annotations

import pytest

from leastwise.graph import Adviser
from leastwise.graph.knowledge.figures import figure
from leastwise.graph.weighing.facts import annual_light_dose
from tests.conftest import changed

#: Michalski (CCI), Light chapter, Table 3, also in CIE 157: from memory (E-015 to E-022), Mlx h.
BLUE_WOOL = {
    1: (0.22, 0.3),
    2: (0.6, 1.0),
    3: (1.5, 3.0),
    4: (3.5, 10.0),
    5: (8.0, 30.0),
    6: (20.0, 100.0),
    7: (50.0, 300.0),
    8: (120.0, 1100.0),
}


@pytest.mark.parametrize(("number", "doses"), BLUE_WOOL.items())
def test_dose_to_a_just_noticeable_fade(
    adviser: Adviser, number: int, doses: tuple[float, float]
) -> None:
    found = figure(adviser.knowledge, f"claim:E-{14 + number:03d}")

    assert (found.low / 1e6, found.high / 1e6) == pytest.approx(doses)
    assert found.basis == "memory"


@pytest.mark.parametrize(
    ("number", "with_uv", "without_uv"),
    [(1, 1.47, 2.0), (2, 4.0, 6.67), (3, 10.0, 20.0), (4, 23.3, 66.7), (8, 800.0, 7333.0)],
)
def test_years_at_50_lux_reproduce_the_published_ranges(
    adviser: Adviser, number: int, with_uv: float, without_uv: float
) -> None:
    """years = dose/(50 lx x 3000 h): CCI fade-time table, 1.5 to 20 years (E-025, from memory)."""
    found = figure(adviser.knowledge, f"claim:E-{14 + number:03d}")

    assert found.low / (50 * 3000) == pytest.approx(with_uv, rel=0.005)
    assert found.high / (50 * 3000) == pytest.approx(without_uv, rel=0.005)


@pytest.mark.parametrize(
    ("claim", "limit"), [("E-003", 600_000), ("E-004", 150_000), ("E-005", 15_000)]
)
def test_yearly_limits_of_the_responsivity_categories(
    adviser: Adviser, claim: str, limit: float
) -> None:
    """CIE 157:2004, categories R1, R2, R3: from memory."""
    found = figure(adviser.knowledge, f"claim:{claim}")

    assert (found.low, found.basis) == (limit, "memory")


def test_a_year_of_display_in_lux_hours(adviser: Adviser, demo) -> None:  # type: ignore[no-untyped-def]
    """50 lx x 8 h x 300 d = 120 000 lx h: Annell, lighting glossary, 'Luxtimme' (E-034)."""

    def set_light(data) -> None:  # type: ignore[no-untyped-def]
        data["aim"] |= {"lux": 50, "hours_per_day": 8, "days_per_year": 300}

    assert annual_light_dose(changed(demo("guild-banner"), adviser, set_light)) == 120_000
