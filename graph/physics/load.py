"""Load: weights on a textile, a textile on a slope, hung by a line, or worn on a figure.

Plain statics (arithmetic, practice). What no arithmetic gives is the strength of the old
textile: no load limit per length for historic costume was found (claim:S-182), and how sound
silk looks says little about its strength (claim:S-241, read). Strength is therefore an input
that may be None, and then the answer is 'unknown' with the trial that would tell.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from leastwise.graph.physics.bounds import Band, PhysicsInputError, Range, within, within_range

__all__ = [
    "GLASS_DENSITY_G_CM3",
    "GRAVITY_M_S2",
    "HungLoad",
    "LoadVerdict",
    "Slope",
    "SupportLines",
    "WaistTape",
    "WeightPlan",
    "friction_needed",
    "hung_load",
    "peak_force_n",
    "pressure_pa",
    "pull_along_slope",
    "slope",
    "support_lines",
    "waist_tape",
    "weight_for_pressure",
]

GRAVITY_M_S2 = 9.81
#: Plate glass; claim:W-184 (memory).
GLASS_DENSITY_G_CM3 = 2.5
UNKNOWN = (
    "Unknown: no load limit for historic costume was found (claim:S-182); silk that looks sound "
    "may be weak (claim:S-241). A trial would tell: hang a loose thread or a detached fragment of "
    "the same cloth with small weights in steps, note the load at which it parts, and divide it "
    "by the width; or ask for a near-infrared strength estimate (claim:S-243)."
)


def pull_along_slope(angle_from_vertical_deg: float) -> float:
    """Return the share of the weight that pulls along a board, cos a (claim:S-146, practice).

    >>> round(pull_along_slope(5), 3), round(pull_along_slope(60), 3)
    (0.996, 0.5)
    """
    return math.cos(math.radians(within("angle_from_vertical_deg", angle_from_vertical_deg, 0, 90)))


def friction_needed(angle_from_vertical_deg: float) -> float:
    """Return the friction coefficient with which nothing pulls, 1/tan a (claim:S-147).

    >>> round(friction_needed(30), 2), round(friction_needed(60), 2)
    (1.73, 0.58)
    """
    angle = within("angle_from_vertical_deg", angle_from_vertical_deg, 0.5, 90)
    return 1 / math.tan(math.radians(angle))


@dataclass(frozen=True, slots=True)
class LoadVerdict:
    """How a load stands against a strength: 'holds', 'too much', 'in doubt' or 'unknown'."""

    state: str
    factor_of_safety: Band | None
    says: str


def _verdict(load: Range, strength: Range | None, wanted: float, unit: str) -> LoadVerdict:
    """Compare the two, keeping the whole width of both ranges."""
    if strength is None:
        return LoadVerdict("unknown", None, UNKNOWN)
    if load.high <= 0:
        return LoadVerdict("holds", None, "Nothing pulls.")
    low = strength.low / load.high
    high = strength.high / load.low if load.low > 0 else math.inf
    state = "holds" if low >= wanted else "too much" if high < wanted else "in doubt"
    factor = Band(low, math.sqrt(low * high) if math.isfinite(high) else high, high, "times")
    says = f"Strength {strength.low:g}-{strength.high:g} {unit}, wanted {wanted:g} times the load."
    return LoadVerdict(state, factor, says)


@dataclass(frozen=True, slots=True)
class Slope:
    """A textile lying on a board, angle from the vertical."""

    angle_from_vertical_deg: float
    weight_n: float
    pull_n: float
    press_n: float
    friction_needed: float
    slip: LoadVerdict
    net_pull_n: Band
    rests_on: tuple[str, ...]
    caveats: tuple[str, ...]


def slope(mass_kg: float, angle_from_vertical_deg: float, friction: Range | None = None) -> Slope:
    """Return the forces on a slope: W cos a along the board, W sin a on it, slip factor mu tan a.

    `friction` is the static coefficient from a tilt test; None leaves the verdict unknown.

    >>> board = slope(2.0, 30, Range(0.3, 0.6))
    >>> round(board.pull_n, 1), board.slip.state
    (17.0, 'too much')
    """
    weight = within("mass_kg", mass_kg, 1e-4, 200) * GRAVITY_M_S2
    pull = weight * pull_along_slope(angle_from_vertical_deg)
    needed = friction_needed(angle_from_vertical_deg)
    press = weight * math.sin(math.radians(angle_from_vertical_deg))
    grip = within_range("friction", friction, 0, 5) if friction else Range(0, 5)
    verdict = _verdict(Range(needed, needed), friction, 1.0, "(friction coefficient)")
    if friction is None:
        verdict = LoadVerdict(
            "unknown", None, "No friction figure for museum covers was found (S-148): tilt test."
        )
    net = [max(0.0, pull - mu * press) for mu in (grip.high, grip.middle, grip.low)]
    return Slope(
        angle_from_vertical_deg=float(angle_from_vertical_deg),
        weight_n=weight,
        pull_n=pull,
        press_n=press,
        friction_needed=needed,
        slip=verdict,
        net_pull_n=Band.of(net, "N"),
        rests_on=("claim:S-146, claim:S-147 (practice): arithmetic", "claim:S-135 (read)"),
        caveats=(
            "On napped covers grip dominates and the plain law fails (S-137): trust the trial.",
            "Vibration makes things creep that a factor of 1 would hold (S-143).",
        ),
    )


@dataclass(frozen=True, slots=True)
class HungLoad:
    """A textile hung by its top edge, pulling with its own weight."""

    mass_g: float
    line_load_n_m: float
    line_load_g_cm: float
    heights_cm: tuple[float, ...]
    line_load_at_height_n_m: tuple[float, ...]
    verdict: LoadVerdict
    rests_on: tuple[str, ...]
    caveats: tuple[str, ...]


def hung_load(
    areal_density_g_m2: float,
    drop_cm: float,
    fullness: float = 1.0,
    strength_n_m: Range | None = None,
    wanted_factor: float = 5.0,
) -> HungLoad:
    """Return the line load at the top, areal density x drop x g x fullness, in N/m.

    Fullness is the width of cloth per width of line. The wanted factor of safety has no source;
    5 is an allowance for creep, fatigue and uneven load (practice).

    >>> round(hung_load(200, 150).line_load_n_m, 2)
    2.94
    >>> hung_load(200, 150).verdict.state
    'unknown'
    """
    density = within("areal_density_g_m2", areal_density_g_m2, 1, 10_000)
    drop = within("drop_cm", drop_cm, 0.1, 2000) / 100
    within("fullness", fullness, 1, 20)
    within("wanted_factor", wanted_factor, 1, 100)
    per_line_g_m = density * drop * fullness
    load = per_line_g_m / 1000 * GRAVITY_M_S2
    if strength_n_m is not None:
        within_range("strength_n_m", strength_n_m, 0, 1e6)
    steps = tuple(step / 20 for step in range(21))
    return HungLoad(
        mass_g=per_line_g_m,
        line_load_n_m=load,
        line_load_g_cm=per_line_g_m / 100,
        heights_cm=tuple(100 * drop * step for step in steps),
        line_load_at_height_n_m=tuple(load * step for step in steps),
        verdict=_verdict(Range(load, load), strength_n_m, wanted_factor, "N/m"),
        rests_on=("common practice: arithmetic", "claim:S-133 (read)", "claim:S-134 (read)"),
        caveats=(
            "Evenly hung; a few points of hold carry several times this.",
            "RH cycles and creep add strain that no static load shows (S-139, S-140).",
        ),
    )


@dataclass(frozen=True, slots=True)
class SupportLines:
    """Lines of support down a hung textile, each carrying the cloth below it."""

    count: int | None
    spacing_cm: float | None
    load_per_line_n_m: float | None
    positions_cm: tuple[float, ...]
    says: str
    rests_on: tuple[str, ...]
    caveats: tuple[str, ...]


def support_lines(
    areal_density_g_m2: float, drop_cm: float, allowed_load_n_m: float | None, most: int = 200
) -> SupportLines:
    """Return the least number of level lines so that none carries more than the allowed load.

    n = ceil(total/allowed), spaced drop/n from the top. None as allowed load: unknown.

    >>> lines = support_lines(200, 150, 1.0)
    >>> lines.count, lines.spacing_cm
    (3, 50.0)
    >>> support_lines(200, 150, None).count is None
    True
    """
    total = hung_load(areal_density_g_m2, drop_cm).line_load_n_m
    rests_on = ("common practice: arithmetic", "claim:S-182 (practice): no limit published")
    caveats = ("Each line must be held by the backing, not by the line above.",)
    if allowed_load_n_m is None:
        return SupportLines(None, None, None, (), UNKNOWN, rests_on, caveats)
    allowed = within("allowed_load_n_m", allowed_load_n_m, 1e-4, 1e6)
    count = max(1, math.ceil(total / allowed - 1e-9))
    if count > most:
        raise PhysicsInputError(
            "allowed_load_n_m", allowed, f"a load that {most} lines can meet; else lay it flat"
        )
    spacing = drop_cm / count
    return SupportLines(
        count=count,
        spacing_cm=spacing,
        load_per_line_n_m=total / count,
        positions_cm=tuple(spacing * n for n in range(count)),
        says=f"{count} lines, one each {spacing:.0f} cm from the top edge down.",
        rests_on=rests_on,
        caveats=caveats,
    )


@dataclass(frozen=True, slots=True)
class WaistTape:
    """How waist tape and shoulders (or closures) share a skirt's weight on a figure."""

    weight_n: float
    tape_load_n: Band
    shoulder_load_n: Band
    tape_tension_n: Band
    tape_pressure_pa: Band
    rests_on: tuple[str, ...]
    caveats: tuple[str, ...]


