"""From what was typed to the values of a draft, and back to what a field shows.

A number that can be read becomes one, *unknown* and *not applicable* stay words, and what can't be
read is kept as typed. What a form doesn't know of a row stays in it, and a field that is as empty
as before stays as it was, so that saving without a change changes nothing.
"""

from __future__ import annotations

import json
import re
from collections.abc import Callable, Mapping, Sequence
from copy import deepcopy
from typing import Any

from leastwise.api.pages.entry.check import names_of, rows_of
from leastwise.api.pages.entry.fields import MATERIAL, Entry
from leastwise.api.pages.entry.find import SCHEMES_OF, names_in
from leastwise.graph.case.reading import fold_name
from leastwise.graph.knowledge.knowledge import Knowledge

__all__ = ["Reader", "move_row", "new_id", "number_of", "shown", "slug"]

Row = dict[str, Any]
_NUMBER = re.compile(r"[+-]?(\d{1,12}|\d{0,12}\.\d{1,9}|\d{1,12},\d{1,2})")


class Reader:
    """Reads typed fields with the knowledge at hand."""

    def __init__(self, knowledge: Knowledge) -> None:
        self.knowledge = knowledge

    def row(
        self, entries: Sequence[Entry], given: Mapping[str, Any], old: Mapping[str, Any]
    ) -> Row:
        """Return *old* with the fields that the form held laid over it."""
        found: Row = dict(deepcopy(dict(old)))
        for entry in entries:
            if entry.key not in given and f"{entry.key}_is" not in given:
                continue
            before = old.get(entry.key)
            value = self._value(entry, given, before)
            if _is_blank(value, entry):
                if entry.key in found and not _is_blank(before, entry):
                    found[entry.key] = [] if entry.blank == () else entry.blank
            elif not _same(value, before):  # 50 and 50.0 are the same figure, typed and stored
                found[entry.key] = value
        return found

    def rows(self, entries: Sequence[Entry], given: object, old: object) -> list[Row]:
        """Return the rows of a form, each laid over the row of the draft that it came from.

        The row that a page shows in an empty list is no row until something stands in it.
        """
        before = rows_of({"rows": old}, "rows")
        read: list[Row] = []
        new = 0
        for one in given if isinstance(given, list) else []:
            if not isinstance(one, dict):
                continue
            place = str(one.get("_row", ""))
            came_from = before[int(place)] if _is_place(place, before) else {}
            new += not place
            row = self.row(entries, one, came_from)
            if came_from.get("id") and not row.get("id"):
                row["id"] = came_from["id"]  # others refer to it
            if "materials" in one:
                row["materials"] = self.rows(MATERIAL, one["materials"], came_from.get("materials"))
            read.append(row)
        return [] if new == len(read) and not any(map(_says_something, read)) else read

    def resolved(self, name: object, scheme: str) -> str | None:
        """Return the CURIE that a name stands for."""
        if not isinstance(name, str) or not name.strip() or scheme == "equipment":
            return None
        return names_of(self.knowledge, scheme).get(fold_name(name))

    def _value(self, entry: Entry, given: Mapping[str, Any], before: object) -> object:
        typed = given.get(entry.key)
        read: dict[str, Callable[[], object]] = {
            "number": lambda: _number(entry, typed, given.get(f"{entry.key}_is"), before),
            "extent": lambda: _extent(typed, given.get(f"{entry.key}_is"), before),
            "texts": lambda: self._texts(entry, typed, given.get(f"{entry.key}_is"), before),
            "parts": lambda: typed if isinstance(typed, list) else [],
            "choices": lambda: typed if isinstance(typed, list) else [],
            "concept": lambda: self._concept(entry, typed, before),
            "group": lambda: self._group(entry, typed, before),
            "pairs": lambda: _pairs(typed, before),
        }
        if entry.kind in read:
            return read[entry.kind]()
        said = typed if isinstance(typed, str) else ""
        return said if entry.kind == "area" else said.strip()

    def _group(self, entry: Entry, typed: object, before: object) -> object:
        old = before if isinstance(before, dict) else {}
        found = self.row(entry.inner, typed if isinstance(typed, dict) else {}, old)
        if found == old:
            return before
        is_empty = all(_is_blank(found.get(one.key), one) for one in entry.inner)
        return entry.blank if is_empty else found

    def _concept(self, entry: Entry, typed: object, before: object) -> object:
        if not isinstance(typed, str) or not typed.strip():
            return entry.blank
        for scheme in SCHEMES_OF.get(entry.scheme, (entry.scheme,)):
            found = self.resolved(typed, scheme)
            if found is not None:
                return before if self.resolved(before, scheme) == found else found
        return typed.strip()

    def _texts(self, entry: Entry, typed: object, state: object, before: object) -> object:
        lines = typed.split("\n") if isinstance(typed, str) else typed
        given = [shown(one).strip() for one in lines] if isinstance(lines, list) else []
        said = [one for one in given if one]
        if state in entry.states and (not said or isinstance(before, list)):
            return state
        if entry.scheme == "equipment":
            keys = {
                fold_name(one.label): one.id for one in names_in("equipment", self.knowledge).things
            }
            said = [keys.get(fold_name(one), one) for one in said]
        return said


