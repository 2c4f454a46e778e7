"""Advice for the bench: when to look, when to stop, how wet, how heavy, how long to dry."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from leastwise.graph.physics.ageing import MouldWindow, mould_window
from leastwise.graph.physics.bounds import (
    Band,
    PhysicsInputError,
    Range,
    joined,
    minutes_in_words,
    within,
)
from leastwise.graph.physics.humidity_band import HumidityBand
from leastwise.graph.physics.load import WeightPlan, weight_for_pressure
from leastwise.graph.physics.moisture import (
    Question,
    crossing_s,
    equilibrium_water_g_m2,
    humidify,
    stack_caveats,
)
from leastwise.graph.physics.network import Floats
from leastwise.graph.physics.sorption import isotherm_of
from leastwise.graph.physics.stack import LAG_S, Layer, Role, Stack, blotter, film

__all__ = [
    "Bench",
    "BlotterDose",
    "Drying",
    "Protocol",
    "advise_protocol",
    "blotter_dose",
    "drying",
]


@dataclass(frozen=True, slots=True)
class Bench:
    """The patch to be treated and the pressure wanted while it dries."""

    area_cm2: float
    pressure_g_cm2: float = 0.5
    cloth: str = "fragile"

    def __post_init__(self) -> None:
        within("area_cm2", self.area_cm2, 0.1, 1e5)


@dataclass(frozen=True, slots=True)
class BlotterDose:
    """How much water to give the blotter: the dose that stops by itself, and the usual one."""

    self_limiting_g_m2: Range
    self_limiting_g: Range
    share_of_blotter: Range  # water over the blotter's dry mass
    usual_g_m2: Range
    times_the_need: float  # usual dose over the need
    rests_on: tuple[str, ...]
    caveats: tuple[str, ...]


def blotter_dose(stack: Stack, question: Question, area_cm2: float) -> BlotterDose:
    """Return the water with which a sealed pack comes to rest inside the target range.

    The sum over all fibre layers above the barrier (blotter included) of dry mass times the rise
    in regain from the start RH to the target (claim:D-14, D-17). More water than this and only
    time limits the RH. Usual practice is 50-100 % of the blotter's mass (claim:W-060).

    Raises:
        PhysicsInputError: a stack without a blotter, or a target not above the start RH.

    """
    within("area_cm2", area_cm2, 0.1, 1e5)
    start = stack.start_relative_humidity
    if question.target.low <= start:
        raise PhysicsInputError("target.low", question.target.low, f"an RH above {start:g}")
    sources = [layer for layer in stack.layers if layer.role is Role.BLOTTER]
    if not sources:
        raise PhysicsInputError("stack", [x.name for x in stack.layers], "a stack with a blotter")
    fed = [x.name for x in stack.layers if x.fibre is not None and x.role is not Role.SUPPORT]
    low, high = (
        sum(equilibrium_water_g_m2(stack, name, Range(start, end)) for name in fed)
        for end in (question.target.low, question.target.high)
    )
    dry = sources[0].areal_density_g_m2
    area = area_cm2 / 1e4
    return BlotterDose(
        self_limiting_g_m2=Range(low, high),
        self_limiting_g=Range(low * area, high * area),
        share_of_blotter=Range(low / dry, high / dry),
        usual_g_m2=Range(0.5 * dry, 1.0 * dry),
        times_the_need=0.75 * dry / high,
        rests_on=(
            "claim:D-14, claim:D-17 (computed; a design idea, unpublished): self-limiting dose",
            "claim:W-060 (practice): 50-100 % of the blotter's dry mass",
            "claim:W-161 (memory): field damp 0.5-1 g/g",
        ),
        caveats=joined(
            (
                "Only for a pack sealed at its edges; losses must be added.",
                "Spread so little water evenly (mist, weigh, let it even out in a closed bag).",
            ),
            stack_caveats(stack),
        ),
    )


@dataclass(frozen=True, slots=True)
class Drying:
    """Drying between dry blotters: moisture by the model, restraint by practice."""

    model_s: Band | None
    reaches: bool
    practice_h: Range
    change_blotter_s: tuple[float, ...]
    times_s: tuple[float, ...]
    fibre_humidity: tuple[float, ...]
    rests_on: tuple[str, ...]
    caveats: tuple[str, ...]


def drying(treated: Layer, from_humidity: float, stack: Stack, to_humidity: float = 0.60) -> Drying:
    """Return how long a layer takes to dry between two dry blotters under a light weight.

    Covered (a plate lies on it), at the temperature and start RH of the stack; fast, middling
    and slow fibres (lag of 1 to 10 min); blotters changed at 15 min, 1 h and 4 h. Practice keeps
    it restrained for 12-48 h whatever the moisture does (claim:W-062).

    Raises:
        PhysicsInputError: a layer without fibres, or an RH that isn't accepted.

    """
    if treated.fibre is None:
        raise PhysicsInputError("treated", treated.name, "a layer of fibres")
    within("from_humidity", from_humidity, stack.start_relative_humidity, 0.999)
    within("to_humidity", to_humidity, stack.start_relative_humidity, from_humidity)
    isotherm = isotherm_of(treated.fibre, treated.regain_at_65)
    rise = isotherm.regain(from_humidity) - isotherm.regain(stack.start_relative_humidity)
    water = rise * treated.areal_density_g_m2
    lags = (LAG_S.low, (LAG_S.low * LAG_S.high) ** 0.5, LAG_S.high)
    lines = [_dry(replace(treated, lag_s=lag, water_load_g_m2=water), stack) for lag in lags]
    ends = [crossing_s(times, -humidity, -to_humidity) for times, humidity in lines]
    times, humidity = lines[1]
    reached = [end for end in ends if end is not None]
    complete = len(reached) == len(ends)
    return Drying(
        model_s=Band.of(reached, "s") if complete else None,
        reaches=complete,
        practice_h=Range(12, 48),
        change_blotter_s=BLOTTER_CHANGES_S,
        times_s=tuple(times.tolist()),
        fibre_humidity=tuple(humidity.tolist()),
        rests_on=(
            "claim:W-062 (practice): dry restrained 12-48 h; change blotter at 15 min, 1 h, 4 h",
            "moisture-and-cleaning.md section E (practice): lag of 1-10 min",
        ),
        caveats=(
            "The model dries the fibres only; a set takes far longer, so practice rules.",
            "Desorption lies above adsorption (M-025, M-031 to M-035): drying ends damper.",
            "No source found for the lag of dry blotter (taken as 2 min).",
        ),
    )


#: When practice changes the blotter, s (claim:W-062), and when the model stops.
BLOTTER_CHANGES_S = (15 * 60.0, 3600.0, 4 * 3600.0)
LONGEST_DRYING_S = 48 * 3600.0


def _dry(wet: Layer, stack: Stack) -> tuple[Floats, Floats]:
    """Return times and fibre RH of a wet layer between blotters that are changed in time.

    At each change the water is taken as even through the layer.
    """
    held = isotherm_of(wet.fibre or "", wet.regain_at_65).regain(stack.start_relative_humidity)
    # Dry blotter takes water by its fibres, not at once as free water does.
    under, over = (
        replace(blotter(name, 0.0), lag_s=120.0) for name in ("blotter under", "blotter over")
    )
    times, lines, begin = [np.zeros(0)], [np.zeros(0)], 0.0
    for end in (*BLOTTER_CHANGES_S, LONGEST_DRYING_S):
        layers = (film("barrier", Role.BARRIER), under, wet, over, film("plate", Role.COVER))
        dry = replace(stack, layers=layers, edge_leak_s_m=None)
        answer = humidify(dry, Question(wet.name, duration_s=end - begin))
        times.append(begin + np.array(answer.times_s))
        lines.append(np.array(answer.layer(wet.name).fibre_humidity))
        left = answer.layer(wet.name).water_g_m2[-1] - held * wet.areal_density_g_m2
        wet, begin = replace(wet, water_load_g_m2=max(0.0, left)), end
    return np.concatenate(times), np.concatenate(lines)


@dataclass(frozen=True, slots=True)
class Protocol:
    """The advice for one local humidification."""

    first_look_s: float
    look_every_s: float
    stop_at_latest_s: float | None
    stop_because: str  # whose limit bids the stop; "" where nothing does
    stop_is_early: bool  # some of the cloth may not have reached its target by then
    says: tuple[str, ...]
    stop_signs: tuple[str, ...]
    dose: BlotterDose
    weight: WeightPlan
    drying: Drying
    mould: MouldWindow
    damp_limit_h: float
    rests_on: tuple[str, ...]
    caveats: tuple[str, ...]

    @property
    def why_stop(self) -> str:
        """What bids the stop, and what that leaves undone; "" where nothing bids it."""
        if not self.stop_because:
            return ""
        early = "; what is not relaxed by then is repeated after a rest"
        return f"{self.stop_because}{early if self.stop_is_early else ''}"


#: claim:W-063 (practice), with W-052 and W-031.
STOP_SIGNS = (
    "any colour on white blotter or swab",
    "an edge line forming, or a tide line",
    "a cold or damp feel at the edge or under the weight",
    "drops or mist on the cover or the membrane",
    "paint, size, finish or adhesive turning tacky",
    "the crease has gone limp: enough",
    "RH between membrane and textile above 85 %",
)
#: First look of practice 5-20 min (claim:W-061); silk 3-5 min (section E step 6).
SOONEST_S = 15.0
LATEST_FIRST_LOOK_S = {"silk": 300.0, "weighted silk": 180.0}


#: A neighbour beside the treated layer, and the band in which it was followed.
Followed = tuple[Question, HumidityBand]


def advise_protocol(
    stack: Stack,
    question: Question,
    band: HumidityBand,
    bench: Bench,
    others: Sequence[Followed] = (),
) -> Protocol:
    """Return when to look and stop, how wet, how heavy, and how long to dry, from a band.

    *others* are further neighbours of the same stack. First look at half the earliest (5th
    percentile) time at which anything of note happens, not before 15 s unless that comes sooner,
    and not after 20 min (5 for silk). Then as often as half the spread between the earliest and
    the middling time, 15 s to 15 min. The stop is the earliest time at which the treated layer
    may pass its target or a neighbour its limit.
    """
    limits = _limits(((question, band), *others))
    target = band.time_to_target
    events = [*limits, *([] if target.low_s is None else [target.low_s])]
    first = _first_look(stack.layer(question.treated).fibre or "", events)
    low, middle = target.low_s, target.middle_s
    every = first if low is None or middle is None else (middle - low) / 2
    stop = min(limits, default=None)
    damp = mould_window(question.target.high)
    return Protocol(
        first_look_s=first,
        look_every_s=min(900.0, max(SOONEST_S, every)),
        stop_at_latest_s=stop,
        stop_because="" if stop is None else limits[stop],
        stop_is_early=stop is not None and (target.high_s is None or stop < target.high_s),
        says=_says(question, band, first),
        stop_signs=STOP_SIGNS,
        dose=blotter_dose(stack, question, bench.area_cm2),
        weight=weight_for_pressure(bench.pressure_g_cm2, bench.area_cm2, bench.cloth),
        drying=drying(stack.layer(question.treated), question.target.high, stack),
        mould=damp,
        damp_limit_h=24.0,
        rests_on=joined(PROTOCOL_RESTS_ON, band.rests_on),
        caveats=joined(
            ("Times are for choosing when to look; the eye and the finger decide.",), band.caveats
        ),
    )


PROTOCOL_RESTS_ON = (
    "claim:W-061 (practice): first check at 5-20 min",
    "claim:W-063 (practice): signs to watch",
    "claim:W-195 (practice): under 24 h in total above 75 % RH, never overnight",
    "moisture-and-cleaning.md section E step 6 (practice): 3-5 min for silk",
)


def _first_look(fibre: str, events: Sequence[float]) -> float:
    """Return when to look first: before the first of *events*, however soon that comes."""
    latest = LATEST_FIRST_LOOK_S.get(fibre, 1200.0)
    half = min(events, default=2 * latest) / 2
    return min(latest, max(half, min(SOONEST_S, half * 4 / 3)))


def _limits(followed: Sequence[Followed]) -> dict[float, str]:
    """Return by their earliest times what may be passed: the target, a neighbour's limit."""
    found: dict[float, str] = {}
    for ask, band in followed:
        beside = band.neighbour_limit
        if beside is not None and beside.low_s is not None:
            limit = f"{ask.neighbour} may pass the {ask.neighbour_limit:.0%} RH that it bears"
            found.setdefault(beside.low_s, limit)
    ask, band = followed[0]
    above = band.time_above_target.low_s
    if above is not None:
        found.setdefault(above, f"{ask.treated} may pass {ask.target.high:.0%} RH")
    return found


def _says(question: Question, band: HumidityBand, first_s: float) -> tuple[str, ...]:
    """Put the band into sentences."""
    lines = [f"Look first after {minutes_in_words(first_s)}."]
    target = f"{question.treated} reaches {question.target.low:.0%} RH"
    low, high = band.time_to_target.low_s, band.time_to_target.high_s
    if low is None:
        lines.append(f"It is not likely that {target} in the time looked at.")
    elif high is None:
        lines.append(
            f"{target} after {minutes_in_words(low)} at the earliest; in "
            f"{1 - band.time_to_target.share_reached:.0%} of the cases never."
        )
    else:
        lines.append(f"{target} after {minutes_in_words(low)} to {minutes_in_words(high)}.")
    if low is not None and low < 60:
        lines.append("That may be within a minute: use less water or stay with it.")
    limit = band.neighbour_limit
    if limit is not None and limit.low_s is not None:
        lines.append(
            f"{question.neighbour} may pass {question.neighbour_limit:.0%} RH after "
            f"{minutes_in_words(limit.low_s)}."
        )
    if band.hazard_share > 0:
        lines.append(f"Above 85 % RH somewhere in {band.hazard_share:.0%} of the cases.")
    return tuple(lines)
