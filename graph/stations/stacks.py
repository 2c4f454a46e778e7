"""The pack of a section as a stack for the bench physics, with one neighbour behind it.

What lies flat is covered and sealed. What can't lie flat is worked against a shape, with a dry
interleaf and the room behind it: the top of the stack is open. The damp blotter stands on the side
away from the neighbour, so that vapour meets the treated cloth first.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import Any, Final

from leastwise.graph.case.packs import StackRecord
from leastwise.graph.case.record import Part, Tri
from leastwise.graph.knowledge.knowledge import Knowledge
from leastwise.graph.physics.holes import pierced_sheet_s_m, slit_of_open_side_mm
from leastwise.graph.physics.membranes import film_resistance_s_m
from leastwise.graph.physics.packs import PackEdge
from leastwise.graph.stations.sections import Stations

__all__ = ["SAMPLES", "TARGET", "Cloth", "Pack", "cloth_of", "stack_of"]

#: Concept -> fibre of the sorption data; what is narrower goes before what is broader.
FIBRES: Final[Mapping[str, str]] = {
    "material:weighted-silk": "weighted silk",
    "material:silk": "silk",
    "material:wool": "wool",
    "material:cotton": "cotton",
    "material:linen": "linen",
    "material:viscose-rayon": "viscose",
    "material:cellulose-acetate": "acetate",
    "material:polyamide": "nylon",
    "material:polyester": "polyester",
}
#: Water given to the blotter, g/m2, over a dry blotter of some 280 g/m2: 50 to 100 % (W-060).
WATER: Final = (140.0, 280.0)
TARGET: Final = (70.0, 80.0)
MINUTES, SAMPLES = 60.0, 32
#: RH of the room where nobody measured it, in percent (practice).
ROOM: Final = (45.0, 55.0)
#: Share of a film that is open where it is slit round threads: 0.1 to 1 % (practice).
SLIT: Final = (0.001, 0.01)
FILM_UM: Final = 50.0
#: How far the upper side of a hung pack gapes, in mm (practice).
GAPES_MM: Final = 5.0
NAME_MOST: Final = 40
SLIT_FILM: Final = "film slit round the threads"
#: Names that the other layers of a pack have.
TAKEN: Final = (
    "polyethylene outside",
    "damp blotter",
    "membrane",
    "web",
    "film",
    SLIT_FILM,
    "dry interleaf",
)
#: Bulk densities of woven cloth, g/m2 for each mm of thickness: 0.6 to 0.25 g/cm3 (practice).
DENSE, LOOSE = 600.0, 250.0


@dataclass(frozen=True, slots=True)
class Cloth:
    """What the physics needs of a cloth; *weighed* says where its weight comes from."""

    fibre: str
    low_g_m2: float
    high_g_m2: float
    weighed: str


def cloth_of(part: Part, k: Knowledge) -> Cloth | str:
    """Return the cloth of a part, or a sentence that says what is missing."""
    made = [c.material for c in part.materials]
    fibre = next((FIBRES[m] for one in made for m in k.broader(one) if m in FIBRES), None)
    if fibre is None:
        return f"the fibre of the {part.name} has no sorption data here"
    weighed = part.size.weight_per_area
    if weighed is not None:
        return Cloth(fibre, 0.9 * weighed, 1.1 * weighed, "weight as recorded, within a tenth")
    common = _common(made, k)
    if common is None:
        return f"nobody weighed the {part.name}, and its structure says no common weight"
    return Cloth(fibre, *common, "not weighed: what such cloth commonly weighs (practice)")


def _common(made: Iterable[str], k: Knowledge) -> tuple[float, float] | None:
    """Return the span of what such cloth weighs: of the nearest kind for each structure."""
    spans = {
        name: (k.number(one, "lw:least") or 0.0, k.number(one, "lw:most") or 0.0)
        for one in k.instances("lw:ClothWeight")
        for name in k.objects(one, "lw:for")
    }
    found = [
        near
        for material in made
        if (near := next((spans[up] for up in k.broader(material) if up in spans), None))
    ]
    if not found:
        return None
    return min(low for low, _ in found), max(high for _, high in found)


@dataclass(frozen=True, slots=True)
class Pack:
    """A pack on one part; *neighbour* lies behind it, with *beside* for its cloth if it is one.

    *film* is the film between the two: whole, slit round what is sewn through, or "" for none.
    """

    part: Part
    cloth: Cloth
    stations: Stations
    neighbour: Part | None = None
    beside: Cloth | None = None
    film: str = ""

    @property
    def names(self) -> tuple[str, str]:
        """Return the names of the layers: of the treated part and of its neighbour."""
        treated = _layer_name(self.part.name, TAKEN)
        other = self.neighbour.name if self.neighbour else ""
        return treated, _layer_name(other, (*TAKEN, treated))


def _layer_name(name: str, taken: Iterable[str]) -> str:
    """Return the name of a part as that of a layer: short, and not that of another layer.

    >>> _layer_name("web", ["web"]), len(_layer_name("a" * 60, []))
    ('web (part)', 40)
    """
    kept = name if len(name) <= NAME_MOST else f"{name[: NAME_MOST - 1]}…"
    return f"{kept[: NAME_MOST - 7]} (part)" if kept in taken else kept


def _neighbours(pack: Pack) -> list[dict[str, str]]:
    if not pack.neighbour:
        return []
    return [{"layer": pack.names[1], "reads": "fibres" if pack.beside else "air"}]


def stack_of(pack: Pack, *, demo: bool) -> StackRecord:
    """Return a pack as a stack; *demo* marks that of an invented case.

    A neighbour without cloth (metal, sequins, paint) reacts to the air at its surface.
    """
    lying, stations = pack.part.lies_flat is Tri.YES, pack.stations
    measures = {"width_cm": stations.width_cm, "height_cm": stations.height_cm}
    return StackRecord.model_validate(
        {
            "leastwise_stack": 1,
            "title": f"{pack.part.name}, one station"[:200],
            "demo": demo,
            "room_rh_percent": list(ROOM),
            "top": "sealed" if lying else "open",
            "layers": _layers(pack),
            "treat": {"layer": pack.names[0], "target_rh_percent": list(TARGET)},
            "neighbours": _neighbours(pack),
            "patch": {**measures, "slit_mm": 0.5 if lying else _gap(stations)},
            "minutes": MINUTES,
            "samples": SAMPLES,
        }
    )


def _gap(stations: Stations) -> float:
    """Return the slit all round that leaks as much as the gaping upper side of a hung pack."""
    edge = PackEdge(stations.width_cm, stations.height_cm, GAPES_MM)
    return slit_of_open_side_mm(edge, stations.width_cm)


def _film(how: str) -> list[dict[str, Any]]:
    """Return the film before a neighbour; where it is slit, vapour passes the slits too."""
    if not how:
        return []
    layer: dict[str, Any] = {"role": "barrier", "name": "film", "polymer": "LDPE"}
    if how == "slit":
        whole = film_resistance_s_m("LDPE", FILM_UM)
        ends = [
            pierced_sheet_s_m(sheet, share) for sheet in (whole.low, whole.high) for share in SLIT
        ]
        layer |= {"name": SLIT_FILM, "resistance_s_m": [min(ends), max(ends)]}
    return [layer]


def _layers(pack: Pack) -> list[dict[str, Any]]:
    """Return the layers from the damp blotter to the dry interleaf behind the cloth."""
    layers: list[dict[str, Any]] = [
        {"role": "barrier", "name": "polyethylene outside", "polymer": "LDPE"},
        {"role": "blotter", "name": "damp blotter", "water_load_g_m2": list(WATER)},
        {"role": "membrane", "name": "membrane", "membrane": "felt laminate", "face": "felt down"},
        {"role": "tissue", "name": "web"},
        _textile(pack.names[0], pack.part, pack.cloth),
        *_film(pack.film),
    ]
    if pack.neighbour and pack.beside:
        layers.append(_textile(pack.names[1], pack.neighbour, pack.beside))
    elif pack.neighbour:
        layers.append({"role": "tissue", "name": pack.names[1], "part": pack.neighbour.id})
    return [*layers, {"role": "tissue", "name": "dry interleaf"}]


def _textile(name: str, part: Part, cloth: Cloth) -> dict[str, Any]:
    return {
        "role": "textile",
        "name": name,
        "fibre": cloth.fibre,
        "areal_density_g_m2": [cloth.low_g_m2, cloth.high_g_m2],
        "thickness_mm": [cloth.low_g_m2 / DENSE, cloth.high_g_m2 / LOOSE],
        "part": part.id,
    }
