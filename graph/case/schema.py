"""The JSON Schema of a case record as it is written, with a title and a description of each field.

Descriptions that the models give stand there; what would only repeat a type beside it stands here.
"""

from __future__ import annotations

from typing import Any, Final

from leastwise.graph.case.record import Case

__all__ = ["case_schema", "described"]

NOTE: Final = "anything else worth saying"
#: Model -> field -> what it is.
WORDS: Final[dict[str, dict[str, str]]] = {
    "Case": {
        "title": "as you would speak of the case, e.g. Evening gown, split seams",
        "object": "what the object is",
        "record": "who recorded the case, when and why",
        "parts": "regions or layers that are made alike and can be treated alike",
        "contacts": "how parts touch, two at a time",
        "damages": "what harm was found, and where",
        "needs": "what the object needs for its aim besides; most follow from the record",
        "tests": "what was tested, and what it showed",
        "significance": "why the object matters",
        "aim": "what the object is needed for",
        "means": "hours, skill and equipment at hand",
        "weighing": "how options are put in order, if not by the policy of the house",
    },
    "Aim": {
        "mounting": "how it will be held while it serves its aim",
        "degrees_from_vertical": "slope: 0 hangs, 90 lies flat; not-applicable on a figure",
        "months": "for how long",
        "lux": "illuminance on the object",
        "hours_per_day": "hours a day in that light",
        "days_per_year": "days a year in that light",
        "rh_controlled": "is the relative humidity held there?",
        "note": NOTE,
    },
    "Constituent": {
        "identified": "certain: tested or beyond doubt; presumed: by looks",
        "note": "how it was identified, or anything else worth saying",
    },
    "Contact": {
        "between": "the ids of the two parts; for some kinds the order matters",
        "note": NOTE,
    },
    "DamageFound": {
        "parts": "the ids of the parts it is on",
        "extent": "how much, with its unit",
        "severity": "how bad it is where it is",
        "activity": "active: getting worse",
        "note": NOTE,
    },
    "Extent": {"value": "how much", "unit": "cm2, cm, count (pieces or places) or percent"},
    "Means": {
        "hours": "for this object, all together",
        "skill": "who will do it",
        "equipment": "pieces of equipment by name, e.g. suction table",
    },
    "NeedFound": {"note": NOTE},
    "ObjectRecord": {
        "name": "what it is called, e.g. two-piece evening gown",
        "kind": "what kind of object it is",
        "made": "when and where made, as it stands in the file",
        "made_from": "the earliest year it can be of",
        "made_to": "the latest year it can be of",
        "identifier": "inventory or loan number",
        "keeper": "who holds it",
        "past_treatment": "earlier treatment and alteration",
    },
    "Part": {
        "name": "what the part is called, e.g. top tier of the overskirt",
        "size": "how large and heavy the part is",
        "note": NOTE,
    },
    "PlaceOn": {"x": "share of the width, from the left", "y": "share of the height, from the top"},
    "Reading": {
        "value": "what was read",
        "unit": "its unit, e.g. pH, ppm, lux",
        "plus_minus": "its uncertainty, in the same unit",
    },
    "RecordOf": {
        "purpose": "why the record is made",
        "recorder": "who made it",
        "date": "when, as YYYY-MM-DD",
    },
    "Significance": {
        "statement": "why the object matters",
        "keep": "what must not be lost, one thing an entry",
    },
    "Size": {
        "length_cm": "along the warp or the longest way",
        "width_cm": "across",
        "height_cm": "of what stands up",
        "area_cm2": "of cloth, if length and width don't give it",
        "weight_g": "weighed or estimated",
        "weight_per_area_g_m2": "of the cloth",
    },
    "TestDone": {
        "reading": "a measured value with its unit",
        "laboratory": "who analysed it, if others did",
        "date": "when, as YYYY-MM-DD",
        "by": "who made the test",
    },
}  # fmt: skip


def case_schema() -> dict[str, Any]:
    """Return the JSON Schema (2020-12) of a case record as it is written."""
    schema = described(Case.model_json_schema())
    return {"$schema": "https://json-schema.org/draft/2020-12/schema", **schema}


def described(schema: dict[str, Any]) -> dict[str, Any]:
    """Return the schema of a case with title and description for each field, in place."""
    for name, model in (("Case", schema), *schema.get("$defs", {}).items()):
        for field, words in WORDS.get(name, {}).items():
            model["properties"][field].setdefault("description", words)
        for field, about in model.get("properties", {}).items():
            about.setdefault("title", field.replace("_", " ").capitalize())
    return schema
