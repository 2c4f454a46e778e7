"""Local humidification through a stack of layers, over time, in one dimension.

Transient vapour transport with sorption (moisture-and-cleaning.md section E; see network.py for
the equations). Isothermal but for layers set colder: the heat of sorption, which slows uptake
(claims W-169, W-183), isn't in it. Vapour only: no liquid passes from layer to layer.
"""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from leastwise.graph.physics.air import dew_point_c
from leastwise.graph.physics.bounds import PhysicsInputError, Range, joined, within, within_range
from leastwise.graph.physics.columns import Column, column_of, network_of
from leastwise.graph.physics.membranes import MEMBRANES
from leastwise.graph.physics.network import (
    Accuracy,
    Floats,
    Network,
    Run,
    run_network,
    stack_networks,
)
from leastwise.graph.physics.sorption import fibre_caveats, fibre_sorption, isotherm_of
from leastwise.graph.physics.stack import Role, Stack

__all__ = ["Humidification", "LayerSeries", "Question", "humidify", "humidify_many", "time_grid"]


#: RH at which fibres relax, silk to cellulosics: 70-80 % (claim:W-180, memory; W-031, practice).
TARGET = Range(0.70, 0.80)


@dataclass(frozen=True, slots=True)
class Question:
    """What is asked of a stack: which layer is treated, to what RH, and what must stay dry.

    `neighbour_reads` is 'fibres' for cloth, whose own moisture matters, or 'air' for what reacts
    to the air at its surface (metal, paint); the air is damp long before the fibres are.
    """

    treated: str
    target: Range = TARGET
    duration_s: float = 4 * 3600.0
    neighbour: str | None = None
    neighbour_limit: float = 0.65
    neighbour_reads: str = "fibres"

    def __post_init__(self) -> None:
        if self.neighbour_reads not in ("fibres", "air"):
            raise PhysicsInputError("neighbour_reads", self.neighbour_reads, "fibres or air")
        within_range("target", self.target, 0.01, 0.999)
        within("duration_s", self.duration_s, 10, 30 * 86_400)
        within("neighbour_limit", self.neighbour_limit, 0.01, 0.999)


@dataclass(frozen=True, slots=True)
class LayerSeries:
    """One layer over time: RH of its air and of its fibres (mean, wettest cell), and its water."""

    name: str
    role: str
    air_humidity: tuple[float, ...]
    wettest_humidity: tuple[float, ...]
    fibre_humidity: tuple[float, ...]
    wettest_fibre_humidity: tuple[float, ...]
    regain: tuple[float, ...] | None
    water_g_m2: tuple[float, ...]
    free_water_g_m2: tuple[float, ...]


@dataclass(frozen=True, slots=True)
class Humidification:
    """The answer for one stack with one set of properties: one line inside the band."""

    times_s: tuple[float, ...]
    layers: tuple[LayerSeries, ...]
    water_drawn_g_m2: tuple[float, ...]
    water_to_room_g_m2: tuple[float, ...]
    time_to_target_s: float | None
    time_above_target_s: float | None
    neighbour_limit_s: float | None
    condensation: str
    condensation_margin_k: float
    mass_imbalance: float
    rests_on: tuple[str, ...]
    caveats: tuple[str, ...]

    def layer(self, name: str) -> LayerSeries:
        """Return the series of a layer by its name."""
        for layer in self.layers:
            if layer.name == name:
                return layer
        accepted = "one of " + ", ".join(layer.name for layer in self.layers)
        raise PhysicsInputError("layer", name, accepted)


def time_grid(duration_s: float, points: int = 160) -> Floats:
    """Return output times: 0, then evenly spaced in the logarithm from a second on.

    >>> time_grid(100.0, 4).round().tolist()
    [0.0, 1.0, 10.0, 100.0]
    """
    grid: Floats = np.concatenate(
        [[0.0], np.geomspace(min(1.0, duration_s / 10), duration_s, points - 1)]
    )
    grid[-1] = duration_s
    return grid


def crossing_s(times: Floats, values: Floats, level: float) -> float | None:
    """Return when a series first reaches a level, straight between its points; None if never."""
    reached = np.flatnonzero(values >= level)
    if not len(reached):
        return None
    k = int(reached[0])
    if k == 0:
        return float(times[0])
    part = (level - values[k - 1]) / (values[k] - values[k - 1])
    return float(times[k - 1] + part * (times[k] - times[k - 1]))


