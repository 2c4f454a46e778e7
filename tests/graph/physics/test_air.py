"""Air and ageing: what holds for every input, and what is refused."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from leastwise.graph.errors import LeastwiseError
from leastwise.graph.physics.ageing import lifetime_multiplier, mould_window
from leastwise.graph.physics.air import (
    absolute_humidity_g_m3,
    dew_point_c,
    humidity_ratio,
    relative_humidity_at,
    saturation_pressure_pa,
    surface_air,
    vapour_pressure_pa,
)
from leastwise.graph.physics.bounds import PhysicsInputError
from leastwise.graph.physics.chamber import Chamber, condition_chamber, ramp_hours

temperatures = st.floats(-20, 45)
humidities = st.floats(0.05, 1.0)


@given(temperatures, humidities)
def test_dew_point_has_the_air_s_vapour_pressure_and_is_not_above_it(
    temperature: float, humidity: float
) -> None:
    dew = dew_point_c(temperature, humidity)
    assert dew <= temperature
    pressure = vapour_pressure_pa(temperature, humidity)
    # Over ice and over water meet at 0.01 C only to some ten parts in a million.
    assert saturation_pressure_pa(dew) == pytest.approx(pressure, rel=1e-4)


@given(temperatures, humidities, temperatures)
def test_warming_dries_and_there_and_back_is_the_same(
    temperature: float, humidity: float, other: float
) -> None:
    moved = relative_humidity_at(temperature, humidity, other)
    assert (moved <= humidity) == (other >= temperature) or moved == pytest.approx(humidity)
    if moved <= 1:
        assert relative_humidity_at(other, moved, temperature) == pytest.approx(humidity)


@given(st.floats(5, 35), st.floats(0.2, 0.9))
def test_lifetime_grows_with_cold_and_with_dryness(temperature: float, humidity: float) -> None:
    here = lifetime_multiplier(temperature, humidity)
    assert lifetime_multiplier(temperature - 1, humidity) > here
    assert lifetime_multiplier(temperature, humidity - 0.05 * humidity) > here


@given(st.floats(0.60, 0.999))
def test_mould_comes_sooner_the_damper(humidity: float) -> None:
    here, damper = mould_window(humidity).days, mould_window(min(1.0, humidity + 0.001)).days
    assert here is not None
    assert damper is not None
    assert damper.high < here.high
    assert damper.low < here.low < here.typical < here.high


def test_mould_watch_and_condensation_at_a_cold_wall() -> None:
    """Section 9 of the environment sheet: surface RH over 70 % is a mould watch (E-085)."""
    assert not surface_air(20, 0.50, 16).mould_watch
    assert surface_air(20, 0.50, 14).mould_watch
    cold = surface_air(20, 0.50, 8)
    assert cold.condenses
    assert cold.margin_k < 0


def test_tight_chamber_condenses_and_leaky_chamber_never_gets_there() -> None:
    tight = condition_chamber(Chamber(1, 20, 0.5, 0, 5), 0.8)
    assert tight.would_condense
    assert tight.hours_to_target is not None
    leaky = condition_chamber(Chamber(1, 20, 0.5, 20, 5), 0.8)
    assert leaky.hours_to_target is None
    assert leaky.settles_at < 0.8


def test_textile_in_the_chamber_slows_it() -> None:
    """Common practice: the textile, not the air, takes most of the water."""
    empty = condition_chamber(Chamber(1, 20, 0.5, 0.2, 20), 0.75)
    full = condition_chamber(Chamber(1, 20, 0.5, 0.2, 20, 2000, 0.2), 0.75)
    assert empty.hours_to_target is not None
    assert full.hours_to_target is not None
    assert full.hours_to_target > 10 * empty.hours_to_target
    assert full.water_for_textile_g > 10 * full.water_for_air_g


def test_chamber_with_no_supply_stays_at_room_humidity() -> None:
    still = condition_chamber(Chamber(1, 20, 0.5, 0, 0), 0.8)
    assert still.settles_at == 0.5
    assert still.hours_to_target is None
    assert condition_chamber(Chamber(1, 20, 0.5, 0, 0), 0.4).hours_to_target == 0


@pytest.mark.parametrize(
    ("call", "field"),
    [
        (lambda: saturation_pressure_pa(200), "temperature_c"),
        (lambda: saturation_pressure_pa(float("nan")), "temperature_c"),
        (lambda: vapour_pressure_pa(20, 55), "relative_humidity"),
        (lambda: dew_point_c(20, 0.0), "relative_humidity"),
        (lambda: humidity_ratio(20, 0.5, 10), "pressure_pa"),
        (lambda: absolute_humidity_g_m3(20, True), "relative_humidity"),
        (lambda: humidity_ratio(100, 1.0, 60_000), "pressure_pa"),
        (lambda: ramp_hours(0.5, 0.5), "to_relative_humidity"),
        (lambda: mould_window(1.2), "relative_humidity"),
    ],
)
def test_input_out_of_range_names_the_field(call: object, field: str) -> None:
    with pytest.raises(PhysicsInputError) as caught:
        call()  # type: ignore[operator]
    assert caught.value.field == field
    assert isinstance(caught.value, LeastwiseError)
    assert "expected" in str(caught.value)


def test_every_answer_says_what_it_rests_on() -> None:
    for answer in (surface_air(20, 0.5, 15), mould_window(0.8)):
        assert answer.rests_on
        assert answer.caveats
    assert any("memory" in text for text in mould_window(0.8).rests_on)
