"""The case record: one object, its parts, how they touch, its damage, tests, aim and means.

Every field that a conservator may not know accepts ``unknown`` and means it: nothing defaults to
harmless. The models are frozen; read a record with :mod:`leastwise.graph.case.reading`.
"""

from __future__ import annotations

from datetime import date as Day  # noqa: N812 - the field is called date
from enum import StrEnum
from typing import Annotated, Any, Final, Literal, Self

from pydantic import BaseModel, ConfigDict, Field, model_validator

from leastwise.graph.case.packs import PackRecord

__all__ = [
    "Aim",
    "Case",
    "Constituent",
    "Contact",
    "DamageFound",
    "Means",
    "ObjectRecord",
    "Part",
    "RecordOf",
    "Significance",
    "TestDone",
    "Tri",
]

Slug = Annotated[
    str,
    Field(
        pattern=r"^[a-z0-9][a-z0-9-]{0,63}$",
        description="lower-case letters, digits and hyphens, at most 64",
        examples=["top-tier"],
    ),
]
Text = Annotated[str, Field(min_length=1, max_length=200)]
LongText = Annotated[str, Field(max_length=4000)]
Concept = Annotated[
    str, Field(min_length=1, max_length=120, description="a CURIE or a label of the knowledge")
]
UNKNOWN: Final = "unknown"
WHOLE: Final = 100  # percent
Unknown = Literal["unknown"]
NotApplicable = Literal["not-applicable"]


class Tri(StrEnum):
    """Yes, no, unknown or not applicable; never a bool."""

    YES = "yes"
    NO = "no"
    UNKNOWN = "unknown"
    NOT_APPLICABLE = "not-applicable"

    @classmethod
    def _missing_(cls, value: object) -> Tri | None:
        """Read what is meant: true and false, and the words in any case."""
        if isinstance(value, bool):
            return cls.YES if value else cls.NO
        said = value.strip().casefold().replace(" ", "-") if isinstance(value, str) else None
        return next((one for one in cls if one.value == said), None)


class _Record(BaseModel):
    model_config = ConfigDict(frozen=True, extra="forbid", use_enum_values=False)

    @model_validator(mode="before")
    @classmethod
    def _unknown_is_unknown(cls, data: Any) -> Any:
        """Read empty text and "Unknown" in any case as unknown, where a field can be unknown."""
        if not isinstance(data, dict):
            return data
        return {
            name: UNKNOWN if name in cls.model_fields and cls._means_unknown(name, value) else value
            for name, value in data.items()
        }

    @classmethod
    def _means_unknown(cls, name: str, value: object) -> bool:
        if cls.model_fields[name].default != UNKNOWN:
            return False
        return value is None or (
            isinstance(value, str) and value.strip().casefold() in ("", UNKNOWN)
        )


class Constituent(_Record):
    """A material, finish, component or structure as it occurs in a part."""

    material: Concept
    identified: Literal["certain", "presumed", "unknown"] = "unknown"
    note: LongText = ""


class Part(_Record):
    """A region or layer that is made alike and can be treated alike."""

    id: Slug
    name: Text
    materials: list[Constituent] = Field(
        min_length=1, max_length=40, description="fibres, dyes, finishes, components, structures"
    )
    lies_flat: Tri = Field(Tri.UNKNOWN, description="can the part be laid flat without strain?")
    reverse_reachable: Tri = Field(Tri.UNKNOWN, description="can its back be reached?")
    bears_handling: Tri = Field(Tri.UNKNOWN, description="shown by a handling trial, not by looks")
    bears_needle: Tri = Field(Tri.UNKNOWN, description="shown by a needle trial, not by looks")
    sound_surroundings: Tri = Field(
        Tri.UNKNOWN, description="is there sound cloth beside the damage?"
    )
    note: LongText = ""


class Contact(_Record):
    """Two parts that touch. The order matters for *lies-on*, *layered-under* and *hangs-from*."""

    between: tuple[Slug, Slug]
    kind: Literal[
        "sewn-through",
        "stitched",
        "glued",
        "lies-on",
        "layered-under",
        "hangs-from",
        "fastened",
        "touches",
        "apart",
        "unknown",
    ]
    barrier: Literal["in-place", "possible", "impossible", "unknown"] = Field(
        "unknown", description="a sheet between the two that stops moisture and solvent"
    )
    parting: Literal["done", "possible", "impossible", "unknown"] = Field(
        "unknown", description="taking the two apart without harm"
    )
    note: LongText = ""


