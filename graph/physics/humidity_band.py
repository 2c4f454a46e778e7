"""The answer as a band: uncertain properties sampled quasi-randomly, all samples integrated.

Scrambled Sobol points (scipy.stats.qmc) fill the box of the uncertain ranges; a range whose
ends differ by more than threefold is sampled evenly in its logarithm. No value in a range is
taken as more likely than another: the percentiles describe ignorance, not frequency.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace

import numpy as np

from leastwise.graph.physics.bounds import PhysicsInputError, Range, joined, within
from leastwise.graph.physics.membranes import MEMBRANES, WEAVES, film_resistance_s_m
from leastwise.graph.physics.moisture import Humidification, LayerSeries, Question, humidify_many
from leastwise.graph.physics.network import Accuracy, Floats
from leastwise.graph.physics.sorption import fibre_sorption
from leastwise.graph.physics.stack import LAG_S, SURFACE_S_M, Layer, Role, Stack

__all__ = [
    "HumidityBand",
    "Sampling",
    "SeriesBand",
    "TimeBand",
    "Uncertain",
    "default_uncertainties",
    "humidity_band",
]

#: Samples integrated together; each is held to the error by itself, so more of them cost only room.
CHUNK = 128
DEFAULT_ACCURACY = Accuracy()
STACK_FIELDS = (
    "temperature_c",
    "surface_resistance_s_m",
    "edge_leak_s_m",
    "room_relative_humidity",
)
LAYER_FIELDS = (
    "regain_at_65",
    "still_air_factor",
    "resistance_s_m",
    "lag_s",
    "water_load_g_m2",
    "areal_density_g_m2",
    "thickness_mm",
    "hole_fraction",
)


@dataclass(frozen=True, slots=True)
class Uncertain:
    """One uncertain property: of a layer by its name, or of the stack (layer '')."""

    layer: str
    field: str
    range: Range
    why: str

    def __post_init__(self) -> None:
        fields = LAYER_FIELDS if self.layer else STACK_FIELDS
        if self.field not in fields:
            raise PhysicsInputError("field", self.field, "one of " + ", ".join(fields))

    @property
    def name(self) -> str:
        """The property in words."""
        return f"{self.layer or 'stack'}: {self.field}"

    def value(self, unit: float) -> float:
        """Return the value at a share of the range, in its logarithm if it is wide."""
        low, high = self.range.low, self.range.high
        if low > 0 and high > 3 * low:
            return low * math.pow(high / low, unit)
        return low + (high - low) * unit


@dataclass(frozen=True, slots=True)
class Sampling:
    """How many samples (rounded up to a power of two, as Sobol points want), and how exact."""

    samples: int = 256
    seed: int = 20
    accuracy: Accuracy = DEFAULT_ACCURACY

    def __post_init__(self) -> None:
        within("samples", self.samples, 2, 4096)
        within("seed", self.seed, 0, 2**31)


@dataclass(frozen=True, slots=True)
class SeriesBand:
    """A series as a band: 5th, 50th and 95th percentile of the samples at each time."""

    name: str
    low: tuple[float, ...]
    middle: tuple[float, ...]
    high: tuple[float, ...]


@dataclass(frozen=True, slots=True)
class TimeBand:
    """A time as a band, and the share of samples in which it comes at all.

    A percentile is None where that share of the samples never gets there in the time looked at.
    """

    low_s: float | None
    middle_s: float | None
    high_s: float | None
    share_reached: float


@dataclass(frozen=True, slots=True)
class HumidityBand:
    """The answer of a stack as a band, with what its width comes from."""

    times_s: tuple[float, ...]
    samples: int
    treated_humidity: SeriesBand
    treated_regain: SeriesBand
    wettest_humidity: SeriesBand
    water_drawn_g_m2: SeriesBand
    neighbour_humidity: SeriesBand | None
    time_to_target: TimeBand
    time_above_target: TimeBand
    neighbour_limit: TimeBand | None
    condensation_share: float
    hazard_share: float
    rules_the_width: tuple[tuple[str, float], ...]  # property, rank correlation with the time
    worst_imbalance: float
    rests_on: tuple[str, ...]
    caveats: tuple[str, ...]


def default_uncertainties(stack: Stack) -> tuple[Uncertain, ...]:
    """Return all properties of a stack that the sources leave uncertain, with their ranges."""
    found: list[Uncertain] = []
    for layer in stack.layers:
        found += _layer_uncertainties(layer)
    if stack.layers[-1].role is not Role.COVER:
        why = "no source found: 3-15 mm of still air"
        found.append(Uncertain("", "surface_resistance_s_m", SURFACE_S_M, why))
    return tuple(found)


def _layer_uncertainties(layer: Layer) -> list[Uncertain]:
    """Return what is uncertain of one layer; a property set by hand is kept in the middle."""
    found: list[Uncertain] = []
    if layer.role is Role.MEMBRANE and layer.kind in MEMBRANES:
        kind = MEMBRANES[layer.kind]
        found.append(Uncertain(layer.name, "resistance_s_m", kind.resistance_s_m, kind.rests_on))
    if layer.role is Role.COVER and layer.kind:
        why = "claims W-132 to W-135 (read): film"
        believed = film_resistance_s_m(layer.kind, 50.0)
        scale = layer.resistance_s_m / believed.middle
        ends = Range(believed.low * scale, believed.high * scale)
        found.append(Uncertain(layer.name, "resistance_s_m", ends, why))
    if layer.role is Role.TEXTILE and layer.fibre is not None:
        known = fibre_sorption(layer.fibre)
        found.append(Uncertain(layer.name, "regain_at_65", known.believed, known.rests_on[0]))
        weave = WEAVES.get(layer.kind, WEAVES["ordinary"])
        found.append(Uncertain(layer.name, "still_air_factor", weave, "claim:W-149 (read)"))
        why = "section E step 3, claim:W-182 (memory, practice): 1-10 min"
        found.append(Uncertain(layer.name, "lag_s", LAG_S, why))
    return found


def humidity_band(
    stack: Stack,
    question: Question,
    uncertain: Sequence[Uncertain] | None = None,
    sampling: Sampling | None = None,
    progress: Callable[[int, int], None] | None = None,
) -> HumidityBand:
    """Return the answer for a stack as a band over its uncertain properties.

    `progress` is called with samples done and samples in all.

    Raises:
        PhysicsInputError: a property, range or layer that isn't accepted.
        SolverError: an integration stopped early.

    """
    from scipy.stats import qmc  # noqa: PLC0415 - slow to load, and only a band asks for it

    ranges = default_uncertainties(stack) if uncertain is None else tuple(uncertain)
    if not ranges:
        raise PhysicsInputError("uncertain", (), "at least one uncertain property")
    plan = sampling or Sampling()
    power = math.ceil(math.log2(plan.samples))
    generator = np.random.default_rng(plan.seed)
    points = qmc.Sobol(len(ranges), scramble=True, rng=generator).random_base2(power)
    stacks = [_sampled(stack, ranges, row) for row in points]
    answers: list[Humidification] = []
    for chunk in _chunks(stacks):
        answers += humidify_many(chunk, question, plan.accuracy, only_asked=True)
        if progress is not None:
            progress(len(answers), len(stacks))
    return _banded(question, ranges, points, answers)


def _chunks(stacks: list[Stack]) -> list[list[Stack]]:
    """Cut the samples into chunks."""
    return [stacks[k : k + CHUNK] for k in range(0, len(stacks), CHUNK)]


def _sampled(stack: Stack, ranges: Sequence[Uncertain], row: Floats) -> Stack:
    """Return the stack with each uncertain property set by one point of the sample."""
    for uncertain, unit in zip(ranges, row, strict=True):
        change = {uncertain.field: uncertain.value(float(unit))}
        if uncertain.layer:
            stack = stack.with_layer(replace(stack.layer(uncertain.layer), **change))  # type: ignore[arg-type]
        else:
            stack = replace(stack, **change)  # type: ignore[arg-type]
    return stack


def _series_band(name: str, rows: list[tuple[float, ...]]) -> SeriesBand:
    """Return the percentiles over the samples at each time."""
    low, middle, high = np.percentile(np.array(rows), (5, 50, 95), axis=0)
    return SeriesBand(name, tuple(low.tolist()), tuple(middle.tolist()), tuple(high.tolist()))


def _time_band(times: Sequence[float | None]) -> TimeBand:
    """Return the percentiles of a time in which 'never' counts as later than all others."""
    ordered = sorted(math.inf if time is None else time for time in times)

    def at(share: float) -> float | None:
        time = ordered[min(len(ordered) - 1, int(share * len(ordered)))]
        return time if math.isfinite(time) else None

    reached = sum(math.isfinite(time) for time in ordered) / len(ordered)
    return TimeBand(at(0.05), at(0.50), at(0.95), reached)


def _banded(
    question: Question,
    ranges: Sequence[Uncertain],
    points: Floats,
    answers: list[Humidification],
) -> HumidityBand:
    """Gather all samples into bands."""
    treated = [answer.layer(question.treated) for answer in answers]
    neighbour = question.neighbour
    beside = None if neighbour is None else [answer.layer(neighbour) for answer in answers]
    times = [answer.time_to_target_s for answer in answers]
    return HumidityBand(
        times_s=answers[0].times_s,
        samples=len(answers),
        treated_humidity=_series_band("fibre RH", [layer.fibre_humidity for layer in treated]),
        treated_regain=_series_band("regain", [layer.regain or () for layer in treated]),
        wettest_humidity=_series_band("wettest RH", [layer.wettest_humidity for layer in treated]),
        water_drawn_g_m2=_series_band("water", [answer.water_drawn_g_m2 for answer in answers]),
        neighbour_humidity=None
        if beside is None
        else _series_band("neighbour RH", [_read(layer, question) for layer in beside]),
        time_to_target=_time_band(times),
        time_above_target=_time_band([answer.time_above_target_s for answer in answers]),
        neighbour_limit=None
        if beside is None
        else _time_band([answer.neighbour_limit_s for answer in answers]),
        condensation_share=_share(answers, "condenses"),
        hazard_share=_share(answers, "hazard") + _share(answers, "condenses"),
        rules_the_width=_rules(ranges, points, times, question.duration_s),
        worst_imbalance=max(answer.mass_imbalance for answer in answers),
        rests_on=joined(answers[0].rests_on, (f"{u.name}: {u.why}" for u in ranges)),
        caveats=joined(_width_caveats(ranges), answers[0].caveats),
    )


def _read(layer: LayerSeries, question: Question) -> tuple[float, ...]:
    """Return the series by which the neighbour is judged."""
    if question.neighbour_reads == "air":
        return layer.wettest_humidity
    return layer.wettest_fibre_humidity


def _share(answers: list[Humidification], state: str) -> float:
    """Return the share of samples in one state of condensation."""
    return sum(answer.condensation == state for answer in answers) / len(answers)


def _rules(
    ranges: Sequence[Uncertain], points: Floats, times: Sequence[float | None], late_s: float
) -> tuple[tuple[str, float], ...]:
    """Return the properties by their rank correlation with the time to target, strongest first."""
    from scipy.stats import spearmanr  # noqa: PLC0415 - as above

    filled = np.array([late_s * 2 if time is None else time for time in times])
    if np.ptp(filled) == 0:
        return ()
    strength = [float(spearmanr(points[:, k], filled).statistic) for k in range(len(ranges))]
    pairs = [(uncertain.name, rank) for uncertain, rank in zip(ranges, strength, strict=True)]
    return tuple(sorted(pairs, key=lambda pair: -abs(pair[1])))


def _width_caveats(ranges: Sequence[Uncertain]) -> tuple[str, ...]:
    """Say which ranges stand in for a figure that no source gives."""
    guessed = [u for u in ranges if "no source" in u.why.lower() or "memory" in u.why]
    return tuple(
        f"{u.name}: only known as {u.range.low:g} to {u.range.high:g}; the answer is only as good "
        "as that."
        for u in guessed
    )