def humidify(stack: Stack, question: Question, accuracy: Accuracy | None = None) -> Humidification:
    """Return RH, regain and water of each layer over time, and the times asked for.

    Time to target is when the fibres of the treated layer (mean) reach the lower end of the
    target; time above is when they pass its upper end. The neighbour's limit is reached when its
    wettest cell reaches it, the cautious reading.

    Raises:
        PhysicsInputError: a layer or value that isn't accepted.
        SolverError: the integration stopped early.

    """
    return humidify_many([stack], question, accuracy)[0]


def _merged(stacks: Sequence[Stack], columns: Sequence[Column]) -> Network:
    networks = [
        network_of([column], [stack], [1.0]) for column, stack in zip(columns, stacks, strict=True)
    ]
    if len({network.size for network in networks}) != 1:
        raise PhysicsInputError("stacks", len(stacks), "stacks of one layout")
    return stack_networks(networks) if len(networks) > 1 else networks[0]


def humidify_many(
    stacks: Sequence[Stack],
    question: Question,
    accuracy: Accuracy | None = None,
    *,
    only_asked: bool = False,
) -> list[Humidification]:
    """Return the answers for stacks of one layout, integrated together.

    *only_asked* keeps the series of the treated layer and the neighbour alone.
    """
    wanted = accuracy or Accuracy()
    within("accuracy.tolerance", wanted.tolerance, 1e-10, 1e-2)
    within("accuracy.cells_per_layer", wanted.cells_per_layer, 1, 200)
    for stack in stacks:
        stack.layer(question.treated)
        if question.neighbour is not None:
            stack.layer(question.neighbour)
    columns = [column_of(stack, wanted.cells_per_layer) for stack in stacks]
    merged = _merged(stacks, columns)
    run = run_network(merged, time_grid(question.duration_s), wanted)
    names = np.array([cell.layer for cell in columns[0].cells])
    places = {str(name): np.flatnonzero(names == name) for name in np.unique(names)}
    asked = {question.treated, question.neighbour} if only_asked else set(places)
    return [
        _answer(stack, question, _View(run, merged, k * len(names), k, places), asked)
        for k, stack in enumerate(stacks)
    ]


@dataclass(frozen=True, slots=True)
class _View:
    """The cells of one stack within a run of several."""

    run: Run
    network: Network
    first: int
    member: int
    places: Mapping[str, npt.NDArray[np.int64]]

    def rows(self, layer: str) -> npt.NDArray[np.int64]:
        """Return the rows of a layer's cells."""
        return self.first + self.places[layer]

    def water_g_m2(self, layer: str) -> Floats:
        """Return the water in a layer over time."""
        rows = self.rows(layer)
        water: Floats = self.network.store_g[rows] @ self.run.content[rows]
        return water


def _answer(
    stack: Stack, question: Question, view: _View, asked: Collection[str | None]
) -> Humidification:
    """Turn the cells of one stack into series by layer and the times asked for."""
    times = view.run.times_s
    layers = tuple(
        _series(stack, layer.name, view)
        for layer in stack.layers
        if layer.role is not Role.MEMBRANE and layer.name in asked
    )
    by_name = {layer.name: layer for layer in layers}
    treated = np.array(by_name[question.treated].fibre_humidity)
    neighbour = None
    if question.neighbour is not None:
        beside = by_name[question.neighbour]
        wettest = (
            beside.wettest_humidity
            if question.neighbour_reads == "air"
            else beside.wettest_fibre_humidity
        )
        neighbour = crossing_s(times, np.array(wettest), question.neighbour_limit)
    drawn = sum((w[0] - w for x in stack.layers if x.role is Role.BLOTTER
                 for w in [view.water_g_m2(x.name)]), 0 * times)  # fmt: skip
    condensation, margin = _condensation(stack, view)
    return Humidification(
        times_s=tuple(times.tolist()),
        layers=layers,
        water_drawn_g_m2=tuple(drawn.tolist()),
        water_to_room_g_m2=tuple(view.run.to_room_g[view.member].tolist()),
        time_to_target_s=crossing_s(times, treated, question.target.low),
        time_above_target_s=crossing_s(times, treated, question.target.high),
        neighbour_limit_s=neighbour,
        condensation=condensation,
        condensation_margin_k=margin,
        mass_imbalance=view.run.imbalance,
        rests_on=stack_basis(stack),
        caveats=stack_caveats(stack),
    )


