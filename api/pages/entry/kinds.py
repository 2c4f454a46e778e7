"""What a field of the record is on a page: label, hint in the trade's words, kind of entry."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

__all__ = ["TRI", "UNKNOWN", "Entry", "Options", "figure"]

Options = tuple[tuple[str, str], ...]

TRI: Final[Options] = (
    ("yes", "yes"),
    ("no", "no"),
    ("unknown", "unknown"),
    ("not-applicable", "not applicable"),
)
UNKNOWN: Final = ("unknown", "unknown")


@dataclass(frozen=True, slots=True)
class Entry:
    """One field of the record.

    *kind* is one of text, area, id, choice, choices, tri, number, date, extent, texts, parts, part,
    damage, pairs (a figure for each of several names), group (fields of their own, in *inner*), and
    concept for a name of the knowledge (*scheme* says which). *blank* is what the field means when
    nothing is written in it. *states* are the words besides a number.
    """

    key: str
    kind: str
    label: str
    hint: str = ""
    options: Options = ()
    scheme: str = ""
    unit: str = ""
    blank: object = ""
    states: tuple[str, ...] = ()
    whole: bool = False
    lines: int = 3
    inner: tuple[Entry, ...] = ()


def figure(key: str, label: str, unit: str = "", hint: str = "", *, whole: bool = False) -> Entry:
    """Return a field for a figure that may be unknown."""
    return Entry(
        key, "number", label, hint, unit=unit, blank="unknown", states=("unknown",), whole=whole
    )