class Extent(_Record):
    """How much is damaged, with its unit."""

    value: Annotated[float, Field(gt=0, le=1e7)]
    unit: Literal["cm2", "cm", "count", "percent"]

    @model_validator(mode="after")
    def _at_most_all(self) -> Self:
        if self.unit == "percent" and self.value > WHOLE:
            raise ValueError("at most 100 percent of the part")
        return self


class DamageFound(_Record):
    """Damage of one kind on one or more parts."""

    id: Slug
    damage: Concept
    parts: list[Slug] = Field(min_length=1, max_length=500)
    extent: Extent | Unknown = UNKNOWN
    severity: Literal["slight", "moderate", "severe", "unknown"] = "unknown"
    activity: Literal["active", "stable", "unknown"] = "unknown"
    evidence: Tri = Field(
        Tri.UNKNOWN, description="is the damage evidence of use or making that must be kept?"
    )
    note: LongText = ""


class TestDone(_Record):
    """A test that was made on a part; it holds for that part, material and agent only."""

    __test__ = False  # not a pytest class

    test: Concept
    part: Slug
    material: Concept | None = Field(None, description="leave out if the whole part was tested")
    agent: Concept | None = Field(
        None, description="needed where the test can show several agents, one at a time"
    )
    result: Literal["good", "bad", "inconclusive"]
    date: Day | Unknown = UNKNOWN
    by: Annotated[str, Field(max_length=200)] = ""
    note: LongText = Field("", description="agent, concentration, temperature and time used")


class Significance(_Record):
    """Why the object matters and what must not be lost."""

    statement: LongText = ""
    keep: list[Text] = Field(default_factory=list, max_length=50)
    curator_agrees: Tri = Field(
        Tri.UNKNOWN, description="has the curator agreed that damage may be reduced?"
    )


class Aim(_Record):
    """What the object is needed for."""

    purpose: Literal["study", "display", "loan", "storage", "transport"]
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
    note: LongText = ""


class Means(_Record):
    """The hours, skill and equipment at hand."""

    hours: Annotated[float, Field(ge=0, le=100000)] | Unknown = UNKNOWN
    skill: Literal["assistant", "conservator", "specialist", "unknown"] = "unknown"
    equipment: list[Text] | Unknown = UNKNOWN


class ObjectRecord(_Record):
    """What the object is and how it is told from others."""

    name: Text
    kind: Literal["costume", "flat-textile", "furnishing", "accessory", "other", "unknown"] = (
        "unknown"
    )
    made: Annotated[str, Field(max_length=200)] = UNKNOWN
    made_from: Annotated[int, Field(ge=-5000, le=2100)] | Unknown = UNKNOWN
    made_to: Annotated[int, Field(ge=-5000, le=2100)] | Unknown = UNKNOWN
    identifier: Annotated[str, Field(max_length=200)] = UNKNOWN
    keeper: Annotated[str, Field(max_length=200)] = UNKNOWN
    past_treatment: LongText = UNKNOWN


class RecordOf(_Record):
    """Who recorded the case, when and why."""

    purpose: Annotated[str, Field(max_length=400)] = UNKNOWN
    recorder: Annotated[str, Field(max_length=200)] = UNKNOWN
    date: Day | Unknown = UNKNOWN


class Case(_Record):
    """One object that waits for a decision."""

    leastwise_case: Literal[1] = Field(description="version of this format")
    id: Slug
    title: Text
    demo: bool = Field(default=False, description="true for an invented case")
    object: ObjectRecord
    record: RecordOf = RecordOf()
    parts: list[Part] = Field(min_length=1, max_length=2000)
    contacts: list[Contact] = Field(default_factory=list, max_length=20000)
    damages: list[DamageFound] = Field(default_factory=list, max_length=500)
    tests: list[TestDone] = Field(default_factory=list, max_length=5000)
    significance: Significance = Significance()
    aim: Aim
    packs: list[PackRecord] = Field(
        default_factory=list,
        max_length=20,
        description="packs as they would be laid, so that doses on neighbours can be computed",
    )
    means: Means = Means()
