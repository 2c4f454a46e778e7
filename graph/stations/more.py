"""What a section needs besides times and doses: drying, weights, holes, and amounts."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from leastwise.graph.physics import Rings, dry_down, pierced_membrane
from leastwise.graph.physics.bounds import Range, minutes_in_words
from leastwise.graph.physics.creases import softening, softens_from
from leastwise.graph.physics.load import GRAVITY_M_S2
from leastwise.graph.physics.packs import PackEdge, pack_mass_g
from leastwise.graph.physics.wicking import front_of, reach_beyond_mm
from leastwise.graph.planning.bench_sheet import Row
from leastwise.graph.sentences import counted
from leastwise.graph.setups.answers import MoistureAnswer
from leastwise.graph.stations.sections import HELD, Stations
from leastwise.graph.stations.stacks import DENSE, LOOSE, TARGET, WATER, Cloth
from leastwise.graph.stations.values import SectionSheet

__all__ = ["amounts_of", "liquid_of", "more_of", "relaxation_of"]

#: How far membrane and film reach past the blotter, and sets of dry blotter at a station.
MARGIN_CM, CHANGES = 2.5, 4
#: A cool and a warm workroom, degrees C.
ROOM_C = (18.0, 25.0)
#: A pack that is past its target sooner than this asks for a gentler one, in s (practice).
HASTY_S = 300.0
HOLE_MM = 1.0
FINAL_HUMIDITY = 0.6


def more_of(p: MoistureAnswer, *, hung: bool, flat: bool, through: bool) -> tuple[str, ...]:
    """Return sentences on drying, on the weight of pack or plates, and on holes.

    *flat* tells that plates may lie on the part, *through* that something is sewn through it.
    """
    return tuple(_lines(p, hung=hung, flat=flat, through=through))


def amounts_of(sections: Sequence[SectionSheet]) -> tuple[Row, ...]:
    """Return what the packs take: one pack that goes from place to place, and blotter to dry."""
    if not sections:
        return ()
    size = sections[0].stations[0]
    wide, high = size.width_cm, size.height_cm
    area_m2, edge = wide * high / 1e4, 2 * MARGIN_CM
    over = f"{wide + edge:g} by {high + edge:g} cm"
    water = [sum_ * area_m2 for sum_ in WATER]
    number = sum(one.number for section in sections for one in section.stations)
    practice, of_these = "practice", f" ({counted(number, 'station')})" if number else ""
    return (
        Row("Membrane and outer film", over, f"for one pack, {MARGIN_CM:g} cm over; {practice}"),
        Row("Damp blotter", f"{wide:g} by {high:g} cm, two to change", practice),
        Row("Water for it", f"{water[0]:.0f} to {water[1]:.0f} g a blotter", f"{practice}, W-060"),
        Row(
            "Dry blotter",
            f"{2 * CHANGES} sheets of {over} for each station{of_these}",
            f"both faces, {CHANGES} sets a station; dried and used again; {practice}, W-062",
        ),
    )


def _lines(p: MoistureAnswer, *, hung: bool, flat: bool, through: bool) -> Iterator[str]:
    past = p.band.time_above_target.low_s
    if past is not None and past < HASTY_S:
        yield _gentler(p, past)
    yield _drying(p)
    if hung:
        grams = pack_mass_g(p.stack, PackEdge(*HELD, 0.0))
        yield (
            f"The pack weighs about {grams:.0f} g ({grams / 1000 * GRAVITY_M_S2:.1f} N) besides "
            "films and membrane: clip it to the shape inside, never to the cloth."
        )
    if flat:
        plan = p.protocol.weight
        yield (
            f"Weights while it dries: {plan.mass_g:.0f} g in {plan.plates} padded plates of "
            f"{plan.mass_per_plate_g:.0f} g (glass of {plan.glass_thickness_mm:.1g} mm), "
            f"{plan.pressure_pa:.0f} Pa; practice, W-186."
        )
    if through:
        yield _hole(p)


def liquid_of(cloth: Cloth, stations: Stations) -> tuple[str, ...]:
    """Return how far liquid water runs in a cloth that a damp blotter or gel touches."""
    thickness = Range(cloth.low_g_m2 / DENSE, cloth.high_g_m2 / LOOSE)
    found = front_of(60.0, thickness, Range(cloth.low_g_m2, cloth.high_g_m2), Range(*WATER))
    run, soaks = found.run_mm, found.soaks_through_s
    half = 5 * min(stations.width_cm, stations.height_cm)
    through = "a second" if soaks.high < 1 else f"{soaks.high:.0f} s"
    beyond = reach_beyond_mm(half, found.wets_times_its_area.high)
    return (
        f"Liquid: where cloth is wetted the front runs {run.low:.0f} to {run.high:.0f} mm in the "
        f"first minute and twice that in four; it is through the cloth within {through}, so what "
        "lies behind is reached too unless a film lies there (Washburn; how fast this cloth takes "
        "water is not known: try a drop).",
        f"The water of one soaked blotter can wet up to {found.wets_times_its_area.high:.0f} times "
        f"its area of this cloth, {beyond:.0f} mm past the pad: press it out, lay dry blotter "
        "behind, and lift before an edge forms.",
    )


def relaxation_of(cloth: Cloth) -> tuple[str, ...]:
    """Return whether the fibre softens at the target, where it would, and what isn't known."""
    found = softening(cloth.fibre, sum(TARGET) / 200)
    lines = [found.says]
    colder, warmer = (softens_from(cloth.fibre, t) for t in ROOM_C)
    if found.transition_c is not None:
        said = [
            f"at {t:g} °C {_from(one)}" for t, one in zip(ROOM_C, (colder, warmer), strict=True)
        ]
        lines.append(
            f"It begins to soften {'; '.join(said)}. A warm room lowers what it takes; the target "
            "is not raised for it, and the bench is not heated."
        )
    return (*lines, *found.not_known)


