"""Sideways spread on a round patch: past the barrier's edge, and round a hole in the membrane.

Rings round a centre, each a column of layers as in one dimension, joined sideways through the
layers they share (vapour along the cloth and along the air over it). Zones with different stacks
lie one round the other: for instance blotter, margin, open cloth.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from leastwise.graph.physics.air import still_air_resistance_s_m
from leastwise.graph.physics.bounds import PhysicsInputError, joined, within
from leastwise.graph.physics.columns import Column, column_of, network_of
from leastwise.graph.physics.membranes import pierced_resistance_s_m
from leastwise.graph.physics.moisture import crossing_s, stack_basis, stack_caveats, time_grid
from leastwise.graph.physics.network import Accuracy, Floats, run_network
from leastwise.graph.physics.stack import Role, Stack

__all__ = ["Pierced", "Rings", "Spread", "Zone", "pierced_membrane", "spread"]


@dataclass(frozen=True, slots=True)
class Zone:
    """A ring-shaped zone out to a radius, with the stack that lies there."""

    name: str
    outer_radius_mm: float
    stack: Stack

    def __post_init__(self) -> None:
        within("outer_radius_mm", self.outer_radius_mm, 0.05, 5000)


@dataclass(frozen=True, slots=True)
class Rings:
    """How finely the zones are cut, how long they are followed, and how exactly."""

    per_zone: int = 8
    duration_s: float = 3600.0
    tolerance: float = 1e-4
    points: int = 80

    def __post_init__(self) -> None:
        within("per_zone", self.per_zone, 2, 200)
        within("duration_s", self.duration_s, 10, 30 * 86_400)


@dataclass(frozen=True, slots=True)
class Spread:
    """RH of one layer by radius and time; how far the limit has come; water it has taken."""

    layer: str
    radii_mm: tuple[float, ...]
    ring_edges_mm: tuple[float, ...]
    zone_of_ring: tuple[str, ...]
    times_s: tuple[float, ...]
    fibre_humidity: tuple[tuple[float, ...], ...]  # by ring, then time
    air_humidity: tuple[tuple[float, ...], ...]
    water_gained_g_m2: tuple[tuple[float, ...], ...]
    limit: float
    reach_mm: tuple[float, ...]  # outermost radius at or over the limit; 0 if none
    mass_imbalance: float
    rests_on: tuple[str, ...]
    caveats: tuple[str, ...]


def _ring_edges(zones: Sequence[Zone], per_zone: int) -> tuple[Floats, list[Zone]]:
    """Return ring edges in m and the zone of each ring; rings are finer towards zone borders."""
    edges, owners, inner = [0.0], [], 0.0
    for zone in zones:
        outer = zone.outer_radius_mm / 1000
        if outer <= inner:
            raise PhysicsInputError(
                "outer_radius_mm", zone.outer_radius_mm, f"more than {inner * 1000:g} mm"
            )
        share = (1 - np.cos(np.pi * np.arange(1, per_zone + 1) / per_zone)) / 2
        edges += (inner + (outer - inner) * share).tolist()
        owners += [zone] * per_zone
        inner = outer
    return np.array(edges), owners


def _lateral(columns: list[Column], edges: Floats) -> list[tuple[int, int, float]]:
    """Join cells of one layer in neighbouring rings: 2 pi r / (half widths over conductance)."""
    joins: list[tuple[int, int, float]] = []
    firsts = np.cumsum([0, *(len(column.cells) for column in columns)])
    for k in range(len(columns) - 1):
        there = _places(columns[k + 1])
        for (name, order), place in _places(columns[k]).items():
            other = there.get((name, order))
            if other is None:
                continue
            here, beyond = columns[k].cells[place], columns[k + 1].cells[other]
            if min(here.lateral_m2_s, beyond.lateral_m2_s) <= 0:
                continue
            way = (edges[k + 1] - edges[k]) / 2 / here.lateral_m2_s
            way += (edges[k + 2] - edges[k + 1]) / 2 / beyond.lateral_m2_s
            conductance = 2 * math.pi * edges[k + 1] / way
            joins.append((int(firsts[k]) + place, int(firsts[k + 1]) + other, conductance))
    return joins


def _places(column: Column) -> dict[tuple[str, int], int]:
    """Return where the first, second ... cell of each layer stands in a column."""
    places: dict[tuple[str, int], int] = {}
    counts: dict[str, int] = {}
    for place, cell in enumerate(column.cells):
        order = counts.get(cell.layer, 0)
        places[cell.layer, order] = place
        counts[cell.layer] = order + 1
    return places


def spread(
    zones: Sequence[Zone], layer: str, limit: float = 0.65, rings: Rings | None = None
) -> Spread:
    """Return how moisture spreads along a layer that lies in all zones, innermost zone first.

    Raises:
        PhysicsInputError: no zones, radii not growing, or a zone without the layer.
        SolverError: the integration stopped early.

    """
    if not zones:
        raise PhysicsInputError("zones", (), "at least one zone")
    within("limit", limit, 0.01, 0.999)
    for zone in zones:
        zone.stack.layer(layer)
    return _followed(zones, layer, limit, rings or Rings())


def _followed(zones: Sequence[Zone], layer: str, limit: float, plan: Rings) -> Spread:
    """Integrate the rings and gather the rows of one layer."""
    edges, owners = _ring_edges(zones, plan.per_zone)
    columns = [column_of(zone.stack, 1) for zone in owners]
    areas = (math.pi * (edges[1:] ** 2 - edges[:-1] ** 2)).tolist()
    stacks = [zone.stack for zone in owners]
    network = network_of(columns, stacks, areas, _lateral(columns, edges))
    times = time_grid(plan.duration_s, plan.points)
    run = run_network(network, times, Accuracy(plan.tolerance))
    rows = _rows_of(columns, layer)
    fibre, air = run.fibre_humidity[rows], np.minimum(1.0, run.humidity[rows])
    gained = (run.content[rows] - run.content[rows][:, :1]) * network.store_g[rows][:, None]
    over = fibre >= limit
    return Spread(
        layer=layer,
        radii_mm=tuple((500 * (edges[1:] + edges[:-1])).tolist()),
        ring_edges_mm=tuple((1000 * edges).tolist()),
        zone_of_ring=tuple(zone.name for zone in owners),
        times_s=tuple(times.tolist()),
        fibre_humidity=_tuples(fibre),
        air_humidity=_tuples(air),
        water_gained_g_m2=_tuples(gained / np.array(areas)[:, None]),
        limit=limit,
        reach_mm=tuple(np.where(over, 1000 * edges[1:, None], 0.0).max(axis=0).tolist()),
        mass_imbalance=run.imbalance,
        rests_on=joined(*(stack_basis(zone.stack) for zone in zones)),
        caveats=joined(
            ("Round and even; sideways by vapour only, not by wicking of liquid.",),
            *(stack_caveats(zone.stack) for zone in zones),
        ),
    )


def _rows_of(columns: list[Column], layer: str) -> list[int]:
    """Return where the first cell of a layer stands in each ring."""
    firsts = np.cumsum([0, *(len(column.cells) for column in columns)])
    return [int(firsts[k]) + _places(c)[layer, 0] for k, c in enumerate(columns)]


def _tuples(values: Floats) -> tuple[tuple[float, ...], ...]:
    """Return an array as tuples."""
    return tuple(tuple(row) for row in values.tolist())


@dataclass(frozen=True, slots=True)
class Pierced:
    """What a hole does to the treated layer: how much faster, and how far around."""

    hole_diameter_mm: float
    flux_ratio: float  # resistance of the sound membrane over that of the hole's depth of air
    with_hole: Spread
    sound_humidity: tuple[float, ...]
    centre_humidity: tuple[float, ...]
    largest_excess: float  # RH at the centre over that of the sound membrane
    at_s: float
    limit_at_centre_s: float | None  # when the centre reaches the limit
    limit_sound_s: float | None  # and when it would under a sound membrane
    reach_mm: float  # radius within which the excess is at least a tenth of that at the centre
    extra_water_g_m2: float  # at the centre, at that time
    rests_on: tuple[str, ...]
    caveats: tuple[str, ...]


def pierced_membrane(
    stack: Stack, treated: str, hole_diameter_mm: float, rings: Rings | None = None
) -> Pierced:
    """Return the effect of one round hole in the membrane of a stack, against a sound one.

    In the hole the membrane resists as still air of its thickness; the crowding of vapour on its
    way up is resolved by the rings. Followed out to twelve hole diameters, 30 mm at least.

    Raises:
        PhysicsInputError: a stack without a membrane, or a value that isn't accepted.

    """
    radius = within("hole_diameter_mm", hole_diameter_mm, 0.2, 200) / 2
    found = [layer for layer in stack.layers if layer.role is Role.MEMBRANE]
    if not found:
        raise PhysicsInputError("stack", [x.name for x in stack.layers], "a stack with a membrane")
    sound, plan = found[0], rings or Rings()
    depth_s_m = still_air_resistance_s_m(sound.thickness_mm, stack.temperature_c)
    hole_s_m = max(0.1, min(depth_s_m, sound.resistance_s_m))
    hole = stack.with_layer(replace(sound, resistance_s_m=hole_s_m, hole_fraction=0.0))
    beyond = max(30.0, 24 * radius)
    zones = [
        Zone("hole", radius, hole),
        Zone("near", 6 * radius, stack),
        Zone("far", beyond, stack),
    ]
    holed = spread(zones, treated, rings=plan)
    whole = spread([Zone("sound", beyond, stack)], treated, rings=replace(plan, per_zone=2))
    effective = pierced_resistance_s_m(
        sound.resistance_s_m, sound.hole_fraction, sound.thickness_mm, stack.temperature_c
    )
    return _compared(2 * radius, effective / hole_s_m, holed, whole)


def _compared(diameter_mm: float, flux_ratio: float, holed: Spread, whole: Spread) -> Pierced:
    """Set the run with a hole against the run without, where they differ most."""
    centre, even = np.array(holed.fibre_humidity[0]), np.array(whole.fibre_humidity[0])
    k = int(np.argmax(centre - even))
    excess = np.array(holed.fibre_humidity)[:, k] - even[k]
    felt = excess >= max(0.1 * excess[0], 1e-9)
    return Pierced(
        hole_diameter_mm=diameter_mm,
        flux_ratio=flux_ratio,
        with_hole=holed,
        sound_humidity=tuple(even.tolist()),
        centre_humidity=tuple(centre.tolist()),
        largest_excess=float(excess[0]),
        at_s=holed.times_s[k],
        limit_at_centre_s=crossing_s(np.array(holed.times_s), centre, holed.limit),
        limit_sound_s=crossing_s(np.array(holed.times_s), even, holed.limit),
        reach_mm=float(np.max(np.where(felt, holed.ring_edges_mm[1:], 0.0))),
        extra_water_g_m2=holed.water_gained_g_m2[0][k] - whole.water_gained_g_m2[0][k],
        rests_on=holed.rests_on,
        caveats=joined(
            (
                "A hole lets liquid through too, and a pressed blotter touches the cloth in it; "
                "that isn't counted, so the true effect is larger.",
                "No source gives the thickness of the membrane; the hole's depth is nominal.",
            ),
            holed.caveats,
        ),
    )
