"""What the fields of a case record are made of: short names, texts, unknown, yes and no."""

from __future__ import annotations

from enum import StrEnum
from typing import Annotated, Any, Final, Literal

from pydantic import BaseModel, ConfigDict, Field, model_validator

__all__ = [
    "UNKNOWN",
    "Concept",
    "LongText",
    "NotApplicable",
    "Positive",
    "Record",
    "Slug",
    "Text",
    "Tri",
    "Unknown",
    "Words",
    "fold_name",
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
Words = Annotated[str, Field(max_length=200)]
LongText = Annotated[str, Field(max_length=4000)]
Concept = Annotated[
    str, Field(min_length=1, max_length=120, description="a CURIE or a label of the knowledge")
]
UNKNOWN: Final = "unknown"
Unknown = Literal["unknown"]
NotApplicable = Literal["not-applicable"]
Positive = Annotated[float, Field(gt=0, le=1e7)]


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


def fold_name(name: str) -> str:
    """Return a name without the differences that don't matter: case, spaces, hyphens."""
    return " ".join(name.casefold().replace("-", " ").replace("_", " ").split())


class Record(BaseModel):
    """Base of all that a case record holds: frozen, without fields of its own making."""

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
