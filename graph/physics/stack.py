"""A stack of layers, from below: support, barrier, blotter, membrane, tissue, textile, cover."""

from __future__ import annotations

from dataclasses import dataclass, replace
from enum import Enum

from leastwise.graph.physics.bounds import PhysicsInputError, Range, within
from leastwise.graph.physics.membranes import WEAVES, film_resistance_s_m, membrane_kind
from leastwise.graph.physics.sorption import fibre_sorption

__all__ = [
    "Layer",
    "Role",
    "Stack",
    "air_gap",
    "bench_stack",
    "blotter",
    "film",
    "membrane",
    "support",
    "textile",
    "tissue",
]

#: Lag of the fibres of one layer, s: 1-10 min (section E step 3, W-182; memory and practice).
LAG_S = Range(60, 600)
#: Resistance between the top of a stack and the room, s/m. No source found: 3-15 mm still air.
SURFACE_S_M = Range(125, 625)


class Role(Enum):
    """What a layer does in the stack."""

    SUPPORT = "support"
    BARRIER = "barrier"
    BLOTTER = "blotter"
    MEMBRANE = "membrane"
    TISSUE = "tissue"
    TEXTILE = "textile"
    AIR_GAP = "air gap"
    COVER = "cover"


@dataclass(frozen=True, slots=True)
class Layer:
    """One layer. A porous layer resists as `still_air_factor` times as much still air.

    `water_load_g_m2` is water added at the bench, over what the layer holds at the start RH.
    `colder_by_k` sets a layer colder than the stack (a cold glass weight or table).
    """

    name: str
    role: Role
    thickness_mm: float = 0.0
    areal_density_g_m2: float = 0.0
    fibre: str | None = None
    regain_at_65: float = 0.0
    still_air_factor: float = 1.0
    resistance_s_m: float = 0.0
    water_load_g_m2: float = 0.0
    lag_s: float = 60.0
    colder_by_k: float = 0.0
    face: str = "plain"  # membrane: felt up, felt down, plain
    hole_fraction: float = 0.0
    kind: str = ""  # weave, kind of membrane, or polymer

    def __post_init__(self) -> None:
        within(f"{self.name}.thickness_mm", self.thickness_mm, 0, 200)
        within(f"{self.name}.areal_density_g_m2", self.areal_density_g_m2, 0, 20_000)
        within(f"{self.name}.still_air_factor", self.still_air_factor, 0, 50)
        within(f"{self.name}.resistance_s_m", self.resistance_s_m, 0, 1e8)
        within(f"{self.name}.water_load_g_m2", self.water_load_g_m2, 0, 20_000)
        within(f"{self.name}.lag_s", self.lag_s, 0.01, 36_000)
        within(f"{self.name}.colder_by_k", self.colder_by_k, -10, 20)
        within(f"{self.name}.hole_fraction", self.hole_fraction, 0, 1)
        if self.fibre is not None:
            fibre_sorption(self.fibre)
            within(f"{self.name}.regain_at_65", self.regain_at_65, 1e-4, 0.5)
            within(f"{self.name}.areal_density_g_m2", self.areal_density_g_m2, 0.1, 20_000)
        if self.role is Role.MEMBRANE and self.face not in ("plain", "felt up", "felt down"):
            raise PhysicsInputError(f"{self.name}.face", self.face, "plain, felt up or felt down")


def textile(
    name: str,
    fibre: str,
    areal_density_g_m2: float,
    thickness_mm: float,
    weave: str = "ordinary",
) -> Layer:
    """Return a textile layer; its resistance is 2-4 or 4-8 times still air (W-149, read).

    >>> textile("habotai", "silk", 60, 0.1).still_air_factor
    3.0
    """
    if weave not in WEAVES:
        raise PhysicsInputError(f"{name}.weave", weave, "one of " + ", ".join(WEAVES))
    within(f"{name}.thickness_mm", thickness_mm, 0.01, 50)
    return Layer(
        name,
        Role.TEXTILE,
        thickness_mm=thickness_mm,
        areal_density_g_m2=areal_density_g_m2,
        fibre=fibre,
        regain_at_65=fibre_sorption(fibre).regain_at_65,
        still_air_factor=WEAVES[weave].middle,
        lag_s=(LAG_S.low * LAG_S.high) ** 0.5,
        kind=weave,
    )


def tissue(name: str = "tissue", areal_density_g_m2: float = 15.0) -> Layer:
    """Return a thin polyester web (W-059, practice); its weight and 0.1 mm are nominal."""
    return replace(
        textile(name, "polyester", areal_density_g_m2, 0.1), role=Role.TISSUE, lag_s=10.0
    )


def blotter(
    name: str = "blotter",
    water_load_g_m2: float = 210.0,
    areal_density_g_m2: float = 280.0,
    thickness_mm: float = 0.5,
) -> Layer:
    """Return a blotter, 280 g/m2 with 0.75 g/g of water by default (claim:D-16, W-161, memory).

    Water wicks within a blotter, so it is one cell and offers no resistance of its own.
    """
    return Layer(
        name,
        Role.BLOTTER,
        thickness_mm=thickness_mm,
        areal_density_g_m2=areal_density_g_m2,
        fibre="blotter",
        regain_at_65=fibre_sorption("blotter").regain_at_65,
        still_air_factor=0.0,
        water_load_g_m2=water_load_g_m2,
        lag_s=0.5,
    )


