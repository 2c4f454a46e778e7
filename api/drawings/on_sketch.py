"""Stations of a humidification on the recorded sketch: which region when, and what lies by."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from leastwise.api.drawings.regions import region_drawing
from leastwise.graph.stations.sheet import HumidificationSheet, SectionSheet

__all__ = ["WHERE", "section_on_sketch", "stations_on_sketch"]

#: What stands below the drawing of all sections.
WHERE = "Where: the numbers are the order of work; dotted, what lies beside."


def stations_on_sketch(
    sheet: HumidificationSheet,
    sketch: Mapping[str, object],
    picture_href: str | None = None,
) -> str:
    """Return the sketch with the treated regions, numbered in the order of work, as SVG.

    "" where no treated part has a region on it.
    """
    regions = _drawn(sketch)
    numbered = [
        (part, f"{one.number}. {name}")
        for one in sheet.sections
        for part, name in zip(one.parts, one.names, strict=True)
    ]
    if not any(part in regions for part, _ in numbered):
        return ""
    title = "Stations on the sketch, in order of work"
    beside = [row for one in sheet.sections for row in _beside(one)]
    parts = list(dict.fromkeys([*numbered, *(r for r in beside if r[0] not in dict(numbered))]))
    return region_drawing(
        parts, sketch, picture_href, name="stations-sketch", title=title,
        lit={part: one.number for one in sheet.sections for part in one.parts},
    )  # fmt: skip


def section_on_sketch(
    one: SectionSheet, sketch: Mapping[str, object], picture_href: str | None = None
) -> str:
    """Return the sketch with the regions of one section lit, its neighbours by it; or ""."""
    regions = _drawn(sketch)
    treated = list(zip(one.parts, one.names, strict=True))
    if not any(part in regions for part in one.parts):
        return ""
    return region_drawing(
        [*treated, *_beside(one)], sketch, picture_href, name=f"section-{one.number}-sketch",
        title=f"Section {one.number} on the sketch", lit=dict.fromkeys(one.parts, one.number),
    )  # fmt: skip


def _beside(one: SectionSheet) -> Sequence[tuple[str, str]]:
    return [(near.part, f"beside: {near.name}") for near in one.neighbours]


def _drawn(sketch: Mapping[str, object]) -> frozenset[str]:
    """Return the parts that have a region on the sketch."""
    given = sketch.get("regions")
    rows = given.items() if isinstance(given, Mapping) else []
    return frozenset(str(part) for part, points in rows if points)
