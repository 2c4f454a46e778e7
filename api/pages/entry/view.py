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

__all__ = ["Line", "Piece", "damage_options", "lines", "part_options", "pieces"]

WORDS = {"unknown": "unknown", "not-applicable": "not applicable"}


@dataclass(frozen=True, slots=True)
class Line:
    """One field on a page. *many* are the values of a field that holds several, *inner* its own."""

    name: str
    entry: Entry
    value: str
    state: str = ""
    unit: str = ""
    options: Options = ()
    many: tuple[str, ...] = ()
    inner: tuple[Line, ...] = ()

    @property
    def says_something(self) -> bool:
        """Whether anything stands in the field or in one of its own."""
        return bool(self.value or self.many) or any(one.says_something for one in self.inner)


@dataclass(frozen=True, slots=True)
class Piece:
    """One row of a list: a part, a damage, a test, a material."""

    name: str  # such as parts.2
    place: int
    stored: bool
    heading: str
    about: str
    lines: Mapping[str, Line]
    inner: tuple[Piece, ...] = ()
    wrong: bool = False


def lines(
    prefix: str,
    entries: Sequence[Entry],
    row: Mapping[str, Any],
    knowledge: Knowledge,
    there: Mapping[str, Options] | None = None,
) -> dict[str, Line]:
    """Return the fields of a row by their key.

    *there* are the parts and damages of the record to choose from, by the kind of the field.
    """
    choices = there or {}
    return {
        e.key: _line(f"{prefix}{e.key}", e, row.get(e.key), knowledge, choices.get(e.kind, ()))
        for e in entries
    }


def pieces(  # noqa: PLR0913 - what the rows are told by
    key: str,
    entries: Sequence[Entry],
    body: Mapping[str, Any],
    knowledge: Knowledge,
    *,
    parts: Options = (),
    damages: Options = (),
    errors: Mapping[str, str] | None = None,
    prefix: str = "",
) -> tuple[Piece, ...]:
    """Return the rows of a list; where there are none, one that is still empty."""
    rows = rows_of(body, key)
    faulty = set(errors or {})
    there = {"part": parts, "parts": parts, "damage": damages}
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
                lines(f"{name}.", entries, row, knowledge, there),
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


def damage_options(body: Mapping[str, Any], knowledge: Knowledge) -> Options:
    """Return the damages of the record as choices: short name, and what and where it is."""
    names = dict(part_options(body))
    return tuple(
        (shown(row.get("id")), f"{_heading('damages', row, knowledge)}, {on}".strip(", "))
        for row in rows_of(body, "damages")
        if row.get("id")
        for on in (_about("damages", row, knowledge, names),)
    )


def _line(name: str, entry: Entry, value: object, knowledge: Knowledge, parts: Options) -> Line:
    if entry.kind in ("extent", "texts", "group", "pairs"):
        return _several(name, entry, value, knowledge)
    given = shown(value)
    if entry.kind == "number":
        state = given or shown(entry.blank)
        return Line(name, entry, "" if state in WORDS else state, state if state in WORDS else "")
    if entry.kind in ("parts", "part", "damage", "choice", "choices", "tri"):
        return _choice(name, entry, value, parts)
    return Line(name, entry, "" if given == entry.blank else _said(entry, value, knowledge))


def _several(name: str, entry: Entry, value: object, knowledge: Knowledge) -> Line:
    """Return a field that holds several values."""
    if entry.kind == "extent":
        return _extent(name, entry, value)
    if entry.kind == "group":
        own = value if isinstance(value, dict) else {}
        inner = lines(f"{name}.", entry.inner, own, knowledge)
        return Line(name, entry, "", inner=tuple(inner.values()))
    if entry.kind == "pairs":
        return Line(name, entry, _pairs_as_text(value))
    many = tuple(_said(entry, v, knowledge) for v in value) if isinstance(value, list) else ()
    state = "" if isinstance(value, list) else "unknown"
    return Line(name, entry, "\n".join(many), state, many=many)


def _choice(name: str, entry: Entry, value: object, parts: Options) -> Line:
    if entry.kind in ("parts", "choices"):
        ticked = tuple(shown(one) for one in value) if isinstance(value, list) else ()
        there = parts if entry.kind == "parts" else entry.options
        return Line(name, entry, "", options=_with(there, *ticked), many=ticked)
    given = shown(value) or shown(entry.blank)
    none = {"part": "not yet said", "damage": "none"}.get(entry.kind)
    options = (("", none), *parts) if none else entry.options
    return Line(name, entry, given, options=_with(options, given))


def _extent(name: str, entry: Entry, value: object) -> Line:
    if isinstance(value, dict):
        unit = shown(value.get("unit"))
        return Line(name, entry, shown(value.get("value")), "", unit, _with(entry.options, unit))
    known = value not in (None, "", "unknown")
    return Line(
        name, entry, shown(value) if known else "", "" if known else "unknown", "cm", entry.options
    )


def _pairs_as_text(value: object) -> str:
    if not isinstance(value, dict):
        return shown(value)
    return "\n".join(f"{key} {shown(one)}" for key, one in value.items())


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
    field = {"parts": "name", "materials": "material"}.get(key, key.removesuffix("s"))
    named = label_of(row.get(field), knowledge, "" if field == "name" else field)
    return named if named and not named.endswith("of another kind") else _other(row) or named


def _other(row: Mapping[str, Any]) -> str:
    """Return what a row without a name of the knowledge is called in words."""
    return shown(row.get("other"))


def _about(key: str, row: Mapping[str, Any], knowledge: Knowledge, parts: Mapping[str, str]) -> str:
    if key == "parts":
        said = [
            label_of(m.get("material"), knowledge, "material") for m in rows_of(row, "materials")
        ]
        return ", ".join(one for one in said if one)
    if key in ("damages", "needs"):
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