def _series(stack: Stack, name: str, view: _View) -> LayerSeries:
    """Gather the cells of one layer; the store of a layer without fibres holds only dew."""
    rows, layer = view.rows(name), stack.layer(name)
    content, store = view.run.content[rows], view.network.store_g[rows]
    water, free = store @ content, store @ np.maximum(0.0, content - 1.0)
    regain = None
    if layer.fibre is not None:
        regain = tuple((water / layer.areal_density_g_m2).tolist())
    air = np.minimum(1.0, view.run.humidity[rows])
    fibres = view.run.fibre_humidity[rows]
    return LayerSeries(
        name=name,
        role=layer.role.value,
        air_humidity=tuple(air.mean(axis=0).tolist()),
        wettest_humidity=tuple(air.max(axis=0).tolist()),
        fibre_humidity=tuple(fibres.mean(axis=0).tolist()),
        wettest_fibre_humidity=tuple(fibres.max(axis=0).tolist()),
        regain=regain,
        water_g_m2=tuple(water.tolist()),
        free_water_g_m2=tuple(free.tolist()),
    )


#: Free water on a layer that counts as condensation, g/m2: above the error of the integration.
DEW_G_M2 = 0.05


def _condensation(stack: Stack, view: _View) -> tuple[str, float]:
    """Return the risk of dew over membrane and source, and how much colder a spot may be.

    The margin is stack temperature less dew point at the wettest moment: a spot colder by more
    than this gets dew. Above 85 % RH is a condensation hazard (claim:W-031, practice).
    """
    cut = [x for x in stack.layers if x.role is not Role.MEMBRANE]
    source = max((k for k, x in enumerate(cut) if x.role is Role.BLOTTER), default=-1)
    above = [view.rows(layer.name) for layer in cut[source + 1 :]]
    if not above:
        return "low", 0.0
    first, last = int(above[0][0]), int(above[-1][-1]) + 1
    free = np.maximum(0.0, view.run.content[first:last] - 1.0)
    free *= view.network.store_g[first:last, None]
    starts = [int(rows[0]) - first for rows in above]
    by_layer = np.add.reduceat(free, starts, axis=0)
    dew = float((by_layer.max(axis=1) - by_layer[:, 0]).max())
    wettest = min(1.0, float(view.run.humidity[first:last].max()))
    margin = stack.temperature_c - dew_point_c(stack.temperature_c, max(wettest, 0.02))
    if dew > DEW_G_M2:
        return "condenses", margin
    return ("hazard" if wettest >= 0.85 else "low"), margin


def stack_basis(stack: Stack) -> tuple[str, ...]:
    """Return what the properties of a stack rest on."""
    fibres = [fibre_sorption(layer.fibre).rests_on for layer in stack.layers if layer.fibre]
    membranes = [
        MEMBRANES[layer.kind].rests_on for layer in stack.layers if layer.kind in MEMBRANES
    ]
    return joined(
        (
            "claim:W-108 (read): diffusion in air",
            "claim:W-149 (read): fabrics resist 2-4 or 4-8 times as much still air",
            "claim:W-132 to claim:W-135 (read): films",
            "claim:W-161 (memory): water in a blotter, an estimate",
            "moisture-and-cleaning.md section E (practice): lag of 1-10 min",
        ),
        *fibres,
        membranes,
    )


def stack_caveats(stack: Stack) -> tuple[str, ...]:
    """Return what the answer for a stack doesn't cover, or covers only by a wide range."""
    fibres = [fibre_caveats(layer.fibre) for layer in stack.layers if layer.fibre]
    membranes = [MEMBRANES[layer.kind].caveat for layer in stack.layers if layer.kind in MEMBRANES]
    faces = [
        "No figure was found for felt up against felt down: same resistance, record which (W-055)."
        for layer in stack.layers
        if layer.role is Role.MEMBRANE and layer.face != "plain"
    ]
    return joined(
        membranes,
        faces,
        (
            "Vapour only: liquid that touches the textile spreads faster and farther.",
            "Heat of sorption is left out; it slows uptake, most in thick wool (W-169, W-183).",
            "No source found for the resistance between an open top and the room, or for leaks.",
        ),
        *fibres,
    )


def equilibrium_water_g_m2(stack: Stack, name: str, rise: Range) -> float:
    """Return the water that a layer needs from one RH to another, g/m2 (claim:D-14).

    >>> from leastwise.graph.physics.stack import bench_stack, textile
    >>> stack = bench_stack(textile("silk", "silk", 60, 0.1))
    >>> 2 < equilibrium_water_g_m2(stack, "silk", Range(0.5, 0.8)) < 4
    True
    """
    layer = stack.layer(name)
    if layer.fibre is None:
        raise PhysicsInputError("layer", name, "a layer of fibres")
    isotherm = isotherm_of(layer.fibre, layer.regain_at_65)
    return layer.areal_density_g_m2 * (isotherm.regain(rise.high) - isotherm.regain(rise.low))
