"""What was found on an object: its damage, what it needs besides, and the tests that were made."""

from __future__ import annotations

from collections.abc import Callable
from typing import Annotated, Final, Literal, Self

from pydantic import Field, model_validator

from leastwise.graph.case.values import (
    UNKNOWN,
    Concept,
    Day,
    LongText,
    Record,
    Slug,
    Text,
    Tri,
    Unknown,
    Words,
)

__all__ = ["DamageFound", "Deposit", "Extent", "NeedFound", "PlaceOn", "Reading", "TestDone"]

WHOLE: Final = 100  # percent
#: What lies on the surface or in the cloth, where the damage is a deposit, stain or residue.
Deposit = Literal[
    "dust",
    "soot",
    "salt",
    "rust",
    "metal-corrosion",
    "sweat",
    "dye",
    "grease",
    "oil",
    "wax",
    "tar",
    "fat",
    "food",
    "blood",
    "protein",
    "starch",
    "animal-glue",
    "gelatin",
    "rubber",
    "tape",
    "acrylic",
    "cellulose-nitrate",
    "synthetic-glue",
    "resin",
    "shellac",
    "polish",
    "ink",
    "paint",
    "lacquer",
    "unknown",
]
#: What the effect of an agent says of harm, where nobody has said more.
VERDICT_OF: Final = {"works": "good", "harms": "bad", "inconclusive": "inconclusive"}


class Extent(Record):
    """How much is damaged, with its unit."""

    value: Annotated[float, Field(gt=0, le=1e7)]
    unit: Literal["cm2", "cm", "count", "percent"]

    @model_validator(mode="after")
    def _at_most_all(self) -> Self:
        if self.unit == "percent" and self.value > WHOLE:
            raise ValueError("at most 100 percent of the part")
        return self


class PlaceOn(Record):
    """A place on the sketch, as shares of its width from the left and its height from the top."""

    x: Annotated[float, Field(ge=0, le=1)]
    y: Annotated[float, Field(ge=0, le=1)]


class DamageFound(Record):
    """Damage of one kind on one or more parts."""

    id: Slug
    damage: Concept
    other: Words = Field("", description="none of the names fits: in your words")
    parts: list[Slug] = Field(min_length=1, max_length=500)
    where: Words = Field("", description="where on its part, e.g. under both arms")
    place: PlaceOn | None = Field(None, description="where on the sketch")
    colour: Words = Field("", description="the colour that it is in, by its look or name")
    deposit: Deposit = Field(
        "unknown", description="what a deposit, stain or residue is of, if anybody has told"
    )
    extent: Extent | Unknown = UNKNOWN
    severity: Literal["slight", "moderate", "severe", "unknown"] = "unknown"
    activity: Literal["active", "stable", "unknown"] = "unknown"
    shows_on_display: Literal["no", "partly", "yes", "unknown"] = Field(
        "unknown", description="how far it is seen when the object is shown"
    )
    evidence: Tri = Field(
        Tri.UNKNOWN, description="is the damage evidence of use or making that must be kept?"
    )
    note: LongText = ""

    def in_words(self, label: Callable[[str], str]) -> str:
        """Return what it is called: in the words of the record where no name fits."""
        return self.other or label(self.damage)


class NeedFound(Record):
    """What the object needs for its aim, whether or not it is damaged."""

    id: Slug
    need: Concept
    other: Words = Field("", description="none of the names fits: in your words")
    parts: list[Slug] = Field(
        default_factory=list, max_length=500, description="leave out if the whole object needs it"
    )
    derived: bool = Field(
        False, description="follows from the record; left out when the record is written"
    )
    note: LongText = ""


class Reading(Record):
    """A measured value with its unit."""

    value: Annotated[float, Field(ge=-1e9, le=1e9)]
    unit: Text
    plus_minus: Annotated[float, Field(ge=0, le=1e9)] | Unknown = UNKNOWN


class TestDone(Record):
    """A test that was made on a part; it holds for that part, material, colour and agent only.

    It says what was found in one way or several: a *result* (did the object stand it?), what
    something was *identified* as, a *reading*, or the *effect* that an agent had.
    """

    __test__ = False  # not a pytest class

    test: Concept
    other: Words = Field("", description="none of the names fits: in your words")
    part: Slug
    material: Concept | None = Field(None, description="leave out if the whole part was tested")
    colour: Words = Field("", description="the colour tested, by its look or name")
    damage: Slug | None = Field(
        None, description="the id of the damage that the agent was tried on, if it was tried on one"
    )
    agent: Concept | None = Field(
        None, description="needed where the test can show several agents, one at a time"
    )
    result: Literal["good", "bad", "inconclusive", "not-judged"] = Field(
        "not-judged",
        description="good: nothing happened that must not happen; follows from the effect",
    )
    identified: Concept | None = Field(None, description="what the test showed it to be")
    reading: Reading | None = None
    effect: Literal["works", "nothing", "harms", "inconclusive"] | None = Field(
        None, description="what the agent did; nothing is no proof that it does no harm"
    )
    laboratory: Words = ""
    date: Day | Unknown = UNKNOWN
    by: Words = ""
    file: Words = Field("", description="the name of a file with the report, spectrum or picture")
    note: LongText = Field("", description="agent, concentration, temperature and time used")

    @model_validator(mode="before")
    @classmethod
    def _verdict_of_effect(cls, data: object) -> object:
        if not isinstance(data, dict) or data.get("result") not in (None, "", "not-judged"):
            return data
        effect = data.get("effect")
        verdict = VERDICT_OF.get(effect, "not-judged") if isinstance(effect, str) else "not-judged"
        found = {"identified", "reading", "effect"}
        says = any(data.get(key) not in (None, "") for key in found)
        return data | {"result": verdict} if says else data

    @model_validator(mode="after")
    def _agrees_with_itself(self) -> Self:
        harmed = {("works", "bad"), ("harms", "good")}
        if (self.effect, self.result) in harmed:
            raise ValueError(f"an effect that fits the result; {self.effect} is not {self.result}")
        return self
