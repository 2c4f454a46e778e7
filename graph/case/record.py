"""The case record: one object, its parts, how they touch, its damage, needs, tests, aim and means.

Every field that a conservator may not know accepts ``unknown`` and means it: nothing defaults to
harmless. The models are frozen; read a record with :mod:`leastwise.graph.case.reading`.
"""

from __future__ import annotations

from typing import Annotated, Any, Literal

from pydantic import ConfigDict, Field

from leastwise.graph.case.found import (
    DamageFound,
    Extent,
    NeedFound,
    PlaceOn,
    Reading,
    TestDone,
)
from leastwise.graph.case.packs import PackRecord
from leastwise.graph.case.parts import HEADINGS, Constituent, Contact, Heading, Part, Size
from leastwise.graph.case.values import (
    UNKNOWN,
    Concept,
    Day,
    LongText,
    NotApplicable,
    Positive,
    Record,
    Slug,
    Text,
    Tri,
    Unknown,
)

__all__ = [
    "FORM",
    "HEADINGS",
    "UNKNOWN",
    "Aim",
    "Case",
    "Concept",
    "Constituent",
    "Contact",
    "DamageFound",
    "Extent",
    "Heading",
    "LongText",
    "Means",
    "NeedFound",
    "ObjectRecord",
    "Part",
    "PlaceOn",
    "Purpose",
    "Reading",
    "RecordOf",
    "Significance",
    "Size",
    "Slug",
    "TestDone",
    "Text",
    "Tri",
    "Unknown",
    "Weighing",
]

FORM = 2  # of the record, as written today
Year = Annotated[int, Field(ge=-5000, le=2100)]
Purpose = Literal[
    "study",
    "display",
    "loan",
    "storage",
    "transport",
    "wearing",
    "handling-and-teaching",
    "ending-an-infestation",
    "making-safe",
    "unknown",
]


class Significance(Record):
    """Why the object matters and what must not be lost."""

    statement: LongText = ""
    keep: list[Text] = Field(default_factory=list, max_length=50)
    curator_agrees: Tri = Field(
        Tri.UNKNOWN, description="has the curator agreed that damage may be reduced?"
    )


def _purposes_written(schema: dict[str, Any]) -> None:
    """Show the list of purposes as it is written; the first leads."""
    fields = schema["properties"]
    fields["purposes"] = {
        "type": "array",
        "minItems": 1,
        "items": {"enum": fields["purpose"]["enum"]},
        "title": "Purposes",
        "description": "instead of purpose and also: all purposes, the leading one first",
    }
    schema["required"] = [name for name in schema.get("required", []) if name != "purpose"]
    schema["anyOf"] = [{"required": ["purpose"]}, {"required": ["purposes"]}]


class Aim(Record):
    """What the object is needed for."""

    model_config = ConfigDict(json_schema_extra=_purposes_written)

    purpose: Purpose = Field(description="the purpose that leads")
    also: list[Purpose] = Field(default_factory=list, max_length=8, description="further purposes")
    mounting: Literal[
        "on-figure", "flat", "slanted", "hung", "pressure-mounted", "boxed", "unknown"
    ] = "unknown"
    degrees_from_vertical: Annotated[float, Field(ge=0, le=90)] | Unknown | NotApplicable = UNKNOWN
    months: Annotated[float, Field(gt=0, le=1200)] | Unknown | NotApplicable = UNKNOWN
    lux: Annotated[float, Field(ge=0, le=100000)] | Unknown | NotApplicable = UNKNOWN
    hours_per_day: Annotated[float, Field(ge=0, le=24)] | Unknown | NotApplicable = UNKNOWN
    days_per_year: Annotated[float, Field(ge=0, le=366)] | Unknown | NotApplicable = UNKNOWN
    rh_controlled: Tri = Tri.UNKNOWN
    travels: Tri = Field(Tri.UNKNOWN, description="will the object be carried to another place?")
    figure_cm: dict[Slug, Positive] = Field(
        default_factory=dict,
        max_length=30,
        description="girths of the bare figure at hand, named as those of the garment, e.g. bust",
    )
    note: LongText = ""

    @property
    def purposes(self) -> tuple[str, ...]:
        """All purposes, the leading one first."""
        return (self.purpose, *self.also)


class Means(Record):
    """The hours, skill and equipment at hand."""

    hours: Annotated[float, Field(ge=0, le=100000)] | Unknown = UNKNOWN
    skill: Literal["assistant", "conservator", "specialist", "unknown"] = "unknown"
    equipment: list[Text] | Unknown = UNKNOWN


class Weighing(Record):
    """How the options of this case are put in order, where it isn't as the house does it."""

    policy: Concept | Literal[""] = ""
    weights: dict[Slug, Annotated[int, Field(ge=0, le=100)]] = Field(
        default_factory=dict,
        max_length=30,
        description="points by burden axis; an axis that isn't named keeps the policy's",
    )
    why: LongText = ""


class ObjectRecord(Record):
    """What the object is and how it is told from others."""

    name: Text
    kind: Literal["costume", "flat-textile", "furnishing", "accessory", "other", "unknown"] = (
        "unknown"
    )
    form: Literal[
        "garment",
        "headwear",
        "footwear",
        "gloves",
        "fan",
        "parasol",
        "bag",
        "jewellery",
        "doll",
        "flat",
        "rolled",
        "folded",
        "three-dimensional",
        "unknown",
    ] = Field("unknown", description="its shape, for how it is carried, mounted and housed")
    made: Annotated[str, Field(max_length=200)] = UNKNOWN
    made_from: Year | Unknown = UNKNOWN
    made_to: Year | Unknown = UNKNOWN
    identifier: Annotated[str, Field(max_length=200)] = UNKNOWN
    keeper: Annotated[str, Field(max_length=200)] = UNKNOWN
    past_treatment: LongText = UNKNOWN
    size: Size = Field(Size(), description="of the whole object")
    girths_cm: dict[Slug, Positive] = Field(
        default_factory=dict,
        max_length=30,
        description="for a figure: girths and lengths measured on the object, e.g. neck, "
        "shoulder-width, bust, waist, hip, back-length, skirt-length, hem",
    )


class RecordOf(Record):
    """Who recorded the case, when and why."""

    purpose: Annotated[str, Field(max_length=400)] = UNKNOWN
    recorder: Annotated[str, Field(max_length=200)] = UNKNOWN
    date: Day | Unknown = UNKNOWN


class Case(Record):
    """One object that waits for a decision."""

    leastwise_case: Literal[2] = Field(description="version of this format; 1 is read too")
    id: Slug
    title: Text
    demo: bool = Field(default=False, description="true for an invented case")
    object: ObjectRecord
    record: RecordOf = RecordOf()
    parts: list[Part] = Field(min_length=1, max_length=2000)
    contacts: list[Contact] = Field(default_factory=list, max_length=20000)
    damages: list[DamageFound] = Field(default_factory=list, max_length=500)
    needs: list[NeedFound] = Field(default_factory=list, max_length=500)
    tests: list[TestDone] = Field(default_factory=list, max_length=5000)
    significance: Significance = Significance()
    aim: Aim
    packs: list[PackRecord] = Field(
        default_factory=list,
        max_length=20,
        description="packs as they would be laid, so that doses on neighbours can be computed",
    )
    means: Means = Means()
    weighing: Weighing = Weighing()

    def damage_on(self, part: str) -> frozenset[str]:
        """Return the kinds of damage found on a part."""
        return frozenset(found.damage for found in self.damages if part in found.parts)
