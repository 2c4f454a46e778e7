"""What the doors answer for air, light and load: results and sentences."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import Any

from leastwise.graph import physics as p
from leastwise.graph.case.packs import (
    AirRecord,
    Amount,
    ChamberRecord,
    HungRecord,
    LightRecord,
    LinesRecord,
    LoadRecord,
    SlopeRecord,
    TapeRecord,
    WeightsRecord,
)
from leastwise.graph.physics.bounds import joined, minutes_in_words, rounded
from leastwise.graph.setups.answers import mendable_inputs

__all__ = [
    "AirAnswer",
    "LightAnswer",
    "LoadAnswer",
    "answer_air",
    "answer_light",
    "answer_load",
]

DAYS_PER_YEAR = 365
GRIP = {
    "holds": "The friction given holds it.",
    "too much": "It slips with the friction given.",
    "in doubt": "Whether the friction given holds it is in doubt.",
    "unknown": "Whether it holds is unknown: no friction figure for museum covers was found "
    "(S-148), so make a tilt test.",
}


@dataclass(frozen=True, slots=True)
class AirAnswer:
    """What follows for some air: RH as fractions."""

    temperature_c: float
    relative_humidity: float
    dew_point_c: float
    vapour_pressure_pa: float
    absolute_humidity_g_m3: float
    humidity_ratio_g_kg: float
    surface: p.SurfaceAir | None
    heated_to_c: float | None
    heated_relative_humidity: float | None
    lifetime: p.Lifetime | None
    mould: p.MouldWindow
    chamber: p.ChamberClimate | None
    says: tuple[str, ...]
    rests_on: tuple[str, ...]
    caveats: tuple[str, ...]


def answer_air(record: AirRecord) -> AirAnswer:
    """Return dew point, moisture, surface, warming, lifetime and mould for the air of a room.

    Raises:
        InputError: air outside what the formulas hold for.

    """
    found: AirAnswer = mendable_inputs(lambda: _air(record))
    return found


def _air(record: AirRecord) -> AirAnswer:
    t, share = record.temperature_c, record.rh_percent / 100
    surface = p.surface_air(t, share, record.surface_c) if record.surface_c is not None else None
    heated = None
    if record.heat_to_c is not None:
        heated = p.relative_humidity_at(t, share, record.heat_to_c)
    lifetime = p.lifetime_multiplier_band(t, share) if share >= 0.10 else None
    mould = p.mould_window(min(1.0, surface.relative_humidity) if surface else share)
    chamber = _chamber(record, record.chamber) if record.chamber else None
    answer = AirAnswer(
        temperature_c=t,
        relative_humidity=share,
        dew_point_c=p.dew_point_c(t, share),
        vapour_pressure_pa=p.vapour_pressure_pa(t, share),
        absolute_humidity_g_m3=p.absolute_humidity_g_m3(t, share),
        humidity_ratio_g_kg=1000 * p.humidity_ratio(t, share),
        surface=surface,
        heated_to_c=record.heat_to_c,
        heated_relative_humidity=heated,
        lifetime=lifetime,
        mould=mould,
        chamber=chamber,
        says=(),
        rests_on=joined(
            ("claim:E-107 (read): saturation pressure, ASHRAE 2017",),
            *(one.rests_on for one in (surface, lifetime, mould, chamber) if one),
        ),
        caveats=joined(*(one.caveats for one in (surface, lifetime, mould, chamber) if one)),
    )
    return replace(answer, says=_air_says(answer))


def _chamber(record: AirRecord, chamber: ChamberRecord) -> p.ChamberClimate:
    box = p.Chamber(
        chamber.volume_m3,
        record.temperature_c,
        record.rh_percent / 100,
        chamber.air_changes_per_h,
        chamber.supply_g_h,
    )
    return p.condition_chamber(box, chamber.target_rh_percent / 100, chamber.hours)


def _air_says(air: AirAnswer) -> tuple[str, ...]:
    surface, heated, chamber = air.surface, air.heated_relative_humidity, air.chamber
    lines = [f"Dew forms on what is colder than {air.dew_point_c:.1f} °C."]
    if surface is not None:
        at = f"At a surface of {surface.surface_temperature_c:g} °C"
        if surface.condenses:
            lines.append(f"{at} water condenses.")
        else:
            watch = " (70 % or more: watch for mould)" if surface.mould_watch else ""
            lines.append(f"{at} the RH is {surface.relative_humidity:.0%}{watch}.")
    if heated is not None:
        end = "water condenses" if heated > 1 else f"the RH is {heated:.0%}"
        lines.append(f"The same air at {air.heated_to_c:g} °C: {end}.")
    if air.lifetime is not None:
        times = air.lifetime.multiplier.in_words()
        lines.append(f"Chemical decay gives {times} the life at 20 °C and 50 % RH.")
    where = "at the surface" if surface is not None else "at this RH"
    days = air.mould.days.in_words() if air.mould.days else "not likely where the air moves"
    lines.append(f"Mould {where}: {days}.")
    if chamber is not None:
        ends = (
            "would condense" if chamber.would_condense else f"settles at {chamber.settles_at:.0%}"
        )
        reached = chamber.hours_to_target
        when = "never" if reached is None else f"after {minutes_in_words(reached * 3600)}"
        lines.append(f"The chamber reaches its target {when}; it {ends}.")
    return tuple(lines)


@dataclass(frozen=True, slots=True)
class LightAnswer:
    """The light of a display against the budget of its category, and the fading to expect."""

    lux: float
    hours_per_day: float
    days: int
    dose_lx_h: float
    dose_lx_h_in_first_year: float
    rule: p.LightRule
    share_of_budget: float
    days_within_budget: float | None
    fade_with_uv: p.FadeTime | None
    fade_without_uv: p.FadeTime | None
    uv: p.UvDose | None
    planned: p.RotationCheck
    rotation: p.RotationPlan | None
    says: tuple[str, ...]
    rests_on: tuple[str, ...]
    caveats: tuple[str, ...]


def answer_light(record: LightRecord) -> LightAnswer:
    """Return dose, budget, years to a just noticeable fade, and a rotation that holds the budget.

    Raises:
        InputError: light that no budget can be set against.

    """
    found: LightAnswer = mendable_inputs(lambda: _light(record))
    return found


def _light(record: LightRecord) -> LightAnswer:
    lit = p.Lighting(record.lux, record.hours_per_day, record.rest_lux, record.rest_hours_per_day)
    category = p.responsivity_of(silk=record.silk, fugitive_dye=record.fugitive)
    what = "silk" if record.silk else "fugitive dye" if record.fugitive else "costume"
    rule = p.ruling_part([p.LitPart(what, category)])
    budget = rule.budget.dose_lx_h_per_year
    assert budget is not None  # noqa: S101 - only R0 has none, and costume is R2 at least
    years = max(math.ceil(record.days / DAYS_PER_YEAR), 1)
    planned = p.check_plan(lit, [p.DisplayPeriod(0, record.days)], budget, years)
    rests_within = lit.rest_dose_lx_h_per_day * DAYS_PER_YEAR <= budget
    rotation = (
        p.plan_rotation(lit, budget, record.cycle_years, record.cycles) if rests_within else None
    )
    hours = record.hours_per_day * min(record.days, DAYS_PER_YEAR)
    with_uv, without_uv = _fading(record, hours)
    uv = None
    if record.uv_microwatt_per_lumen is not None:
        whole = record.hours_per_day * record.days
        uv = p.uv_dose(record.lux, record.uv_microwatt_per_lumen, whole)
    share = max(planned.dose_lx_h_by_year) / budget
    parts = [one for one in (rule, with_uv, without_uv, uv, planned) if one is not None]
    answer = LightAnswer(
        lux=record.lux,
        hours_per_day=record.hours_per_day,
        days=record.days,
        dose_lx_h=sum(planned.dose_lx_h_by_year),
        dose_lx_h_in_first_year=planned.dose_lx_h_by_year[0],
        rule=rule,
        share_of_budget=share,
        days_within_budget=_days_within(record, lit, budget),
        fade_with_uv=with_uv,
        fade_without_uv=without_uv,
        uv=uv,
        planned=planned,
        rotation=rotation,
        says=(),
        rests_on=joined(*(one.rests_on for one in parts)),
        caveats=joined(*(one.caveats for one in parts)),
    )
    return replace(answer, says=_light_says(answer))


def _days_within(record: LightRecord, lit: p.Lighting, budget: float) -> float | None:
    if lit.dose_lx_h_per_day <= 0:
        return None
    return p.hours_within_budget(record.lux, budget) / record.hours_per_day


def _fading(record: LightRecord, hours: float) -> tuple[p.FadeTime | None, p.FadeTime | None]:
    """Return the years to a fade with and without UV, where a blue wool class is given."""
    if record.blue_wool is None:
        return None, None
    classes = (int(record.blue_wool.low), int(record.blue_wool.high))
    with_uv, without_uv = (
        p.fade_time(classes, record.lux, hours, uv_removed=removed) for removed in (False, True)
    )
    return with_uv, without_uv


def _light_says(light: LightAnswer) -> tuple[str, ...]:
    planned, rule, budget = light.planned, light.rule, light.rule.budget
    most, yearly = max(planned.dose_lx_h_by_year), planned.budget_lx_h_per_year
    category = f"{budget.category.name}, {budget.category.value} responsivity"
    lines = [
        f"The display gives {_thousands(most)} lx h in its brightest year; the budget for "
        f"{rule.ruling.name} ({category}) is {_thousands(yearly)}.",
        f"That is {most / yearly:.0%} of a year's budget"
        + ("." if planned.holds else ": more than it may get."),
    ]
    if budget.illuminance_lx is not None and light.lux > budget.illuminance_lx:
        lines.append(f"{light.lux:g} lx is above the {budget.illuminance_lx:g} lx of the category.")
    with_uv, without_uv = light.fade_with_uv, light.fade_without_uv
    if with_uv is not None and without_uv is not None:
        lines.append(
            f"A just noticeable fade after {with_uv.years.in_words()} with UV, "
            f"{without_uv.years.in_words()} without."
        )
    if light.uv is not None:
        lines.append(f"UV is {light.uv.verdict}.")
    rotation = light.rotation
    if rotation is None:
        lines.append("The light at rest alone breaks the budget: no rotation holds it.")
    else:
        cycle = "year" if rotation.cycle_years == 1 else f"{rotation.cycle_years} years"
        lines.append(
            f"A rotation that holds it: {rotation.show_days} days on show in every {cycle}, "
            f"then {rotation.rest_days} days at rest."
        )
    return tuple(lines)


def _thousands(value: float) -> str:
    """Return a number with three figures and spaces between the thousands."""
    return f"{rounded(value, 3):,.0f}".replace(",", " ")


@dataclass(frozen=True, slots=True)
class LoadAnswer:
    """The answer to one kind of load, with what was asked."""

    kind: str
    given: Mapping[str, Any]
    result: p.Slope | p.HungLoad | p.SupportLines | p.WeightPlan | p.WaistTape
    says: tuple[str, ...]
    rests_on: tuple[str, ...]
    caveats: tuple[str, ...]


def answer_load(record: LoadRecord) -> LoadAnswer:
    """Return the forces of a slope, a hung textile, lines of support, weights or a waist tape.

    Raises:
        InputError: a load that can't be met.

    """
    result = mendable_inputs(lambda: _load(record))
    return LoadAnswer(
        kind=record.kind,
        given=record.model_dump(mode="json", exclude={"kind"}),
        result=result,
        says=_load_says(result),
        rests_on=result.rests_on,
        caveats=result.caveats,
    )


def _range(amount: Amount | None) -> p.Range | None:
    return None if amount is None else p.Range(amount.low, amount.high)


def _load(record: LoadRecord) -> Any:
    if isinstance(record, SlopeRecord):
        return p.slope(record.mass_kg, record.angle_from_vertical_deg, _range(record.friction))
    if isinstance(record, HungRecord):
        strength = _range(record.strength_n_m)
        density, drop = record.areal_density_g_m2, record.drop_cm
        return p.hung_load(density, drop, record.fullness, strength, record.wanted_factor)
    if isinstance(record, LinesRecord):
        allowed = record.allowed_load_n_m
        return p.support_lines(record.areal_density_g_m2, record.drop_cm, allowed)
    if isinstance(record, WeightsRecord):
        pressure, area = record.pressure_g_cm2, record.area_cm2
        return p.weight_for_pressure(pressure, area, record.cloth, record.plate_cm2)
    assert isinstance(record, TapeRecord)  # noqa: S101 - the last of the kinds
    share, friction = p.Range(*record.share), p.Range(*record.friction)
    return p.waist_tape(record.mass_kg, share, friction, record.waist_cm, record.tape_width_cm)


def _load_says(result: object) -> tuple[str, ...]:
    if isinstance(result, p.Slope):
        return (
            f"Along the board {rounded(result.pull_n):g} N pull, {rounded(result.press_n):g} N "
            f"press on it, of {rounded(result.weight_n):g} N in all.",
            f"Nothing slips if the friction coefficient is {rounded(result.friction_needed):g} "
            "or more.",
            GRIP[result.slip.state],
        )
    if isinstance(result, p.HungLoad):
        return (
            f"The top edge carries {rounded(result.line_load_n_m):g} N on each metre "
            f"({rounded(result.line_load_g_cm):g} g on each centimetre).",
            result.verdict.says
            if result.verdict.factor_of_safety is None
            else f"Strength: {result.verdict.state}. {result.verdict.says}",
        )
    if isinstance(result, p.SupportLines):
        return (result.says,)
    if isinstance(result, p.WeightPlan):
        usual = "within" if result.within_practice else "above"
        return (
            f"{rounded(result.mass_g, 3):g} g, as {result.plates} x "
            f"{rounded(result.mass_per_plate_g, 3):g} g of glass "
            f"{result.glass_thickness_mm:.1f} mm thick.",
            f"The pressure of {rounded(result.pressure_pa):g} Pa is {usual} usual practice.",
        )
    assert isinstance(result, p.WaistTape)  # noqa: S101 - the last of the kinds
    return (
        f"The tape carries {result.tape_load_n.in_words()}, the shoulders "
        f"{result.shoulder_load_n.in_words()}.",
        f"It has to be drawn with {result.tape_tension_n.in_words()}, which presses with "
        f"{result.tape_pressure_pa.in_words()}.",
    )