def membrane(
    name: str = "membrane",
    kind: str = "felt laminate",
    face: str = "plain",
    hole_fraction: float = 0.0,
) -> Layer:
    """Return a membrane with the middle of its believed resistance; thickness is nominal 0.5 mm.

    No source gives its thickness; it only matters where the membrane is pierced.
    """
    believed = membrane_kind(kind).resistance_s_m
    return Layer(
        name,
        Role.MEMBRANE,
        thickness_mm=0.5,
        resistance_s_m=(believed.low * believed.high) ** 0.5,
        face=face,
        hole_fraction=hole_fraction,
        kind=kind,
    )


def film(name: str, role: Role, polymer: str = "LDPE", thickness_um: float = 50.0) -> Layer:
    """Return a film as barrier (below) or cover (above); claims W-132 to W-135 (read)."""
    believed = film_resistance_s_m(polymer, thickness_um)
    return Layer(name, role, resistance_s_m=believed.middle, kind=polymer)


def support(
    name: str = "support", areal_density_g_m2: float = 800.0, thickness_mm: float = 3.0
) -> Layer:
    """Return a cellulosic support board that takes water if no barrier lies over it.

    Its isotherm is taken as blotter and its weight is nominal: no source found.
    """
    return Layer(
        name,
        Role.SUPPORT,
        thickness_mm=thickness_mm,
        areal_density_g_m2=areal_density_g_m2,
        fibre="blotter",
        regain_at_65=fibre_sorption("blotter").regain_at_65,
        still_air_factor=3.0,
        lag_s=600.0,
    )


def air_gap(name: str = "air gap", thickness_mm: float = 1.0) -> Layer:
    """Return a layer of still air."""
    within(f"{name}.thickness_mm", thickness_mm, 0.01, 200)
    return Layer(name, Role.AIR_GAP, thickness_mm=thickness_mm, lag_s=1.0)


@dataclass(frozen=True, slots=True)
class Stack:
    """Layers from below upwards on a tight bench, in a room; open at the top unless covered."""

    layers: tuple[Layer, ...]
    temperature_c: float = 20.0
    room_relative_humidity: float = 0.50
    start_relative_humidity: float = 0.50
    surface_resistance_s_m: float = (SURFACE_S_M.low * SURFACE_S_M.high) ** 0.5
    #: Resistance from the space between membrane and cover to the room by the edges; None: sealed.
    edge_leak_s_m: float | None = None

    def __post_init__(self) -> None:
        within("temperature_c", self.temperature_c, 5, 40)
        within("room_relative_humidity", self.room_relative_humidity, 0, 0.99)
        within("start_relative_humidity", self.start_relative_humidity, 0.01, 0.99)
        within("surface_resistance_s_m", self.surface_resistance_s_m, 1, 1e9)
        if self.edge_leak_s_m is not None:
            within("edge_leak_s_m", self.edge_leak_s_m, 0.1, 1e9)
        names = [layer.name for layer in self.layers]
        if not names or len(set(names)) != len(names):
            raise PhysicsInputError("layers", names, "at least one layer, each with its own name")
        if all(layer.role is Role.MEMBRANE for layer in self.layers):
            raise PhysicsInputError("layers", names, "at least one layer that is no membrane")

    def layer(self, name: str) -> Layer:
        """Return the layer of that name."""
        for layer in self.layers:
            if layer.name == name:
                return layer
        accepted = "one of " + ", ".join(layer.name for layer in self.layers)
        raise PhysicsInputError("layer", name, accepted)

    def with_layer(self, layer: Layer) -> Stack:
        """Return the stack with the layer of the same name replaced."""
        self.layer(layer.name)
        return replace(
            self, layers=tuple(layer if old.name == layer.name else old for old in self.layers)
        )

    def without(self, name: str) -> Stack:
        """Return the stack without a layer, to see what it does."""
        self.layer(name)
        return replace(self, layers=tuple(old for old in self.layers if old.name != name))


def bench_stack(treated: Layer, *more: Layer, water_load_g_m2: float = 210.0) -> Stack:
    """Return the usual stack from below with the treated textile (and layers over it) inside.

    Support, polyethylene, damp blotter, felt laminate, thin web, textile, 1 mm of air, cover
    (the order asked for; claim:W-059, practice, turns source and textile over).

    >>> [layer.role.value for layer in bench_stack(textile("silk", "silk", 60, 0.1)).layers]
    ['support', 'barrier', 'blotter', 'membrane', 'tissue', 'textile', 'air gap', 'cover']
    """
    return Stack(
        (
            support(),
            film("barrier", Role.BARRIER),
            blotter(water_load_g_m2=water_load_g_m2),
            membrane(),
            tissue(),
            treated,
            *more,
            air_gap(),
            film("cover", Role.COVER),
        )
    )