def number_of(text: str, *, whole: bool = False) -> int | float | str:
    """Return the number that a text stands for, or the text if it is none.

    >>> number_of(" 7,5 "), number_of("12"), number_of("1925", whole=True), number_of("two")
    (7.5, 12, 1925, 'two')
    """
    said = text.strip()
    if not _NUMBER.fullmatch(said):
        return said
    value = float(said.replace(",", "."))
    if value.is_integer() and "." not in said and "," not in said:
        return int(said)
    return said if whole else value


def slug(text: str) -> str:
    """Return a short name for the record: lower-case letters, digits and hyphens.

    >>> slug("Top tier of the Überrock!")
    'top-tier-of-the-uberrock'
    """
    import unicodedata  # noqa: PLC0415 - beside its use

    plain = unicodedata.normalize("NFKD", text).encode("ascii", "ignore").decode().lower()
    return re.sub(r"[^a-z0-9]+", "-", plain).strip("-")[:48].strip("-")


def new_id(wanted: str, taken: set[str], otherwise: str) -> str:
    """Return an id made from *wanted* that is not taken yet, and take it."""
    stem = slug(wanted) or otherwise
    found, n = stem, 2
    while found in taken:
        found, n = f"{stem}-{n}", n + 1
    taken.add(found)
    return found


def move_row(rows: list[Row], place: int, way: str) -> int:
    """Move or remove a row in place; return where to look next."""
    if not 0 <= place < len(rows):
        return 0
    if way == "remove":
        del rows[place]
        return max(0, min(place, len(rows) - 1))
    to = place - 1 if way == "up" else place + 1
    if 0 <= to < len(rows):
        rows[place], rows[to] = rows[to], rows[place]
        return to
    return place


def shown(value: object) -> str:
    """Return what a text field shows of a value; a draft may hold anything."""
    if value is None:
        return ""
    if isinstance(value, str):
        return value
    if isinstance(value, float) and value.is_integer():
        return str(int(value))
    if isinstance(value, int | float) and not isinstance(value, bool):
        return str(value)
    return json.dumps(value, ensure_ascii=False, default=str)


def _is_place(place: str, rows: Sequence[object]) -> bool:
    return place.isascii() and place.isdigit() and len(place) < 7 and int(place) < len(rows)


def _is_blank(value: object, entry: Entry) -> bool:
    if value is None or value in ("", entry.blank):
        return True
    return value == [] and "unknown" not in entry.states  # no equipment isn't unknown equipment


def _same(value: object, before: object) -> bool:
    return value == before and isinstance(value, bool) == isinstance(before, bool)


def _says_something(row: Row) -> bool:
    return any(value not in ("", None, [], {}) for value in row.values())


def _pairs(typed: object, before: object) -> object:
    """Return name -> figure for the lines of a text; the text itself if a line is none."""
    lines = [line.strip() for line in shown(typed).split("\n") if line.strip()]
    read: dict[str, object] = {}
    for line in lines:
        name, _, value = line.replace(":", " ").replace("=", " ").rpartition(" ")
        number = number_of(value)
        if not slug(name) or isinstance(number, str) or slug(name) in read:
            return "\n".join(lines)
        read[slug(name)] = number
    return before if read == before else read


def _number(entry: Entry, typed: object, state: object, before: object) -> object:
    said = _stated(entry, typed, state, before)
    return number_of(said, whole=entry.whole) if isinstance(said, str) else said


def _stated(entry: Entry, typed: object, state: object, before: object) -> object:
    """Return the text, or the word that was tapped beside it.

    What was changed counts: a word that was tapped anew wins over the text that still stands
    there, and a text wins over the word that was tapped before.
    """
    said = shown(typed).strip()
    folded = said.casefold().replace(" ", "-")
    if folded in entry.states:
        return folded
    tapped = state if state in entry.states else ""
    was = entry.blank if before in (None, "") else before
    if said and (not tapped or tapped == was):
        return said
    return tapped or entry.blank


def _extent(typed: object, state: object, before: object) -> object:
    inner = typed if isinstance(typed, dict) else {}
    said, unit = shown(inner.get("value")).strip(), shown(inner.get("unit"))
    was_unknown = before in (None, "unknown")
    if not said or (state == "unknown" and not was_unknown):
        return "unknown"
    value = number_of(said)
    old = before if isinstance(before, dict) else {}
    return {**old, "value": old.get("value") if old.get("value") == value else value, "unit": unit}
