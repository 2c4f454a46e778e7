"""What the fields of a case record are made of: short names, texts, unknown, yes and no."""

from __future__ import annotations

import re
from datetime import date
from enum import StrEnum
from typing import Annotated, Any, ClassVar, Final, Literal

from pydantic import BaseModel, BeforeValidator, ConfigDict, Field, model_validator

__all__ = [
    "UNKNOWN",
    "Concept",
    "Day",
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


def _a_day(value: object) -> object:
    """Let a day pass that is written as one; a bare number would be read as seconds since 1970."""
    is_day = isinstance(value, date) or (isinstance(value, str) and _DAY.fullmatch(value.strip()))
    if not is_day:
        raise ValueError("a date (YYYY-MM-DD)")
    return value


def _a_number(value: object) -> object:
    is_truth = isinstance(value, bool)
    if is_truth:
        raise ValueError("a number")
    return value


_NUMBER: Final = re.compile(r"\b(int|float)\b")
_DAY: Final = re.compile(r"\d{4}-\d{2}-\d{2}(T00:00:00)?")
Day = Annotated[date, BeforeValidator(_a_day)]
Positive = Annotated[float, BeforeValidator(_a_number), Field(gt=0, le=1e7)]


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
    #: The fields that can be unknown, and those that are numbers, as the class declares them.
    _may_be_unknown: ClassVar[frozenset[str]] = frozenset()
    _numeric: ClassVar[frozenset[str]] = frozenset()

    @classmethod
    def __pydantic_init_subclass__(cls, **kwargs: Any) -> None:
        """Look up once for each class what every record of it is asked."""
        super().__pydantic_init_subclass__(**kwargs)
        declared = cls.model_fields.items()
        cls._may_be_unknown = frozenset(n for n, one in declared if one.default == UNKNOWN)
        cls._numeric = frozenset(n for n, one in declared if _NUMBER.search(str(one.annotation)))

    @model_validator(mode="before")
    @classmethod
    def _unknown_is_unknown(cls, data: Any) -> Any:
        """Read empty text and "Unknown" in any case as unknown, where a field can be unknown."""
        if not isinstance(data, dict):
            return data
        return {name: cls._as_meant(name, value) for name, value in data.items()}

    @classmethod
    def _as_meant(cls, name: str, value: object) -> object:
        if isinstance(value, bool) and name in cls._numeric:
            return str(value).lower()  # a word, and never the number 1
        return UNKNOWN if name in cls._may_be_unknown and _says_unknown(value) else value


def _says_unknown(value: object) -> bool:
    return value is None or (isinstance(value, str) and value.strip().casefold() in ("", UNKNOWN))
