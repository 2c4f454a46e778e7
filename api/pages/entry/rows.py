"""Rows of a form: added, moved and removed; their short names, and who refers to them."""

from __future__ import annotations

import re
from collections.abc import Mapping
from copy import deepcopy
from typing import Any

from starlette.datastructures import FormData

from leastwise.api.pages.entry.check import rows_of
from leastwise.api.pages.entry.typed import move_row, new_id, shown
from leastwise.api.pages.entry.words import label_of
from leastwise.graph.case.reading import UNIDENTIFIED
from leastwise.graph.knowledge.knowledge import Knowledge

__all__ = ["change_rows", "follow_ids", "keep_word", "name_rows"]

Body = dict[str, Any]
_PLACE = re.compile(r"(parts|damages|needs|tests)(\.(\d{1,5})(\.(materials)(\.(\d{1,3}))?)?)?")
#: The first field of a row, where one goes on after adding it.
_FIRST = {
    "parts": "name",
    "damages": "damage",
    "needs": "need",
    "tests": "test",
    "materials": "material",
}


def change_rows(section: Body, form: FormData, given: Mapping[str, Any]) -> str:
    """Add, move, remove or drop what a button of the form asks for; return the field to look at.

    The value of ``add`` is a list (``parts``, ``parts.2.materials``), that of ``remove``, ``up``
    and ``down`` a row (``parts.2``). Nothing asked for gives the empty text.
    """
    for way in ("add", "remove", "up", "down"):
        value = form.get(way)
        match = _PLACE.fullmatch(value) if isinstance(value, str) else None
        if match is None or match[1] not in section:
            continue
        rows = section[match[1]]
        written = given.get(match[1])
        name, place = match[1], match[3]
        if match[5]:
            if int(match[3]) >= len(rows):
                return ""
            row = rows[int(match[3])]
            written = _inner(written, int(match[3]))
            rows = row.setdefault("materials", [])
            name, place = f"{match[1]}.{match[3]}.materials", match[7]
        if way == "add":
            # the empty row that the page showed becomes one, so that two are seen from now on
            rows += [{} for _ in (written if isinstance(written, list) and not rows else ())]
            rows.append({})
            return f"{name}.{len(rows) - 1}.{_FIRST[name.rpartition('.')[2]]}"
        if place is not None:
            at = move_row(rows, int(place), way)
            return f"{name}.{at}.{_FIRST[name.rpartition('.')[2]]}"
    return ""


def keep_word(section: Body, form: FormData) -> str:
    """Turn a material that has no entry into *unidentified*, its word kept in the note.

    The button ``unidentified`` names the row (``parts.2.materials.0``). Return the field to look
    at, or the empty text if nothing was asked for.
    """
    value = form.get("unidentified")
    match = _PLACE.fullmatch(value) if isinstance(value, str) else None
    if match is None or match[7] is None or match[1] not in section:
        return ""
    rows, place, inner = section[match[1]], int(match[3]), int(match[7])
    materials = rows[place].get("materials", []) if place < len(rows) else []
    if inner >= len(materials):
        return ""
    row = materials[inner]
    word, note = shown(row.get("material")), shown(row.get("note"))
    row |= {"material": UNIDENTIFIED, "identified": "unknown"}
    row["note"] = f"{word}; {note}" if word and note else word or note
    return f"{value}.note"


def name_rows(section: Body, key: str, knowledge: Knowledge, body: Mapping[str, Any]) -> None:
    """Give rows that say something, and have no short name yet, one made from what they say."""
    taken = {row["id"] for row in section[key] if isinstance(row.get("id"), str)}
    for row in section[key]:
        if row.get("id"):
            continue
        if key == "parts":
            wanted = shown(row.get("name"))
        else:
            named = row.get("parts")
            part = shown(named[0]) if isinstance(named, list) and named else ""
            field = key.removesuffix("s")
            kind = label_of(row.get(field), knowledge, field) or shown(row.get("other"))
            part = "" if key == "needs" else part
            wanted = f"{kind} {part}" if kind else ""
        if wanted.strip():
            row["id"] = new_id(wanted, taken, key.removesuffix("s"))


def follow_ids(base: Mapping[str, Any], section: Body, form: FormData) -> Body:
    """Return the further lists that refer to a part whose short name was changed in this form."""
    before = rows_of(base, "parts")
    renamed: dict[str, str] = {}
    for name, value in form.multi_items():
        match = re.fullmatch(r"parts\.(\d+)\._row", name)
        if not match or not isinstance(value, str) or not value.isdigit():
            continue
        old = before[int(value)].get("id") if int(value) < len(before) else None
        new = form.get(f"parts.{match[1]}.id")
        if isinstance(old, str) and isinstance(new, str) and new.strip() and old != new.strip():
            renamed[old] = new.strip()
    if not renamed:
        return {}
    lists = ("contacts", "damages", "needs", "tests", "packs")
    further = {key: deepcopy(base[key]) for key in lists if key in base}
    changed = {key: _renamed(rows, renamed) for key, rows in further.items()}
    return {key: rows for key, rows in changed.items() if rows != base[key]}


def _renamed(value: Any, renamed: Mapping[str, str]) -> Any:
    if isinstance(value, list):
        return [_renamed(one, renamed) for one in value]
    if not isinstance(value, dict):
        return value
    found: Body = {}
    for key, one in value.items():
        if key == "part" and isinstance(one, str):
            found[key] = renamed.get(one, one)
        elif key in ("parts", "between") and isinstance(one, list):
            found[key] = [renamed.get(p, p) if isinstance(p, str) else p for p in one]
        else:
            found[key] = _renamed(one, renamed)
    return found


def _inner(rows: object, place: int) -> object:
    if isinstance(rows, list) and place < len(rows) and isinstance(rows[place], dict):
        return rows[place].get("materials")
    return None
