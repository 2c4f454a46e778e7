"""The fields of a case record as the pages show them: one table for all that is told of a field.

For the forms, for what is told of a change, and for what is still missing.
"""

from __future__ import annotations

from typing import Final

from leastwise.api.pages.entry.found_fields import DAMAGE, NEED, TEST
from leastwise.api.pages.entry.kinds import Entry, Options
from leastwise.api.pages.entry.object_fields import (
    AIM,
    MEANS,
    OBJECT,
    RECORD,
    SIGNIFICANCE,
    TITLE,
    WEIGHING,
)
from leastwise.api.pages.entry.part_fields import CONTACT, MATERIAL, PART

__all__ = [
    "AIM",
    "CONTACT",
    "DAMAGE",
    "GROUPS",
    "MATERIAL",
    "MEANS",
    "NEED",
    "OBJECT",
    "PART",
    "RECORD",
    "ROWS",
    "SIGNIFICANCE",
    "TEST",
    "TITLE",
    "WEIGHING",
    "Entry",
    "Options",
]

#: Top-level mappings and lists of the record: key -> (name in words, fields).
GROUPS: Final[dict[str, tuple[str, tuple[Entry, ...]]]] = {
    "object": ("object", OBJECT),
    "record": ("record", RECORD),
    "significance": ("significance", SIGNIFICANCE),
    "aim": ("aim", AIM),
    "means": ("means", MEANS),
    "weighing": ("weighing", WEIGHING),
}
ROWS: Final[dict[str, tuple[str, tuple[Entry, ...]]]] = {
    "parts": ("part", PART),
    "materials": ("material", MATERIAL),
    "contacts": ("contact", CONTACT),
    "damages": ("damage", DAMAGE),
    "needs": ("need", NEED),
    "tests": ("test", TEST),
    "packs": ("pack", ()),
}
