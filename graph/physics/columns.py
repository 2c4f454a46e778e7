"""From a stack of layers to a network of cells: one column, or columns side by side."""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np

from leastwise.graph.physics.air import (
    diffusion_coefficient_m2_s,
    saturation_concentration_g_m3,
)
from leastwise.graph.physics.membranes import pierced_resistance_s_m
from leastwise.graph.physics.network import Network
from leastwise.graph.physics.sorption import Isotherm, isotherm_of
from leastwise.graph.physics.stack import Layer, Role, Stack

__all__ = ["Cell", "Column", "column_of", "network_of"]

#: Two faces always have some contact resistance, s/m; far below any other (numerical floor).
CONTACT_S_M = 0.2
#: What a bare surface holds at saturation, g/m2: a numerical floor on which dew can settle.
SURFACE_STORE_G_M2 = 0.02
#: Least air of a cell, m: a face of film has none, and the equations need some.
LEAST_AIR_M = 2e-5
LEAKY = (Role.TISSUE, Role.TEXTILE, Role.AIR_GAP)


@dataclass(frozen=True, slots=True)
class Cell:
    """One cell of a column, per square metre."""

    layer: str
    air_m: float
    saturation_g_m3: float
    store_g_m2: float
    isotherm: Isotherm
    lag_s: float
    start_humidity: float
    start_content: float  # share of saturation
    half_s_m: float
    lateral_m2_s: float  # conductance along the layer: thickness x D / factor
    leaky: bool


@dataclass(slots=True)
class Column:
    """Cells from below upwards with the resistance below each, and the way to the room."""

    cells: list[Cell] = field(default_factory=list)
    below_s_m: list[float] = field(default_factory=list)
    top_s_m: float = 0.0

    def add(self, cell: Cell, between_s_m: float) -> None:
        """Put a cell on top, with a resistance between it and the one below."""
        under = self.cells[-1].half_s_m if self.cells else 0.0
        self.below_s_m.append(max(CONTACT_S_M, under + between_s_m + cell.half_s_m))
        self.cells.append(cell)


PLAIN = Isotherm(1.0, 0.0, 0.0)


def _cell(layer: Layer, stack: Stack, parts: int, *, face: bool = False) -> Cell:
    """Return one of the equal cells into which a layer is cut, or a bare face of a film."""
    temperature = stack.temperature_c - layer.colder_by_k
    thickness = 0.0 if face else layer.thickness_mm / 1000 / parts
    diffusion = diffusion_coefficient_m2_s(temperature)
    isotherm, store, start = PLAIN, SURFACE_STORE_G_M2, stack.start_relative_humidity
    if layer.fibre is not None:
        isotherm = isotherm_of(layer.fibre, layer.regain_at_65)
        dry = layer.areal_density_g_m2 / parts
        store = dry * isotherm.saturated
        start = isotherm.regain(stack.start_relative_humidity) / isotherm.saturated
        start += layer.water_load_g_m2 / parts / store
    factor = max(layer.still_air_factor, 1.0)
    return Cell(
        layer=layer.name,
        air_m=max(thickness, LEAST_AIR_M),
        saturation_g_m3=saturation_concentration_g_m3(temperature),
        store_g_m2=store,
        isotherm=isotherm,
        lag_s=layer.lag_s if layer.fibre is not None else 1.0,
        start_humidity=min(1.0, isotherm.humidity(start * isotherm.saturated)),
        start_content=start,
        half_s_m=0.0 if face else thickness * layer.still_air_factor / diffusion / 2,
        lateral_m2_s=thickness * diffusion / factor,
        leaky=layer.role in LEAKY,
    )


def _membrane_s_m(layer: Layer, stack: Stack) -> float:
    """Return the resistance of a membrane, pierced or sound."""
    return pierced_resistance_s_m(
        max(layer.resistance_s_m, 0.1),
        layer.hole_fraction,
        layer.thickness_mm,
        stack.temperature_c,
    )


