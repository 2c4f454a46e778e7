"""Conditioning the air of a chamber or tent, and the textile in it."""

from __future__ import annotations

import math
from dataclasses import dataclass

from leastwise.graph.physics.air import saturation_concentration_g_m3
from leastwise.graph.physics.bounds import Band, PhysicsInputError, within

__all__ = ["Chamber", "ChamberClimate", "condition_chamber", "ramp_hours"]


@dataclass(frozen=True, slots=True)
class Chamber:
    """A well-mixed chamber: its air, its leaks, its room and the water source in it."""

    volume_m3: float
    temperature_c: float
    room_relative_humidity: float
    air_changes_per_h: float
    supply_g_h: float
    textile_dry_mass_g: float = 0.0
    regain_slope: float = 0.0  # regain per unit of RH, both as fractions

    def __post_init__(self) -> None:
        within("volume_m3", self.volume_m3, 1e-3, 1000)
        within("temperature_c", self.temperature_c, 5, 40)
        within("room_relative_humidity", self.room_relative_humidity, 0, 1)
        within("air_changes_per_h", self.air_changes_per_h, 0, 100)
        within("supply_g_h", self.supply_g_h, 0, 1e5)
        within("textile_dry_mass_g", self.textile_dry_mass_g, 0, 1e6)
        within("regain_slope", self.regain_slope, 0, 1)


@dataclass(frozen=True, slots=True)
class ChamberClimate:
    """RH of the chamber over time, and where it would settle."""

    times_h: tuple[float, ...]
    relative_humidity: tuple[float, ...]
    settles_at: float
    would_condense: bool
    hours_to_target: float | None
    water_for_air_g: float
    water_for_textile_g: float
    rests_on: tuple[str, ...]
    caveats: tuple[str, ...]


def condition_chamber(
    chamber: Chamber, target_relative_humidity: float, duration_h: float = 8.0
) -> ChamberClimate:
    """Return the RH of a chamber from room RH on: C dRH/dt = S - n V c_sat (RH - RH_room).

    C = V c_sat + m_dry x slope of the isotherm (g per unit RH); S is the supply. The textile
    is taken in equilibrium with the air, so real textiles lag behind. RH is capped at 1.

    >>> tent = Chamber(1.0, 20.0, 0.50, 0.5, 4.0)
    >>> climate = condition_chamber(tent, 0.80)
    >>> round(climate.settles_at, 3), round(climate.hours_to_target, 2)
    (0.963, 2.09)
    """
    target = within("target_relative_humidity", target_relative_humidity, 0, 1)
    within("duration_h", duration_h, 0.01, 1000)
    air_g = chamber.volume_m3 * saturation_concentration_g_m3(chamber.temperature_c)
    capacity = air_g + chamber.textile_dry_mass_g * chamber.regain_slope
    loss = chamber.air_changes_per_h * air_g
    room = chamber.room_relative_humidity

    def rise(hours: float) -> float:
        if loss * hours < 1e-9 * capacity:
            return chamber.supply_g_h * hours / capacity
        return chamber.supply_g_h / loss * -math.expm1(-loss * hours / capacity)

    times = tuple(duration_h * step / 100 for step in range(101))
    ends = room + chamber.supply_g_h / loss if loss else (math.inf if chamber.supply_g_h else room)
    return ChamberClimate(
        times_h=times,
        relative_humidity=tuple(min(1.0, room + rise(hours)) for hours in times),
        settles_at=min(1.0, ends),
        would_condense=ends >= 1,
        hours_to_target=_hours_to(target - room, chamber.supply_g_h, loss, capacity),
        water_for_air_g=max(0.0, target - room) * air_g,
        water_for_textile_g=max(0.0, target - room) * (capacity - air_g),
        rests_on=(
            "claim:W-117 (memory): ideal gas",
            "claim:W-031 (practice): 70-85 % RH, above 85 % a condensation hazard",
        ),
        caveats=(
            "Air is taken as well mixed and no wall colder than the air (claim:W-034).",
            "No source for the leakage of a bench tent was found: measure it, or try a range.",
        ),
    )


def _hours_to(rise: float, supply: float, loss: float, capacity: float) -> float | None:
    """Solve the exponential rise for its time; None if the supply never gets there."""
    if rise <= 0:
        return 0.0
    if supply <= 0 or rise * loss >= supply:
        return None
    if loss == 0:
        return rise * capacity / supply
    return -capacity / loss * math.log1p(-rise * loss / supply)


def ramp_hours(from_relative_humidity: float, to_relative_humidity: float) -> Band:
    """Return the shortest ramp for a composite or brittle object, at 5 to 10 % RH an hour.

    claim:W-031 (practice).

    >>> ramp_hours(0.50, 0.80).in_words()
    'about 3 to 6 h'
    """
    start = within("from_relative_humidity", from_relative_humidity, 0, 1)
    end = within("to_relative_humidity", to_relative_humidity, 0, 1)
    if start == end:
        raise PhysicsInputError("to_relative_humidity", end, "an RH other than the first")
    step = abs(end - start)
    return Band(step / 0.10, step / 0.075, step / 0.05, "h")
