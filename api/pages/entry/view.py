"""What the pages of a case show of each field: its name, its value as text, its choices."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from leastwise.api.pages.entry.check import rows_of
from leastwise.api.pages.entry.fields import MATERIAL, Entry, Options
from leastwise.api.pages.entry.typed import shown
from leastwise.api.pages.entry.words import label_of
from leastwise.graph.knowledge.knowledge import Knowledge

__all__ = ["Line", "Piece", "lines", "part_options", "pieces"]

WORDS = {"unknown": "unknown", "not-applicable": "not applicable"}


@dataclass(frozen=True, slots=True)
class Line:
    """One field on a page. *many* are the values of a field that holds several."""

    name: str
    entry: Entry
    value: str
    state: str = ""
    unit: str = ""
    options: Options = ()
    many: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Piece:
    """One row of a list: a part, a damage, a test, a material."""

    name: str  # such as parts.2
    place: int
    stored: bool
    heading: str
    about: str
    lines: dict[str, Line]
    inner: tuple[Piece, ...] = ()
    wrong: bool = False


def lines(
    prefix: str,
    entries: Sequence[Entry],
    row: Mapping[str, Any],
    knowledge: Knowledge,
    parts: Options = (),
) -> dict[str, Line]:
    """Return the fields of a row by their key."""
    return {e.key: _line(f"{prefix}{e.key}", e, row.get(e.key), knowledge, parts) for e in entries}


def pieces(  # noqa: PLR0913 - what the rows are told by
    key: str,
    entries: Sequence[Entry],
    body: Mapping[str, Any],
    knowledge: Knowledge,
    *,
    parts: Options = (),
    errors: Mapping[str, str] | None = None,
    prefix: str = "",
) -> tuple[Piece, ...]:
    """Return the rows of a list; where there are none, one that is still empty."""
    rows = rows_of(body, key)
    faulty = set(errors or {})
    found = []
    for place, row in enumerate(rows or [{}]):
        name = f"{prefix}{key}.{place}"
        inner = (
            pieces("materials", MATERIAL, row, knowledge, prefix=f"{name}.")
            if key == "parts"
            else ()
        )
        found.append(
            Piece(
                name,
                place,
                place < len(rows),
                _heading(key, row, knowledge),
                _about(key, row, knowledge, dict(parts)),
                lines(f"{name}.", entries, row, knowledge, parts),
                inner,
                any(one.startswith(f"{name}.") for one in faulty),
            )
        )
    return tuple(found)


def part_options(body: Mapping[str, Any]) -> Options:
    """Return the parts of the record as choices: short name, and name."""
    found = []
    for place, row in enumerate(rows_of(body, "parts")):
        key = row.get("id")
        if isinstance(key, str) and key:
            found.append((key, shown(row.get("name")) or f"part {place + 1}"))
    return tuple(found)


def _line(name: str, entry: Entry, value: object, knowledge: Knowledge, parts: Options) -> Line:
    if entry.kind == "extent":
        return _extent(name, entry, value)
    if entry.kind == "texts":
        many = tuple(_said(entry, v, knowledge) for v in value) if isinstance(value, list) else ()
        state = "" if isinstance(value, list) else "unknown"
        return Line(name, entry, "\n".join(many), state, many=many)
    given = shown(value)
    if entry.kind == "number":
        state = given or shown(entry.blank)
        return Line(name, entry, "" if state in WORDS else state, state if state in WORDS else "")
    if entry.kind in ("parts", "part", "choice", "tri"):
        return _choice(name, entry, value, parts)
    return Line(name, entry, "" if given == entry.blank else _said(entry, value, knowledge))


def _choice(name: str, entry: Entry, value: object, parts: Options) -> Line:
    if entry.kind == "parts":
        ticked = tuple(shown(one) for one in value) if isinstance(value, list) else ()
        return Line(name, entry, "", options=_with(parts, *ticked), many=ticked)
    given = shown(value) or shown(entry.blank)
    options = (("", "not yet said"), *parts) if entry.kind == "part" else entry.options
    return Line(name, entry, given, options=_with(options, given))


def _extent(name: str, entry: Entry, value: object) -> Line:
    if isinstance(value, dict):
        unit = shown(value.get("unit"))
        return Line(name, entry, shown(value.get("value")), "", unit, _with(entry.options, unit))
    known = value not in (None, "", "unknown")
    return Line(
        name, entry, shown(value) if known else "", "" if known else "unknown", "cm", entry.options
    )


def _said(entry: Entry, value: object, knowledge: Knowledge) -> str:
    if entry.scheme == "equipment":
        return shown(value).replace("-", " ")
    return label_of(value, knowledge, entry.scheme) if entry.scheme else shown(value)


def _with(options: Options, *given: str) -> Options:
    """Return the choices, and beside them what stands in the record and is none of them."""
    known = {key for key, _ in options}
    strange = tuple((one, f"{one} (not accepted)") for one in given if one and one not in known)
    return (*options, *strange)


def _heading(key: str, row: Mapping[str, Any], knowledge: Knowledge) -> str:
    field = {"parts": "name", "damages": "damage", "tests": "test"}.get(key, "material")
    return label_of(row.get(field), knowledge, "" if field == "name" else field)


def _about(key: str, row: Mapping[str, Any], knowledge: Knowledge, parts: Mapping[str, str]) -> str:
    if key == "parts":
        said = [
            label_of(m.get("material"), knowledge, "material") for m in rows_of(row, "materials")
        ]
        return ", ".join(one for one in said if one)
    if key == "damages":
        named = row.get("parts")
        return (
            ", ".join(parts.get(shown(p), shown(p)) for p in named)
            if isinstance(named, list)
            else ""
        )
    if key == "tests":
        part = shown(row.get("part"))
        return ": ".join(one for one in (parts.get(part, part), shown(row.get("result"))) if one)
    return ""
