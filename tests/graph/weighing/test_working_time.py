"""Hours by size: set-up plus rate times extent; without a size the general hours, as it says."""

from __future__ import annotations

from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from leastwise.graph import Adviser
from leastwise.graph.case.parts import Part
from leastwise.graph.case.record import DamageFound
from leastwise.graph.weighing.working_time import WorkingTime, working_time

SIZES = st.floats(1, 10_000)


def time_of(adviser: Adviser, technique: str, extent: Any = "unknown", **size: Any) -> WorkingTime:
    part = Part.model_validate({"id": "panel", "name": "panel", "size": size})
    problem = DamageFound.model_validate(
        {"id": "d", "damage": "damage:split", "parts": ["panel"], "extent": extent}
    )
    found = adviser.catalogue.techniques[f"technique:{technique}"]
    return working_time(found, problem, [part])


@given(area=SIZES, times=st.floats(1, 100))
def test_scaling_the_area_scales_the_hours_as_the_rate_says(
    adviser: Adviser, area: float, times: float
) -> None:
    one = time_of(adviser, "screened-vacuum", area_cm2=area)
    more = time_of(adviser, "screened-vacuum", area_cm2=area * times)

    for end in (0, 1):
        worked = one.hours[end] - one.set_up[end]
        assert more.hours[end] - more.set_up[end] == pytest.approx(worked * times)
        assert more.set_up[end] == one.set_up[end]


@given(extent=SIZES)
def test_the_extent_of_the_damage_counts_and_not_the_part(adviser: Adviser, extent: float) -> None:
    measured = {"value": extent, "unit": "cm2"}
    small = time_of(adviser, "laid-couching", measured, area_cm2=20_000)
    large = time_of(adviser, "laid-couching", measured, area_cm2=90_000)
    rate = next(
        r for r in adviser.catalogue.techniques["technique:laid-couching"].rates if r.per == "cm2"
    )

    assert small == large
    assert small.hours[1] - small.set_up[1] == pytest.approx(rate.high * extent)


def test_a_share_of_the_part_is_taken_of_its_area(adviser: Adviser) -> None:
    percent = {"value": 25, "unit": "percent"}

    shared = time_of(adviser, "encapsulation", percent, length_cm=80, width_cm=50)

    assert shared.extent == 1000
    assert "25 % of the part" in shared.in_words


def test_a_length_takes_the_rate_by_length(adviser: Adviser) -> None:
    split = time_of(adviser, "stitched-patch", {"value": 30, "unit": "cm"})

    assert (split.extent, split.unit) == (30, "cm")


def test_without_a_size_the_general_hours_stand_and_it_is_said(adviser: Adviser) -> None:
    unknown = time_of(adviser, "laid-couching")

    assert unknown.hours == adviser.catalogue.techniques["technique:laid-couching"].hours
    assert not unknown.by_size
    assert unknown.in_words.startswith("size not recorded; 0.05 to 0.2 h a cm²")


def test_an_extent_in_another_unit_is_not_called_unrecorded(adviser: Adviser) -> None:
    length = time_of(adviser, "encapsulation", {"value": 140, "unit": "cm"})

    assert length.in_words.startswith("extent recorded as 140 cm, its area is not")


def test_every_rate_is_a_span_in_a_known_unit(adviser: Adviser) -> None:
    wrong = [
        f"{one.id}: {rate}"
        for one in adviser.catalogue.techniques.values()
        for rate in one.rates
        if not (0 < rate.low <= rate.high and rate.over in ("", "part", "width", "perimeter"))
    ]

    assert wrong == []
    assert sum(bool(one.rates) for one in adviser.catalogue.techniques.values()) > 100
