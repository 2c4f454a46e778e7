"""The fields of parts, materials and contacts, as the pages show them."""

from __future__ import annotations

from typing import Final

from leastwise.api.pages.entry.kinds import TRI, UNKNOWN, Entry, Options
from leastwise.api.pages.entry.object_fields import SIZE

__all__ = ["CONTACT", "MATERIAL", "PART"]

MATERIAL = (
    Entry(
        "material",
        "concept",
        "Material",
        "Fibre, dye, finish, component or structure, e.g. silk, tulle, gelatin sequins",
        scheme="material",
    ),
    Entry(
        "identified",
        "choice",
        "Identified",
        options=(
            UNKNOWN,
            ("presumed", "presumed by looks"),
            ("certain", "certain"),
        ),
        blank="unknown",
    ),
    Entry("look", "text", "Look, e.g. red"),
    Entry("where", "text", "Where", "Where on the part, e.g. the border"),
    Entry(
        "choice",
        "text",
        "One of several",
        "The same mark, e.g. A, for those of which it is one; each stays unknown",
    ),
    Entry(
        "share",
        "number",
        "How likely",
        "Of one of several: 0 to 1",
        blank="unknown",
        states=("unknown",),
    ),
    Entry("note", "text", "Note"),
)
STATED: Final[Options] = (
    ("not-examined", "as named above, or not examined"),
    ("named", "as named above"),
    ("none", "none, as has been looked at"),
)
PART = (
    Entry("name", "text", "Name of the part", "e.g. top tier of the overskirt"),
    Entry("fibre", "choice", "Fibre", options=STATED, blank="not-examined"),
    Entry("colour", "choice", "Colour", "None if undyed", options=STATED, blank="not-examined"),
    Entry("finish", "choice", "Finish", options=STATED, blank="not-examined"),
    Entry("structure", "choice", "Structure", options=STATED, blank="not-examined"),
    Entry("components", "choice", "Components", options=STATED, blank="not-examined"),
    SIZE,
    Entry("lies_flat", "tri", "Can it be laid flat without strain?", options=TRI, blank="unknown"),
    Entry("reverse_reachable", "tri", "Can its back be reached?", options=TRI, blank="unknown"),
    Entry(
        "bears_handling",
        "tri",
        "Does it bear handling?",
        "Shown by a handling trial, not by looks",
        options=TRI,
        blank="unknown",
    ),
    Entry(
        "bears_needle",
        "tri",
        "Does it bear a needle?",
        "Shown by a needle trial, not by looks",
        options=TRI,
        blank="unknown",
    ),
    Entry(
        "sound_surroundings",
        "tri",
        "Is there sound cloth beside the damage?",
        options=TRI,
        blank="unknown",
    ),
    Entry("note", "area", "Note", lines=2),
    Entry(
        "id",
        "id",
        "Short name in the record",
        "Made from the name; damage, tests and contacts refer to it. Lower-case letters, digits "
        "and hyphens.",
    ),
)
CONTACT = (
    Entry("kind", "choice", "How they touch"),
    Entry("barrier", "choice", "Barrier between them", blank="unknown"),
    Entry("parting", "choice", "Taking them apart", blank="unknown"),
    Entry("colour", "text", "Colour that touches", "By its look, e.g. red of the border"),
    Entry("note", "text", "Note"),
    Entry("between", "parts", "Which parts"),
)