def column_of(stack: Stack, cells_per_layer: int) -> Column:
    """Cut a stack into cells. A membrane is resistance only; a film is two faces."""
    column, waiting = Column(), 0.0
    for layer in stack.layers:
        if layer.role is Role.MEMBRANE:
            waiting += _membrane_s_m(layer, stack)
            continue
        if layer.role in (Role.BARRIER, Role.COVER):
            column.add(_cell(layer, stack, 1, face=True), waiting)
            column.add(_cell(layer, stack, 1, face=True), max(layer.resistance_s_m, CONTACT_S_M))
            waiting = 0.0
            continue
        parts = cells_per_layer if layer.fibre and layer.role is not Role.BLOTTER else 1
        cell = _cell(layer, stack, parts)
        for _ in range(parts):
            column.add(cell, waiting)
            waiting = 0.0
    column.top_s_m = column.cells[-1].half_s_m + waiting + stack.surface_resistance_s_m
    return column


@dataclass(slots=True)
class _Links:
    """Lists of links while a network is put together."""

    one: list[int] = field(default_factory=list)
    two: list[int] = field(default_factory=list)
    m3_s: list[float] = field(default_factory=list)
    room: list[int] = field(default_factory=list)
    room_m3_s: list[float] = field(default_factory=list)


def network_of(
    columns: list[Column],
    stacks: list[Stack],
    areas_m2: list[float],
    lateral: list[tuple[int, int, float]] | None = None,
) -> Network:
    """Return the network of columns; `lateral` joins the k-th cell of one with that of another.

    A lateral entry is (cell, cell, m3/s) with cells counted over all columns.
    """
    links = _linked(columns, stacks, areas_m2, lateral or [])
    cells = [cell for column in columns for cell in column.cells]
    areas = np.repeat(areas_m2, [len(column.cells) for column in columns])
    room_g_m3 = [
        stack.room_relative_humidity * saturation_concentration_g_m3(stack.temperature_c)
        for stack in stacks
    ]
    owner = np.repeat(np.arange(len(columns)), [len(column.cells) for column in columns])
    room = np.array(links.room, dtype=np.int64)
    return Network(
        air_m3=areas * np.array([cell.air_m for cell in cells]),
        saturation_g_m3=np.array([cell.saturation_g_m3 for cell in cells]),
        store_g=areas * np.array([cell.store_g_m2 for cell in cells]),
        hailwood=_hailwood(cells),
        lag_s=np.array([cell.lag_s for cell in cells]),
        start_humidity=np.array([cell.start_humidity for cell in cells]),
        start_content=np.array([cell.start_content for cell in cells]),
        link_from=np.array(links.one, dtype=np.int64),
        link_to=np.array(links.two, dtype=np.int64),
        link_m3_s=np.array(links.m3_s),
        room_cell=room,
        room_m3_s=np.array(links.room_m3_s),
        room_g_m3=np.array(room_g_m3)[owner[room]],
    )


def _linked(
    columns: list[Column],
    stacks: list[Stack],
    areas_m2: list[float],
    lateral: list[tuple[int, int, float]],
) -> _Links:
    """Gather all links of the columns, upwards, to the room, and sideways."""
    links, first = _Links(), 0
    for column, stack, area in zip(columns, stacks, areas_m2, strict=True):
        _join_column(links, column, stack, area, first)
        first += len(column.cells)
    for one, two, conductance in lateral:
        links.one.append(one)
        links.two.append(two)
        links.m3_s.append(conductance)
    return links


def _join_column(links: _Links, column: Column, stack: Stack, area: float, first: int) -> None:
    """Link a column's cells upwards, its top to the room, and its leaky cells to the room."""
    count = len(column.cells)
    for k in range(1, count):
        links.one.append(first + k - 1)
        links.two.append(first + k)
        links.m3_s.append(area / column.below_s_m[k])
    links.room.append(first + count - 1)
    links.room_m3_s.append(area / column.top_s_m)
    if stack.edge_leak_s_m is None:
        return
    leaky = [k for k, cell in enumerate(column.cells) if cell.leaky]
    depth = sum(column.cells[k].air_m for k in leaky)
    for k in leaky:
        links.room.append(first + k)
        links.room_m3_s.append(area / stack.edge_leak_s_m * column.cells[k].air_m / depth)


def _hailwood(cells: list[Cell]) -> np.ndarray[tuple[int, ...], np.dtype[np.float64]]:
    """Return A, B, C of each cell for the regain as a share of that at saturation."""
    rows = [
        [
            part * cell.isotherm.saturated
            for part in (cell.isotherm.a, cell.isotherm.b, cell.isotherm.c)
        ]
        for cell in cells
    ]
    return np.array(rows).T