def _from(band: Range | None) -> str:
    if band is None:
        return "not below saturation"
    surely = "for sure only at saturation" if band.high >= 1 else f"for sure from {band.high:.0%}"
    return f"from {band.low:.0%} RH, {surely}"


def _gentler(p: MoistureAnswer, past_s: float) -> str:
    """Return how to slow a pack that wets thin cloth past its target within minutes."""
    dose = p.protocol.dose
    ends = dose.self_limiting_g_m2
    grams = dose.self_limiting_g
    return (
        f"So thin a cloth may be past its target after {minutes_in_words(past_s)}: stay with it. "
        f"Gentler is a blotter that holds only {ends.low:.0f} to {ends.high:.0f} g/m² of water "
        f"({grams.low:.1f} to {grams.high:.1f} g a station, spread evenly): the pack then comes to "
        "rest about the target by itself (D-14, computed; what leaks has to be added)."
    )


def _drying(p: MoistureAnswer) -> str:
    """Return how fast it could dry at best, and how much blotter takes its water."""
    layer = p.stack.layer(p.question.treated)
    found = dry_down(layer, p.stack, p.question.target.high, FINAL_HUMIDITY)
    air, cloth = (
        minutes_in_words(s) if s >= 1 else "under a second"
        for s in (found.evaporation_s, found.diffusion_s)
    )
    sheets = found.layers_of_blotter
    return (
        f"Drying to {FINAL_HUMIDITY:.0%} RH: {found.water_g_m2:.1f} g/m² of water have to leave; "
        f"{air} if only the air over it held them back, {cloth} if only the cloth did. "
        f"{counted(sheets, 'dry sheet')} of blotter take{'' if sheets > 1 else 's'} "
        "it up (limit cases; seams and gathers take longer)."
    )


def _hole(p: MoistureAnswer) -> str:
    """Return what a hole in the membrane does, for what stands up through it."""
    rings = Rings(per_zone=6, duration_s=min(p.question.duration_s, 1800.0))
    found = pierced_membrane(p.stack, p.question.treated, HOLE_MM, rings)
    return (
        f"Where the membrane has to be pierced for what is sewn through: over a hole of "
        f"{HOLE_MM:g} mm the cloth is up to {100 * found.largest_excess:.0f} % RH damper, felt "
        f"{found.reach_mm:.0f} mm around. Cut blotter and membrane out round it, wider than that, "
        "since a hole lets liquid through too."
    )
