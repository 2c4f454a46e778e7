"""The fields of object, record, significance, aim and means, as the pages show them."""

from __future__ import annotations

from typing import Final

from leastwise.api.pages.entry.kinds import TRI, UNKNOWN, Entry, Options, figure

__all__ = ["AIM", "MEANS", "OBJECT", "RECORD", "SIGNIFICANCE", "SIZE", "TITLE"]

TITLE = Entry(
    "title", "text", "Title of the case", "As you would speak of it, e.g. Evening gown, split seams"
)
SIZE = Entry(
    "size",
    "group",
    "Size and weight",
    "What hours, amounts and loads are worked out from; what nobody has measured is unknown",
    blank={},
    inner=(
        figure("length_cm", "Length", "cm"),
        figure("width_cm", "Width", "cm"),
        figure("height_cm", "Height", "cm"),
        figure("area_cm2", "Area", "cm²", "If length and width don't give it"),
        figure("layers", "Layers", "", "Layers of cloth one upon another", whole=True),
        figure("count", "Pieces", "", "e.g. of sequins or buttons", whole=True),
        figure("weight_g", "Weight", "g"),
        figure("weight_per_area_g_m2", "Weight per area", "g/m²"),
    ),
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
    Entry(
        "form",
        "choice",
        "Shape",
        "For how it is carried, mounted and housed",
        options=(
            UNKNOWN,
            ("garment", "garment"),
            ("headwear", "headwear"),
            ("footwear", "footwear"),
            ("gloves", "gloves"),
            ("fan", "fan"),
            ("parasol", "parasol"),
            ("bag", "bag"),
            ("jewellery", "jewellery"),
            ("doll", "doll"),
            ("flat", "flat"),
            ("rolled", "rolled"),
            ("folded", "folded"),
            ("three-dimensional", "three-dimensional, other"),
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
    SIZE,
    Entry(
        "girths_cm",
        "pairs",
        "Girths and lengths in cm",
        "Girths and lengths for a figure, measured on the object, one a line: neck 35, "
        "shoulder-width 38, bust 88, waist 62, hip 104, back-length 39, skirt-length 104, hem 380, "
        "upper-arm 34, sleeve-length 58, train 120",
        unit="cm",
        blank={},
        lines=4,
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
PURPOSES: Final[Options] = (
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
)
_BOTH = ("unknown", "not-applicable")
AIM = (
    Entry(
        "purpose",
        "choice",
        "What the object is needed for",
        options=PURPOSES,
    ),
    Entry(
        "also",
        "choices",
        "And besides",
        "The purpose above leads; tick the others",
        options=tuple(one for one in PURPOSES if one[0] not in ("", "unknown")),
        blank=(),
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
    Entry(
        "figure_cm",
        "pairs",
        "Girths of the bare figure in cm",
        "Of the figure at hand, before it is padded, one a line: bust 80",
        unit="cm",
        blank={},
        lines=3,
    ),
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
WEIGHING = (
    Entry(
        "policy",
        "concept",
        "Policy",
        "The policy by which options are put in order; empty: that of the house",
        scheme="policy",
        blank="",
    ),
    Entry(
        "weights",
        "pairs",
        "Weights of this case",
        "Points from 0 to 100 by burden axis, one a line: penetration 30; the rest as the policy",
        blank={},
    ),
    Entry("why", "area", "Why", "e.g. agreed with the curator: nothing may show on the face"),
)
