"""The fields of a case record as the pages show them: label, hint in the trade's words, kind.

One table for the forms, for what is told of a change, and for what is still missing.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

__all__ = [
    "AIM",
    "CONTACT",
    "DAMAGE",
    "GROUPS",
    "MATERIAL",
    "MEANS",
    "OBJECT",
    "PART",
    "RECORD",
    "ROWS",
    "SIGNIFICANCE",
    "TEST",
    "TITLE",
    "Entry",
    "Options",
]

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

    *kind* is one of text, area, id, choice, tri, number, date, extent, texts, parts, part, and
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


TITLE = Entry(
    "title", "text", "Title of the case", "As you would speak of it, e.g. Evening gown, split seams"
)
OBJECT = (
    Entry("name", "text", "Object", "e.g. two-piece evening gown"),
    Entry(
        "kind",
        "choice",
        "Kind of object",
        options=(
            UNKNOWN,
            ("costume", "costume"),
            ("flat-textile", "flat textile"),
            ("furnishing", "furnishing textile"),
            ("accessory", "accessory"),
            ("other", "other"),
        ),
        blank="unknown",
    ),
    Entry("made", "text", "Made", "As it stands in the file, e.g. about 1925", blank="unknown"),
    Entry(
        "made_from",
        "number",
        "Made in or after",
        "A year, e.g. 1920",
        blank="unknown",
        states=("unknown",),
        whole=True,
    ),
    Entry(
        "made_to",
        "number",
        "Made in or before",
        "A year, e.g. 1930",
        blank="unknown",
        states=("unknown",),
        whole=True,
    ),
    Entry("identifier", "text", "Number", "Inventory or loan number", blank="unknown"),
    Entry("keeper", "text", "Keeper", "Who holds the object", blank="unknown"),
    Entry(
        "past_treatment",
        "area",
        "Earlier treatment and alteration",
        "e.g. hem let down once; net support of unknown date, glued",
        blank="unknown",
    ),
)
RECORD = (
    Entry(
        "purpose", "text", "Why this record is made", "e.g. options before display", blank="unknown"
    ),
    Entry(
        "recorder", "text", "Recorded by", "Name as it shall stand in the report", blank="unknown"
    ),
    Entry("date", "date", "Recorded on", "YYYY-MM-DD", blank="unknown"),
)
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
DAMAGE = (
    Entry(
        "damage",
        "concept",
        "Damage",
        "e.g. crease, split, loose thread, tide line",
        scheme="damage",
    ),
    Entry("parts", "parts", "On which parts"),
    Entry(
        "extent",
        "extent",
        "Extent",
        "How much, e.g. 12 cm of crease, 30 cm2 of soiling, 4 holes",
        options=(
            ("cm", "cm"),
            ("cm2", "cm²"),
            ("count", "pieces or places"),
            ("percent", "% of the part"),
        ),
        blank="unknown",
        states=("unknown",),
    ),
    Entry(
        "severity",
        "choice",
        "How severe",
        options=(UNKNOWN, ("slight", "slight"), ("moderate", "moderate"), ("severe", "severe")),
        blank="unknown",
    ),
    Entry(
        "activity",
        "choice",
        "Is it going on?",
        options=(UNKNOWN, ("active", "active: getting worse"), ("stable", "stable")),
        blank="unknown",
    ),
    Entry(
        "evidence",
        "tri",
        "Is it evidence of use or making that must be kept?",
        options=TRI,
        blank="unknown",
    ),
    Entry("note", "area", "Note", "e.g. along the fold of the box", lines=2),
    Entry("id", "id", "Short name in the record", "Made from damage and part."),
)
TEST = (
    Entry(
        "test",
        "concept",
        "Test",
        "e.g. colourfastness to water, drop test, handling trial",
        scheme="test",
    ),
    Entry("part", "part", "On which part"),
    Entry(
        "material",
        "concept",
        "Material tested",
        "Leave empty if the whole part was tested",
        scheme="material",
        blank=None,
    ),
    Entry(
        "agent",
        "concept",
        "Agent tried",
        "Where a test can show several, one at a time, e.g. liquid water, ethanol",
        scheme="agent",
        blank=None,
    ),
    Entry(
        "result",
        "choice",
        "Result",
        "Good: nothing happened that must not happen",
        options=(
            ("", "not yet said"),
            ("good", "good"),
            ("bad", "bad"),
            ("inconclusive", "inconclusive"),
            ("not-judged", "identified or measured something; says nothing of harm"),
        ),
    ),
    Entry("date", "date", "Tested on", "YYYY-MM-DD", blank="unknown"),
    Entry("by", "text", "Tested by"),
    Entry(
        "note",
        "area",
        "What was used, and what was seen",
        "Agent, concentration, temperature and time",
        lines=2,
    ),
)
CONTACT = (
    Entry("kind", "choice", "How they touch"),
    Entry("barrier", "choice", "Barrier between them", blank="unknown"),
    Entry("parting", "choice", "Taking them apart", blank="unknown"),
    Entry("note", "text", "Note"),
    Entry("between", "parts", "Which parts"),
)
SIGNIFICANCE = (
    Entry(
        "statement",
        "area",
        "Why the object matters",
        "e.g. worn at the harvest dance of 1926; the only complete costume of the group",
        lines=4,
    ),
    Entry(
        "keep",
        "texts",
        "What must not be lost",
        "One thing a line, e.g. the let-down hem, the wine stain on the left cuff",
        blank=(),
    ),
    Entry(
        "curator_agrees",
        "tri",
        "Has the curator agreed that damage may be reduced?",
        options=TRI,
        blank="unknown",
    ),
)
_BOTH = ("unknown", "not-applicable")
AIM = (
    Entry(
        "purpose",
        "choice",
        "What the object is needed for",
        options=(
            ("", "not yet said"),
            ("study", "study"),
            ("display", "display"),
            ("loan", "loan"),
            ("storage", "storage"),
            ("transport", "transport"),
            ("wearing", "wearing"),
            ("handling-and-teaching", "handling and teaching"),
            ("ending-an-infestation", "ending an infestation"),
            ("making-safe", "making safe for people"),
            ("unknown", "not known yet"),
        ),
    ),
    Entry(
        "mounting",
        "choice",
        "How it will be held",
        options=(
            UNKNOWN,
            ("on-figure", "on a figure"),
            ("flat", "flat"),
            ("slanted", "slanted"),
            ("hung", "hung"),
            ("pressure-mounted", "pressure-mounted"),
            ("boxed", "boxed"),
        ),
        blank="unknown",
    ),
    Entry(
        "degrees_from_vertical",
        "number",
        "Slope",
        "Degrees from the vertical: 0 hangs, 90 lies flat",
        unit="°",
        blank="unknown",
        states=_BOTH,
    ),
    Entry(
        "months", "number", "For how long", "e.g. 6", unit="months", blank="unknown", states=_BOTH
    ),
    Entry(
        "lux", "number", "Light on the object", "e.g. 50", unit="lux", blank="unknown", states=_BOTH
    ),
    Entry(
        "hours_per_day",
        "number",
        "Lit a day",
        "e.g. 8",
        unit="hours",
        blank="unknown",
        states=_BOTH,
    ),
    Entry(
        "days_per_year",
        "number",
        "Lit a year",
        "e.g. 300",
        unit="days",
        blank="unknown",
        states=_BOTH,
    ),
    Entry(
        "rh_controlled",
        "tri",
        "Is the relative humidity controlled there?",
        options=TRI,
        blank="unknown",
    ),
    Entry("travels", "tri", "Will it be carried to another place?", options=TRI, blank="unknown"),
    Entry("note", "area", "Note", "e.g. opens on 1 March; case without its own air", lines=2),
)
MEANS = (
    Entry(
        "hours",
        "number",
        "Hours at hand",
        "For this object, all together, e.g. 20",
        unit="hours",
        blank="unknown",
        states=("unknown",),
    ),
    Entry(
        "skill",
        "choice",
        "Who will do it",
        options=(
            UNKNOWN,
            ("assistant", "assistant under guidance"),
            ("conservator", "conservator"),
            ("specialist", "specialist for the technique"),
        ),
        blank="unknown",
    ),
    Entry(
        "equipment",
        "texts",
        "Equipment at hand",
        "One piece a line, e.g. suction table, heated spatula",
        scheme="equipment",
        blank="unknown",
        states=("unknown",),
    ),
)

#: Top-level mappings and lists of the record: key -> (name in words, fields).
GROUPS: Final[dict[str, tuple[str, tuple[Entry, ...]]]] = {
    "object": ("object", OBJECT),
    "record": ("record", RECORD),
    "significance": ("significance", SIGNIFICANCE),
    "aim": ("aim", AIM),
    "means": ("means", MEANS),
}
ROWS: Final[dict[str, tuple[str, tuple[Entry, ...]]]] = {
    "parts": ("part", PART),
    "materials": ("material", MATERIAL),
    "contacts": ("contact", CONTACT),
    "damages": ("damage", DAMAGE),
    "tests": ("test", TEST),
    "packs": ("pack", ()),
}
