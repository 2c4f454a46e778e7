"""Sealed, leaky and open packs, and packs hung on three-dimensional parts."""

from __future__ import annotations

from dataclasses import dataclass, replace

from leastwise.graph.physics.air import diffusion_coefficient_m2_s
from leastwise.graph.physics.bounds import PhysicsInputError, joined, within
from leastwise.graph.physics.load import GRAVITY_M_S2
from leastwise.graph.physics.moisture import Humidification, Question, humidify
from leastwise.graph.physics.stack import Role, Stack

__all__ = [
    "PackEdge",
    "SealingComparison",
    "SuspendedPack",
    "compare_sealing",
    "edge_leak_s_m",
    "hang_pack",
    "pack_mass_g",
]


@dataclass(frozen=True, slots=True)
class PackEdge:
    """The outline of a pack and the slit along its edge through which vapour leaks."""

    width_cm: float
    height_cm: float
    slit_mm: float
    way_mm: float = 10.0

    def __post_init__(self) -> None:
        within("width_cm", self.width_cm, 0.5, 500)
        within("height_cm", self.height_cm, 0.5, 500)
        within("slit_mm", self.slit_mm, 0, 100)
        within("way_mm", self.way_mm, 0.5, 500)

    @property
    def area_cm2(self) -> float:
        """The face of the pack."""
        return self.width_cm * self.height_cm


def edge_leak_s_m(edge: PackEdge, temperature_c: float = 20.0) -> float | None:
    """Return the resistance of an open edge per area of pack, w A/(D P h); None if sealed.

    Still air in a slit of height h and way w along the perimeter P. Draught makes it leakier.

    >>> round(edge_leak_s_m(PackEdge(10, 10, 1.0)))
    10421
    """
    if edge.slit_mm == 0:
        return None
    perimeter_m = 2 * (edge.width_cm + edge.height_cm) / 100
    through = diffusion_coefficient_m2_s(temperature_c) * perimeter_m * edge.slit_mm / 1000
    return edge.way_mm / 1000 * edge.area_cm2 / 1e4 / through


@dataclass(frozen=True, slots=True)
class SealingComparison:
    """The same stack sealed, with leaking edges, and with an open top."""

    sealed: Humidification
    leaking: Humidification | None
    open_top: Humidification
    rests_on: tuple[str, ...]
    caveats: tuple[str, ...]


def compare_sealing(
    stack: Stack, question: Question, edge: PackEdge | None = None
) -> SealingComparison:
    """Return the answers for a covered stack when sealed, leaking by its edges, and uncovered.

    Raises:
        PhysicsInputError: a stack without a cover, or a question about the cover itself.

    """
    covers = [layer.name for layer in stack.layers if layer.role is Role.COVER]
    if not covers:
        raise PhysicsInputError("stack", [x.name for x in stack.layers], "a stack with a cover")
    uncovered = stack
    for name in covers:
        uncovered = uncovered.without(name)
    leak = edge_leak_s_m(edge, stack.temperature_c) if edge is not None else None
    sealed = humidify(replace(stack, edge_leak_s_m=None), question)
    leaking = None
    if leak is not None:
        leaking = humidify(replace(stack, edge_leak_s_m=leak), question)
    return SealingComparison(
        sealed=sealed,
        leaking=leaking,
        open_top=humidify(replace(uncovered, edge_leak_s_m=None), question),
        rests_on=sealed.rests_on,
        caveats=joined(
            ("Edges leak by still air in the slit; a draught isn't counted.",), sealed.caveats
        ),
    )


@dataclass(frozen=True, slots=True)
class SuspendedPack:
    """A pack clipped to a three-dimensional part: what it weighs and how it leaks."""

    mass_g: float
    pull_n: float
    pull_per_clip_n: float
    leak_s_m: float | None
    humidification: Humidification
    advice: tuple[str, ...]
    rests_on: tuple[str, ...]
    caveats: tuple[str, ...]


def pack_mass_g(stack: Stack, edge: PackEdge) -> float:
    """Return what the layers of a pack weigh, without the textiles and the board, in g.

    Films and membranes are weighed as nothing.
    """
    carried = [x for x in stack.layers if x.role not in (Role.TEXTILE, Role.SUPPORT)]
    per_m2 = sum(layer.areal_density_g_m2 + layer.water_load_g_m2 for layer in carried)
    return per_m2 * edge.area_cm2 / 1e4


def hang_pack(
    stack: Stack, question: Question, edge: PackEdge, clips: int, extra_mass_g: float = 0.0
) -> SuspendedPack:
    """Return the moisture in a hung pack and what it pulls, from all layers but textile and board.

    Open sides (slit above 0) leak to the room all along; the pack is worked in the vertical, so
    its whole weight hangs on the clips unless a support inside carries it (claim:W-066).

    Raises:
        PhysicsInputError: a value that isn't accepted.

    """
    within("clips", clips, 1, 100)
    within("extra_mass_g", extra_mass_g, 0, 5000)
    mass = pack_mass_g(stack, edge) + extra_mass_g
    leak = edge_leak_s_m(edge, stack.temperature_c)
    answer = humidify(replace(stack, edge_leak_s_m=leak), question)
    pull = mass / 1000 * GRAVITY_M_S2
    return SuspendedPack(
        mass_g=mass,
        pull_n=pull,
        pull_per_clip_n=pull / clips,
        leak_s_m=leak,
        humidification=answer,
        advice=(
            "Carry the part from inside with an inert shape; vapour never faces an unsupported "
            "weak seam (W-067, W-068).",
            "5 to 15 min a station with looks in between; move along the crease (W-069).",
            "Not on shattered silk, loaded shoulder seams, hanging beadwork, nor over boning or "
            "hooks that corrode (W-070).",
        ),
        rests_on=joined(("claim:W-066 to claim:W-070 (practice): clipped packs",), answer.rests_on),
        caveats=joined(
            (
                "No published procedure with figures for clipped packs was found (W-071).",
                "Films and membranes are weighed as nothing; add them as extra mass.",
                "Water may run down inside an upright pack; the model has vapour only.",
            ),
            answer.caveats,
        ),
    )
