"""Parts of an object: what they are made of, how large they are, how they touch.

A part answers five questions: fibre, colour, finish, structure and components. Each is *none*,
*not-examined* or *named*; what is named stands in ``materials``, one entry a thing. The written
form puts the entries under their headings (:mod:`leastwise.graph.case.written`).
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import Annotated, Any, Final, Literal

from pydantic import Field, WithJsonSchema

from leastwise.graph.case.values import (
    UNKNOWN,
    Concept,
    LongText,
    Positive,
    Record,
    Slug,
    Text,
    Tri,
    Unknown,
    Words,
    fold_name,
)

__all__ = ["HEADINGS", "Constituent", "Contact", "Heading", "Part", "Size"]

Heading = Literal["fibre", "colour", "finish", "structure", "components"]
HEADINGS: Final[tuple[Heading, ...]] = ("fibre", "colour", "finish", "structure", "components")
Share = Annotated[float, Field(gt=0, le=1)]
CM2_IN_M2 = 10_000.0
Count = Annotated[int, Field(gt=0, le=10_000_000)]

_ENTRY: Final[dict[str, Any]] = {
    "type": "object",
    "title": "Named",
    "properties": {
        "is": {"type": "string", "description": "a name of the knowledge, or unknown"},
        "one_of": {
            "type": "array",
            "minItems": 2,
            "description": "what it may be, where nobody has told which",
            "items": {
                "anyOf": [
                    {"type": "string"},
                    {
                        "type": "object",
                        "properties": {
                            "is": {"type": "string"},
                            "share": {"type": "number", "exclusiveMinimum": 0, "maximum": 1},
                        },
                        "required": ["is"],
                        "additionalProperties": False,
                    },
                ]
            },
        },
        "other": {"type": "string", "description": "none of the names fits: in your words"},
        "identified": {"enum": ["certain", "presumed", "unknown"]},
        "look": {"type": "string", "description": "how one tells it from others, e.g. red"},
        "where": {"type": "string", "description": "where on the part, e.g. the border"},
        "note": {"type": "string"},
    },
    "additionalProperties": False,
}


def _statement(title: str, description: str) -> WithJsonSchema:
    """Return the schema of a heading as it is written: a word, a name, or a list of entries."""
    return WithJsonSchema(
        {
            "title": title,
            "description": description,
            "default": "not-examined",
            "anyOf": [
                {"enum": ["none", "not-examined", "named"]},
                {"type": "string", "description": "a name of the knowledge"},
                _ENTRY,
                {"type": "array", "items": {"anyOf": [{"type": "string"}, _ENTRY]}},
            ],
        }
    )


Statement = Literal["none", "not-examined", "named"]
FibreStated = Annotated[Statement, _statement("Fibre", "what the threads or sheets are made of")]
ColourStated = Annotated[
    Statement, _statement("Colour", "each dye or pigment, by name or by its look; none if undyed")
]
FinishStated = Annotated[Statement, _statement("Finish", "size, glaze, coating, weighting")]
StructureStated = Annotated[Statement, _statement("Structure", "weave, knit, pile, embroidery")]
ComponentsStated = Annotated[
    Statement, _statement("Components", "beads, metal thread, hooks, boning, what is not cloth")
]


class Constituent(Record):
    """A fibre, colour, finish, structure or component as it occurs in a part."""

    material: Concept
    heading: Heading | Unknown = Field(
        UNKNOWN, description="the question it answers; follows from what it is"
    )
    identified: Literal["certain", "presumed", "unknown"] = "unknown"
    look: Words = Field("", description="how one tells it from others of the part, e.g. red")
    where: Words = Field("", description="where on the part, e.g. the border")
    other: Words = Field("", description="none of the names fits: in your words")
    choice: Words = Field(
        "", description="entries of the same choice are alternatives: nobody has told which it is"
    )
    share: Share | Unknown = Field(UNKNOWN, description="of an alternative: how likely, 0 to 1")
    implied: bool = Field(
        False, description="added by the reading for what nobody has named; left out when written"
    )
    note: LongText = ""

    @property
    def colour_names(self) -> frozenset[str]:
        """What a colour goes by, folded: its look, where it is, what it is; empty if it is none."""
        if self.heading != "colour":
            return frozenset()
        both = [f"{self.look} of {the}{self.where}" for the in ("", "the ")]
        names = [self.look, *(both if self.look and self.where else ()), self.material]
        names.append(self.material.partition(":")[2])
        return frozenset(fold_name(name) for name in names if name)

    def is_meant_by(self, colour: str) -> bool:
        """Return whether a test, damage or contact in that colour speaks of this; "" is any."""
        return not colour or fold_name(colour) in self.colour_names


class Size(Record):
    """How large and heavy something is; what is not measured is unknown."""

    length_cm: Positive | Unknown = UNKNOWN
    width_cm: Positive | Unknown = UNKNOWN
    height_cm: Positive | Unknown = UNKNOWN
    area_cm2: Positive | Unknown = UNKNOWN
    layers: Count | Unknown = Field(UNKNOWN, description="layers of cloth one upon another")
    count: Count | Unknown = Field(UNKNOWN, description="pieces, e.g. of sequins or buttons")
    weight_g: Positive | Unknown = UNKNOWN
    weight_per_area_g_m2: Positive | Unknown = UNKNOWN

    @property
    def area(self) -> float:
        """The area in cm2, as recorded or of its sides; 0 if neither is recorded."""
        if not isinstance(self.area_cm2, str):
            return float(self.area_cm2)
        if isinstance(self.length_cm, str) or isinstance(self.width_cm, str):
            return 0.0
        return float(self.length_cm) * float(self.width_cm)

    @property
    def weight_per_area(self) -> float | None:
        """The weight in g/m2, as recorded or from weight and area; None if neither is recorded."""
        if not isinstance(self.weight_per_area_g_m2, str):
            return float(self.weight_per_area_g_m2)
        if isinstance(self.weight_g, str) or not self.area:
            return None
        return float(self.weight_g) / self.area * CM2_IN_M2


class Part(Record):
    """A region or layer that is made alike and can be treated alike."""

    id: Slug
    name: Text
    fibre: FibreStated = "not-examined"
    colour: ColourStated = "not-examined"
    finish: FinishStated = "not-examined"
    structure: StructureStated = "not-examined"
    components: ComponentsStated = "not-examined"
    materials: list[Constituent] = Field(
        default_factory=list,
        max_length=120,
        description="fibres, dyes, finishes, components, structures, each of which falls under "
        "the heading that it answers",
    )
    size: Size = Size()
    lies_flat: Tri = Field(Tri.UNKNOWN, description="can the part be laid flat without strain?")
    reverse_reachable: Tri = Field(Tri.UNKNOWN, description="can its back be reached?")
    bears_handling: Tri = Field(Tri.UNKNOWN, description="shown by a handling trial, not by looks")
    bears_needle: Tri = Field(Tri.UNKNOWN, description="shown by a needle trial, not by looks")
    sound_surroundings: Tri = Field(
        Tri.UNKNOWN, description="is there sound cloth beside the damage?"
    )
    note: LongText = ""

    @property
    def named(self) -> tuple[Constituent, ...]:
        """What somebody has named, without what the reading has added as unknown."""
        return tuple(one for one in self.materials if not one.implied)

    def under(self, heading: Heading) -> Iterator[Constituent]:
        """Yield what is named under a heading."""
        return (one for one in self.named if one.heading == heading)


class Contact(Record):
    """Two parts that touch; for kinds such as *lies-on* or *painted-on* the order matters."""

    between: tuple[Slug, Slug]
    kind: Annotated[
        str,
        Field(
            min_length=1,
            max_length=120,
            description="how they touch: a contact kind of the knowledge, or unknown",
            examples=["stitched", "lies-on", "one-cloth", "painted-on", "unknown"],
        ),
    ]
    barrier: Literal["in-place", "possible", "impossible", "unknown"] = Field(
        "unknown", description="a sheet between the two that stops moisture and solvent"
    )
    parting: Literal["done", "possible", "impossible", "unknown"] = Field(
        "unknown", description="taking the two apart without harm"
    )
    colour: Words = Field("", description="the colour of one of them that touches the other")
    note: LongText = ""
