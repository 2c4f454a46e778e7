"""What an entry of a treatment record can't say: impossible values, units, days, parts."""

from __future__ import annotations

from datetime import date, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from leastwise.graph import Adviser, Case
from leastwise.graph.case.demo import read_demo
from leastwise.graph.treatment.checks import UNITS, entry_problems

TODAY = date(2026, 11, 25)


@pytest.fixture(scope="module")
def dancer(adviser: Adviser) -> Case:
    return read_demo("festival-dancer", adviser.knowledge)


def paths(listing: str, entry: dict[str, object], case: Case) -> list[str]:
    return [p.path for p in entry_problems(listing, {"date": "2026-11-24", **entry}, case, TODAY)]


@pytest.mark.parametrize(
    ("quantity", "value", "unit", "wrong"),
    [
        # relative humidity is a share of saturation: 0 to 100 % by definition
        ("rh", 400, "%", "readings.value"),
        ("rh", -20, "%", "readings.value"),
        ("rh", 100, "%", ""),
        # absolute zero: -273.15 degrees Celsius by definition of the kelvin
        ("temperature", -400, "°C", "readings.value"),
        ("temperature", -400, "kg", "readings.unit"),
        ("temperature", -18, "°C", ""),
        ("ph", 33, "pH", "readings.value"),  # 0 to 14: common practice
        ("weight", -5, "g", "readings.value"),
        ("weight", 0, "g", "readings.value"),
        ("duration", 50, "%", "readings.unit"),
        ("duration", 50, "min", ""),
        ("other", -3, "counts", ""),
    ],
)
def test_what_is_physically_impossible_is_told_beside_its_field(
    dancer: Case, quantity: str, value: float, unit: str, wrong: str
) -> None:
    entry = {"quantity": quantity, "value": value, "unit": unit}
    assert paths("readings", entry, dancer) == ([wrong] if wrong else [])


@pytest.mark.parametrize("listing", ["readings", "steps", "outcomes", "materials"])
def test_a_day_of_work_lies_behind(dancer: Case, listing: str) -> None:
    for day in ("0001-01-01", "2199-01-01", "2026-11-27"):
        assert f"{listing}.date" in paths(listing, {"date": day}, dancer)
    for day in ("1900-01-01", "2026-11-25", "2026-11-26"):  # it may be tomorrow there already
        assert paths(listing, {"date": day}, dancer) == []


def test_a_follow_up_may_lie_ahead(dancer: Case) -> None:
    ahead = (TODAY + timedelta(days=400)).isoformat()
    assert paths("follow_ups", {"date": ahead}, dancer) == []


def test_an_outcome_belongs_to_a_part_that_has_the_damage(dancer: Case) -> None:
    wrong = {"damage": "crushed-tiers", "part": "bodice"}
    assert paths("outcomes", wrong, dancer) == ["outcomes.part"]
    assert paths("outcomes", {**wrong, "part": "top-tier"}, dancer) == []


@given(st.sampled_from(sorted(UNITS)), st.data())
def test_every_value_within_its_limits_is_let_in_and_none_beyond(
    quantity: str, data: st.DataObject
) -> None:
    unit = data.draw(st.sampled_from(sorted(UNITS[quantity])))
    limits = UNITS[quantity][unit]
    value = data.draw(st.floats(limits.low, limits.high, exclude_min=limits.above))
    assert limits.hold(value)
    assert not limits.hold(limits.high * 2 + 1)
