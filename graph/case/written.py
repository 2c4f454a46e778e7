"""The written form of a record carried over to the one form that is weighed.

The first form of the record is read; headings written out (``fibre: [silk]``) become entries of
``materials``; a list of purposes becomes the leading one and the others. Nothing is judged here:
what doesn't fit stays as it was written, so that reading it says so at its place.
"""

from __future__ import annotations

from collections.abc import Mapping
from copy import deepcopy
from dataclasses import dataclass, field, replace
from typing import Any, Final

from leastwise.graph.case.parts import HEADINGS
from leastwise.graph.case.values import UNKNOWN
from leastwise.graph.errors import Problem

__all__ = ["OTHER", "UNNAMED", "Carried", "carried_over"]

Plain = dict[str, Any]
#: What stands for a thing under a heading that nobody has named.
UNNAMED: Final = {
    "fibre": "material:fibre-unidentified",
    "colour": "material:dye-unidentified",
    "finish": "material:finish-unidentified",
    "structure": "material:structure-unidentified",
    "components": "material:unidentified",
}
#: What stands for a damage, need or test that has no name here and is told in words.
OTHER: Final = {"damage": "damage:other", "need": "need:other", "test": "test:other"}
_SAYS_UNKNOWN: Final = ("", "unknown", "not examined")
_ROWS: Final = (("damages", "damage"), ("needs", "need"), ("tests", "test"))


@dataclass(frozen=True, slots=True)
class Carried:
    """A record in the form that is weighed, and where each moved field was written."""

    data: Plain
    places: Mapping[str, str] = field(default_factory=dict)

    def as_written(self, problem: Problem) -> Problem:
        """Return a problem with the path at which its field was written."""
        prefix = problem.path
        while prefix and prefix not in self.places:
            prefix = prefix[: max(prefix.rfind("."), prefix.rfind("["), 0)]
        if not prefix:
            return problem
        path = self.places[prefix] + problem.path[len(prefix) :]
        return replace(problem, path=path)


def carried_over(data: Mapping[str, Any]) -> Carried:
    """Return a record of either form as one of the second, with entries where they are weighed.

    >>> part = {"id": "a", "name": "a", "fibre": "silk", "colour": "none"}
    >>> carried_over({"leastwise_case": 2, "parts": [part]}).data["parts"][0]["materials"]
    [{'heading': 'fibre', 'material': 'silk'}]
    """
    found: Plain = deepcopy(dict(data))
    places: dict[str, str] = {}
    if type(found.get("leastwise_case")) is int and found["leastwise_case"] == 1:
        found["leastwise_case"] = 2
    if isinstance(found.get("aim"), dict):
        _purposes(found["aim"], places)
    for i, part in enumerate(_rows(found, "parts")):
        _Headings(part, f"parts[{i}]", places).carry()
    for rows, kind in _ROWS:
        for row in _rows(found, rows):
            if row.get("other") and not row.get(kind):
                row[kind] = OTHER[kind]
    if isinstance(found.get("needs"), list):
        found["needs"] = [
            one for one in found["needs"] if not (isinstance(one, dict) and one.get("derived"))
        ]
    return Carried(found, places)


def _rows(data: Plain, key: str) -> list[Plain]:
    rows = data.get(key)
    return [row for row in rows if isinstance(row, dict)] if isinstance(rows, list) else []


def _purposes(aim: Plain, places: dict[str, str]) -> None:
    """Put the first of several purposes first; what is written twice must agree."""
    written = aim.get("purposes")
    if isinstance(written, str):
        written = [written]
    if not isinstance(written, list) or not written or "also" in aim:
        return
    if aim.get("purpose", written[0]) != written[0]:
        return
    del aim["purposes"]
    aim["purpose"], aim["also"] = written[0], written[1:]
    places["aim.purpose"] = "aim.purposes[0]"
    places |= {f"aim.also[{i}]": f"aim.purposes[{i + 1}]" for i in range(len(written) - 1)}


class _Headings:
    """Puts what a part names under its headings into its list of materials."""

    def __init__(self, part: Plain, path: str, places: dict[str, str]) -> None:
        self._part, self._path, self._places = part, path, places

    def carry(self) -> None:
        """Change the part in place."""
        listed = self._part.get("materials")
        written = [key for key in HEADINGS if key in self._part]
        if not isinstance(listed, list):
            if "materials" in self._part or not written:
                return
            listed = []
        kept = [one for one in listed if not (isinstance(one, dict) and one.get("implied"))]
        self._part["materials"] = kept
        for one in kept:
            if isinstance(one, dict):
                self._entry_in_words(one)
        for heading in written:
            self._carry_heading(heading, kept)

    def _carry_heading(self, heading: str, entries: list[Any]) -> None:
        written = self._part[heading]
        where = f"{self._path}.{heading}"
        if written is None or isinstance(written, str):
            said = _folded(written or "")
            if said in ("none", "named"):
                self._part[heading] = said
                return
            if said in _SAYS_UNKNOWN:
                self._part[heading] = "not-examined"
                return
            self._add(heading, written, where, entries)
        elif isinstance(written, dict):
            self._add(heading, written, where, entries)
        elif isinstance(written, list):
            for j, one in enumerate(written):
                self._add(heading, one, f"{where}[{j}]", entries)
        else:
            return
        self._part[heading] = "named" if written else "not-examined"

    def _add(self, heading: str, one: object, where: str, entries: list[Any]) -> None:
        """Add one entry, or one for each alternative of it."""
        row: Plain = dict(one) if isinstance(one, dict) else {"is": one}
        name_at = f"{where}.is" if isinstance(one, dict) else where
        choices = row.pop("one_of", None)
        if isinstance(choices, list) and choices and "is" not in row:
            self._add_choices(heading, row, choices, where, entries)
            return
        if choices is not None:
            row["one_of"] = choices  # read as an unknown field, and told so
        if "is" in row:
            row["material"] = row.pop("is")
        self._put({"heading": heading, **row}, where, name_at, entries)

    def _add_choices(
        self, heading: str, row: Plain, choices: list[Any], where: str, entries: list[Any]
    ) -> None:
        key = f"{heading} {len(entries) + 1}"
        for m, choice in enumerate(choices):
            single: Plain = dict(choice) if isinstance(choice, dict) else {"is": choice}
            single["material"] = single.pop("is", None)
            at = f"{where}.one_of[{m}]"
            name_at = f"{at}.is" if isinstance(choice, dict) else at
            entry = {"heading": heading, **row, "choice": key, **single}
            self._put({"identified": UNKNOWN, **entry}, at, name_at, entries)

    def _put(self, entry: Plain, where: str, name_at: str, entries: list[Any]) -> None:
        self._entry_in_words(entry)
        name = entry.get("material")
        if name is None or (isinstance(name, str) and _folded(name) in _SAYS_UNKNOWN):
            entry["material"] = UNNAMED[entry["heading"]]
        here = f"{self._path}.materials[{len(entries)}]"
        self._places[here] = where
        self._places[f"{here}.material"] = name_at
        entries.append(entry)

    @staticmethod
    def _entry_in_words(entry: Plain) -> None:
        """Let a thing that is told in words only be of no known kind."""
        if entry.get("other") and not entry.get("material"):
            entry["material"] = UNNAMED["components"]


def _folded(said: str) -> str:
    return " ".join(said.casefold().replace("-", " ").replace("_", " ").split())
