"""The layers of a set-up for the bench: a pack as recorded, or read from the set-up's own words.

Many techniques say their set-up as *From below: board, blotter, textile, ...*. That sentence is
taken apart here; nothing is added to it. The order of layers counts, not their thickness.
"""

from __future__ import annotations

import re
from collections.abc import Iterable
from dataclasses import dataclass

from leastwise.graph.case.packs import Amount, LayerRecord, StackRecord
from leastwise.graph.knowledge.concepts import Technique

__all__ = ["Layers", "SheetLayer", "layers_of_pack", "layers_of_set_up", "sentences_of"]


@dataclass(frozen=True, slots=True)
class SheetLayer:
    """One layer; *role* says how it is drawn, *note* holds its figures.

    *treated* marks the object's own layer that the work is for, *guarded* one to be kept dry.
    """

    role: str
    name: str
    note: str = ""
    treated: bool = False
    guarded: bool = False


@dataclass(frozen=True, slots=True)
class Layers:
    """Layers from the first that is laid to the last, with what stands at both ends."""

    layers: tuple[SheetLayer, ...]
    first: str  # below, inside, the wall, ...
    basis: str  # where the order comes from, in words


#: Words of what a layer is -> role; the first that fits counts, so the special come first.
WORDS: tuple[tuple[str, str], ...] = (
    ("stitch", r"stitch|thread|couching"),
    ("source", r"damp blotter|blotter damp|\bgel\b"),
    ("blotter", r"blotter"),
    ("membrane", r"membrane"),
    ("textile", r"^(textile|object|garment|hanging|train|damage|split edges|silk|skirt resting)"),
    ("weight", r"weight|glass|plates|acrylic sheet|spatula|clip|strips|frame$|nozzle"),
    ("barrier", r"polyethylene|polyester film|release film|film against|masking film|^film$"),
    ("tissue", r"\bweb\b|tissue|^barrier|interleaf|interlayer|sheer|crepeline|\bnet\b|liner|film"),
    ("cloth", r"cloth|patch|backing|lining|skirt|petticoat"),
    (
        "support",
        r"board|support|plinth|batten|bracket|\brod|form$|^tube|hanger|metal face|box|screen",
    ),
    ("padding", r"padd|batting|felt|polyester|soft|foam|cover|muslin|cotton|knit|sleeve|tape|bag"),
)
#: Where the name of a layer ends and the words about it begin.
ABOUT = re.compile(
    r" (?:with|in|of|at|a|that|than|laid|lying|cut|built|without|over|until|for|on|given|round|"
    r"tied|basted|bonded|hand-sewn|machine-sewn|smaller|where|out|chosen|flat|off|as|into)\b"
)
#: Set-ups whose words hold the order, but not as one sentence that begins with *From*.
SAID_OTHERWISE: dict[str, tuple[str, ...]] = {
    "technique:damp-blotter": (
        "dry blotter behind the cloth", "textile", "damp blotter with its edge torn thin",
    ),
    "technique:rigid-gel": (
        "textile", "gel cut to the shape of the place", "film against drying out",
    ),
    "technique:passive-weights": (
        "textile with its yarns eased straight", "polyester film or smooth tissue",
        "small padded plates",
    ),
    "technique:suction-table": (
        "screen of the suction table", "blotter", "textile in a single layer",
        "masking film all round",
    ),
    "technique:screened-vacuum": ("textile", "framed net or screen", "nozzle with net, 20 mm off"),
    "technique:hand-realignment": ("padded board that touches everywhere", "textile"),
    "technique:polyamide-hot-melt": ("support", "powder or film", "textile", "release film"),
}  # fmt: skip
FROM = re.compile(r"^From (?:the )?([a-z]+)(?: out| upward| outwards?)?: (.*)$")
FIRST = {"below": "below", "inside": "inside", "back": "back of the object"}


def sentences_of(text: str) -> list[str]:
    """Return the sentences of a text.

    >>> sentences_of("From below: a tube of 7.5 cm, cloth. Keep it dry.")
    ['From below: a tube of 7.5 cm, cloth.', 'Keep it dry.']
    """
    return [one for one in re.split(r"(?<=\.)\s+(?=[A-Z])", text.strip()) if one]


def role_of(words: str) -> str:
    """Return how a layer is drawn, by the words that name it.

    >>> role_of("damp blotter"), role_of("patch with its weave along that of the object")
    ('source', 'cloth')
    >>> role_of("object flat on its board"), role_of("lowest heat")
    ('textile', 'other')
    """
    if "threads" in words:
        return "stitch"
    head = ABOUT.split(words.strip())[0] if "membrane" not in words else "membrane"
    return next((role for role, pattern in WORDS if re.search(pattern, head)), "other")


def layers_of_set_up(technique: Technique, parts: Iterable[str]) -> Layers | None:
    """Return the layers that a technique's set-up names, or None where it names none.

    *parts* are the names of the parts worked on; they stand beside the object's own layer.
    """
    named = SAID_OTHERWISE.get(technique.id)
    first, items = "below", list(named or ())
    for sentence in sentences_of(technique.set_up):
        found = FROM.match(sentence.rstrip("."))
        if found and not named:
            first, items = found[1], [one.strip() for one in found[2].split(", ")]
            if first == "object":
                items.insert(0, "object")
            break
    if not items:
        return None
    whose = ", ".join(parts)
    layers: list[SheetLayer] = []
    for item in items:
        role = role_of(item)
        is_object = role == "textile" and not any(layer.treated for layer in layers)
        layers.append(SheetLayer(role, item, whose if is_object else "", treated=is_object))
    basis = "Order as the set-up of the technique says it (common practice); not to scale."
    return Layers(tuple(layers), FIRST.get(first, first), basis)


def layers_of_pack(stack: StackRecord) -> Layers:
    """Return the layers of a pack as it is recorded, with the figures of each."""
    guarded = {one.layer for one in stack.neighbours}
    layers = [
        SheetLayer(
            _role(one),
            one.called,
            _figures(one),
            treated=one.called == stack.treat.layer,
            guarded=one.called in guarded,
        )
        for one in stack.layers
    ]
    if stack.top == "sealed" and stack.layers[-1].role != "cover":
        layers.append(SheetLayer("barrier", "cover", "sealed over 1 mm of air"))
    return Layers(tuple(layers), "below", "Layers as the planned pack is recorded; not to scale.")


def _role(one: LayerRecord) -> str:
    if one.role == "blotter":
        return "source" if one.water_load_g_m2 else "blotter"
    return {"cover": "barrier", "air gap": "air"}.get(one.role, one.role)


def _figures(one: LayerRecord) -> str:
    """Return the figures of a layer, with units."""
    said: list[str] = [
        one.fibre or "",
        one.polymer or "",
        one.face or "" if one.face != "plain" else "",
    ]
    if one.areal_density_g_m2:
        said.append(f"{_span(one.areal_density_g_m2)} g/m²")
    if one.thickness_mm:
        said.append(f"{_span(one.thickness_mm)} mm")
    if one.thickness_um:
        said.append(f"{one.thickness_um:g} µm")
    if one.water_load_g_m2:
        said.append(f"+ {_span(one.water_load_g_m2)} g/m² water")
    return ", ".join(words for words in said if words)


def _span(amount: Amount) -> str:
    low, high = (f"{end:.3g}" for end in (amount.low, amount.high))
    return f"{low} to {high}" if amount.is_range else low