def waist_tape(
    mass_kg: float, share: Range, friction: Range, waist_cm: float, tape_width_cm: float
) -> WaistTape:
    """Return the load on tape and shoulders, and the tension that holds the tape by friction.

    A tape of tension T round a waist presses with 2 pi T in all, so T = share W/(2 pi mu), and
    its pressure is T/(r b). A figure with hips under the tape needs less: this is the worst case.

    >>> tape = waist_tape(3.0, Range(0.7, 0.9), Range(0.3, 0.5), 62, 2.5)
    >>> tape.tape_load_n.in_words(), tape.shoulder_load_n.in_words()
    ('about 21 to 26 N', 'about 2.9 to 8.8 N')
    """
    weight = within("mass_kg", mass_kg, 1e-3, 100) * GRAVITY_M_S2
    within_range("share", share, 0, 1)
    within_range("friction", friction, 0.01, 5)
    radius_m = within("waist_cm", waist_cm, 10, 300) / 100 / (2 * math.pi)
    width_m = within("tape_width_cm", tape_width_cm, 0.2, 30) / 100
    carried = [weight * part for part in (share.low, share.middle, share.high)]
    grips = (friction.high, friction.middle, friction.low)
    pulls = [load / (2 * math.pi * grip) for load, grip in zip(carried, grips, strict=True)]
    return WaistTape(
        weight_n=weight,
        tape_load_n=Band.of(carried, "N"),
        shoulder_load_n=Band.of((weight - load for load in carried), "N"),
        tape_tension_n=Band.of(pulls, "N"),
        tape_pressure_pa=Band.of((pull / (radius_m * width_m) for pull in pulls), "Pa"),
        rests_on=("claim:S-181 (practice): a tape stay takes the skirt's weight", "arithmetic"),
        caveats=(
            "No source gives the share that a tape takes or its friction on a figure: try it by "
            "loosening the tape until the shoulders tighten.",
        ),
    )


