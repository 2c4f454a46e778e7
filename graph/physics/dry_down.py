"""How fast a damp cloth can dry: held up by the air over it, or by the way through the cloth.

Two limit cases, each with its closed form, to set beside the whole model (`protocol.drying`).
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from leastwise.graph.physics.air import diffusion_coefficient_m2_s, saturation_concentration_g_m3
from leastwise.graph.physics.bounds import PhysicsInputError, within
from leastwise.graph.physics.sorption import isotherm_of
from leastwise.graph.physics.stack import Layer, Stack

__all__ = [
    "DryDown",
    "Fall",
    "diffusion_limited_s",
    "dry_down",
    "evaporation_limited_s",
    "share_left",
]

TERMS = 200


@dataclass(frozen=True, slots=True)
class Fall:
    """From which RH to which a cloth dries, in a room of a lower one; fractions."""

    start: float
    end: float
    room: float

    def __post_init__(self) -> None:
        within("start", self.start, 0, 1)
        within("room", self.room, 0, 1)
        if not self.room < self.end <= self.start:
            accepted = f"above {self.room:g} and at most {self.start:g}"
            raise PhysicsInputError("end", self.end, accepted)


@dataclass(frozen=True, slots=True)
class DryDown:
    """Time to an RH if only the surface, or only the cloth, held the water back.

    *layers_of_blotter* is how many fresh sheets of blotter would take all the water up without
    passing the RH that is wanted.
    """

    evaporation_s: float
    diffusion_s: float
    governs: str  # evaporation or diffusion
    water_g_m2: float
    layers_of_blotter: int
    rests_on: tuple[str, ...]
    caveats: tuple[str, ...]

    @property
    def longer_s(self) -> float:
        """The longer of the two, and the sum of both as an upper end."""
        return max(self.evaporation_s, self.diffusion_s)


def evaporation_limited_s(
    capacity_g_m2: float, resistance_s_m: float, fall: Fall, temperature_c: float = 20.0
) -> float:
    """Return C R/c ln((start - room)/(end - room)): a cloth of even moisture under an air film.

    C is the water taken per unit of RH (g/m2), R the resistance of the film over both faces (s/m),
    c the saturation concentration (g/m3). Newton's law of cooling, with water for heat.

    >>> round(evaporation_limited_s(20.0, 250.0, Fall(0.8, 0.6, 0.5)))
    318

    """
    film = within("resistance_s_m", resistance_s_m, 0.1, 1e9)
    tau = capacity_g_m2 * film / saturation_concentration_g_m3(temperature_c)
    return tau * math.log((fall.start - fall.room) / (fall.end - fall.room))


def share_left(fourier: float) -> float:
    """Return the mean share of moisture left in a slab open on both faces, at D t/(half width)2.

    The series sum of 8/((2n+1)2 pi2) exp(-(2n+1)2 pi2 Fo/4) (Crank, The Mathematics of Diffusion;
    recalled, memory), checked against a solution in steps by the tests.

    >>> round(share_left(0.0), 2), round(share_left(1.0), 4)
    (1.0, 0.0687)
    """
    odd = ((2 * n + 1) * math.pi for n in range(TERMS))
    return sum(8 / one**2 * math.exp(-(one**2) * fourier / 4) for one in odd)


def diffusion_limited_s(
    thickness_m: float, diffusivity_m2_s: float, fall: Fall, faces: int = 2
) -> float:
    """Return when the mean RH of a slab has fallen to *end*, its faces held at that of the room.

    With one face open the slab counts as half of one of twice the thickness.

    Raises:
        PhysicsInputError: faces other than 1 or 2, or a thickness that can't be.

    """
    if faces not in (1, 2):
        raise PhysicsInputError("faces", faces, "1 or 2")
    half = within("thickness_m", thickness_m, 1e-6, 1) / faces
    wanted = (fall.end - fall.room) / (fall.start - fall.room)
    low, high = 0.0, 20.0
    for _ in range(60):
        middle = (low + high) / 2
        low, high = (middle, high) if share_left(middle) > wanted else (low, middle)
    return high * half**2 / within("diffusivity_m2_s", diffusivity_m2_s, 1e-16, 1)


def dry_down(cloth: Layer, stack: Stack, start: float, end: float = 0.6) -> DryDown:
    """Return both limit times of a cloth with both faces to the air or to dry blotter.

    The isotherm is taken straight between start and room; the way through the cloth is its still
    air factor times still air, slowed by what the fibres hold.

    Raises:
        PhysicsInputError: a layer without fibres, or humidities that don't fall.

    """
    if cloth.fibre is None:
        raise PhysicsInputError("cloth", cloth.name, "a layer of fibres")
    room, temperature = stack.start_relative_humidity, stack.temperature_c
    fall = Fall(start, end, room)
    regain = isotherm_of(cloth.fibre, cloth.regain_at_65).regain
    rise = regain(start) - regain(room)
    capacity = cloth.areal_density_g_m2 * rise / (start - room)
    saturated = saturation_concentration_g_m3(temperature)
    thickness = max(cloth.thickness_mm, 0.01) / 1000
    vapour = diffusion_coefficient_m2_s(temperature) / max(cloth.still_air_factor, 1.0)
    slowed = vapour * saturated * thickness / capacity
    surface = stack.surface_resistance_s_m / 2  # two faces side by side
    dries = evaporation_limited_s(capacity, surface, fall, temperature)
    passes = diffusion_limited_s(thickness, slowed, fall)
    blotter = isotherm_of("blotter").regain
    takes = 280.0 * (blotter(end) - blotter(room))
    water = cloth.areal_density_g_m2 * (regain(start) - regain(end))
    return DryDown(
        evaporation_s=dries,
        diffusion_s=passes,
        governs="evaporation" if dries >= passes else "diffusion",
        water_g_m2=water,
        layers_of_blotter=max(1, math.ceil(water / takes)),
        rests_on=(
            "claim:W-149 (read): cloth resists as 2 to 8 times still air",
            "claim:D-16 (memory): blotter of 280 g/m2",
        ),
        caveats=(
            "Limit cases with a straight isotherm; desorption ends damper than adsorption.",
            "Seams, gathers and padding dry slower than the single cloth.",
        ),
    )
