"""The picture of a case's object for the head of a page: its sketch, with a list of its numbers."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from fastapi import Request
from markupsafe import Markup

from leastwise.api.drawings.object_picture import Mark, object_picture
from leastwise.api.http.state import adviser_of, store_of
from leastwise.api.pages.entry.check import rows_of
from leastwise.api.pages.entry.sketch import named_parts
from leastwise.api.pages.entry.typed import shown
from leastwise.api.pages.entry.words import label_of
from leastwise.api.store import Document
from leastwise.graph.knowledge.knowledge import Knowledge

__all__ = ["Picture", "marks_of", "picture_of"]


@dataclass(frozen=True, slots=True)
class Picture:
    """The drawing, and what its numbers stand for: parts, and damage with where it is."""

    drawing: Markup
    parts: tuple[tuple[int, str], ...]
    damage: tuple[tuple[int, str, str], ...]
    address: str  # of the sketch


def picture_of(request: Request, document: Document) -> Picture | None:
    """Return the picture of a case by its first sketch, None where nothing is drawn yet."""
    store, knowledge = store_of(request), adviser_of(request).knowledge
    sketches = store.of_case(document.id, "sketch")
    if not sketches:
        return None
    body, parts = sketches[0].body, named_parts(document.body)
    ground = str(body.get("ground", ""))
    key = ground.removeprefix("photograph:")
    has_picture = ground.startswith("photograph:") and any(
        one.id == key for one in store.pictures(document.id)
    )
    href = f"/cases/{document.id}/photographs/{key}" if has_picture else None
    marks = marks_of(document.body, knowledge)
    drawn = object_picture(parts, body, href, name="picture", marks=marks)
    if not drawn:
        return None
    names = dict(parts)
    return Picture(
        Markup(drawn),  # noqa: S704 - our own drawing, every text in it escaped
        tuple((i, name) for i, (_, name) in enumerate(parts, 1)),
        tuple((m.number, m.name, ", ".join(names.get(p, p) for p in m.parts)) for m in marks),
        f"/cases/{document.id}/sketch/{sketches[0].id}",
    )


def marks_of(body: Mapping[str, Any], knowledge: Knowledge) -> tuple[Mark, ...]:
    """Return the damages of a draft, which may hold anything, as marks for the picture."""
    found = []
    for i, row in enumerate(rows_of(body, "damages"), 1):
        at, parts = row.get("place"), row.get("parts")
        x, y = (at.get("x"), at.get("y")) if isinstance(at, dict) else (None, None)
        there = isinstance(x, int | float) and isinstance(y, int | float)
        inside = there and 0 <= float(x or 0) <= 1 and 0 <= float(y or 0) <= 1
        name = shown(row.get("other")) or label_of(row.get("damage"), knowledge, "damage")
        on = tuple(shown(p) for p in parts) if isinstance(parts, list) else ()
        place = (float(x or 0), float(y or 0)) if inside else None
        found.append(Mark(i, name or f"damage {i}", on, place))
    return tuple(found)