def pressure_pa(mass_g: float, area_cm2: float) -> float:
    """Return the pressure of a weight on an area in Pa; 1 g/cm2 is 98 Pa (claim:W-184).

    >>> round(pressure_pa(100, 100), 1)
    98.1
    """
    mass = within("mass_g", mass_g, 0, 1e6)
    return mass * 1e-3 * GRAVITY_M_S2 / (within("area_cm2", area_cm2, 0.01, 1e6) * 1e-4)


@dataclass(frozen=True, slots=True)
class WeightPlan:
    """The weight that gives a pressure on an area, and the plate glass that does it."""

    mass_g: float
    pressure_pa: float
    glass_thickness_mm: float
    plates: int
    mass_per_plate_g: float
    within_practice: bool
    rests_on: tuple[str, ...]
    caveats: tuple[str, ...]


#: Usual pressures in g/cm2 by kind of cloth; claim:W-186 (practice).
USUAL_PRESSURES = {"fragile": Range(0.5, 1), "ordinary": Range(1, 3), "robust": Range(3, 5)}


def weight_for_pressure(
    pressure_g_cm2: float, area_cm2: float, cloth: str = "ordinary", plate_cm2: float = 100.0
) -> WeightPlan:
    """Return mass = pressure x area, glass thickness = pressure/2.5 g/cm3, and small plates.

    `cloth` is 'fragile' (silk), 'ordinary' (cotton, linen, wool) or 'robust' (canvas).

    >>> plan = weight_for_pressure(1.0, 400)
    >>> plan.mass_g, plan.glass_thickness_mm, plan.plates
    (400.0, 4.0, 4)
    """
    if cloth not in USUAL_PRESSURES:
        raise PhysicsInputError("cloth", cloth, " or ".join(USUAL_PRESSURES))
    wanted = within("pressure_g_cm2", pressure_g_cm2, 0.01, 50)
    area = within("area_cm2", area_cm2, 0.1, 1e5)
    plates = max(1, math.ceil(area / within("plate_cm2", plate_cm2, 1, 1e4) - 1e-9))
    usual = USUAL_PRESSURES[cloth]
    return WeightPlan(
        mass_g=wanted * area,
        pressure_pa=pressure_pa(wanted * area, area),
        glass_thickness_mm=10 * wanted / GLASS_DENSITY_G_CM3,
        plates=plates,
        mass_per_plate_g=wanted * area / plates,
        within_practice=wanted <= usual.high,
        rests_on=(
            "claim:W-184 (memory): plate glass 2.5 g/cm3",
            "claim:W-186, claim:W-187 (practice): usual pressures, several small plates",
        ),
        caveats=(
            "Evenly spread; on seams, trims or folds the pressure is several times higher.",
            "No direct weight on pile, beads, pleats or flaking paint (W-022).",
        ),
    )


def peak_force_n(mass_kg: float, shock_g: float) -> float:
    """Return the peak force of a shock, mass x shock x g, in N.

    >>> round(peak_force_n(2, 40))
    785
    """
    mass = within("mass_kg", mass_kg, 0, 1e4)
    return mass * within("shock_g", shock_g, 0, 1000) * GRAVITY_M_S2
