"""What a draft still lacks, and what in it can't be read.

A draft may hold anything. What is empty is *missing* and asked for quietly; what is filled in and
can't be read is *wrong* and told beside its field.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import Any

from leastwise.graph.case.reading import case_from_data, name_table, show
from leastwise.graph.case.record import Case
from leastwise.graph.errors import CaseError, Fault, Problem
from leastwise.graph.knowledge.knowledge import Knowledge

__all__ = ["Checked", "check_draft", "names_of", "rows_of"]


@dataclass(frozen=True, slots=True)
class Checked:
    """The case if the draft can be weighed; what is missing and what is wrong otherwise."""

    case: Case | None
    missing: tuple[Problem, ...] = ()
    wrong: tuple[Problem, ...] = ()


def check_draft(body: Mapping[str, Any], knowledge: Knowledge) -> Checked:
    """Return what a draft lacks and what in it can't be read, all of it at once.

    Names of materials, damages, tests and agents are looked up even while other fields are
    missing, so that an error stands beside its field from the first save.
    """
    try:
        return Checked(case_from_data(dict(body), knowledge))
    except CaseError as error:
        problems = _most_exact(list(error.problems))
    known = {one.path for one in problems}
    problems += [p for p in _parts_meant(body) if p.path not in known]
    missing = tuple(one for one in problems if one.kind.is_missing)
    return Checked(None, missing, tuple(one for one in problems if not one.kind.is_missing))


def names_of(knowledge: Knowledge, scheme: str) -> dict[str, str]:
    """Return folded name -> CURIE of a scheme, made once for each knowledge."""
    return knowledge.made(("names", scheme), lambda k, key: name_table(k, key[1]))


def rows_of(body: Mapping[str, Any], key: str) -> list[dict[str, Any]]:
    """Return the rows of a list of the draft; what is no row reads as an empty one."""
    rows = body.get(key)
    if not isinstance(rows, list):
        return []
    return [row if isinstance(row, dict) else {} for row in rows]


def _most_exact(problems: list[Problem]) -> list[Problem]:
    """Leave out what is told more exactly further in: *extent* beside *extent.value*."""
    paths = [one.path for one in problems]
    return [
        one
        for one in problems
        if not any(path.startswith((f"{one.path}.", f"{one.path}[")) for path in paths)
    ]


def _parts_meant(body: Mapping[str, Any]) -> Iterator[Problem]:
    """Yield the mentions of parts that aren't listed; told even while other fields are missing."""
    parts = {row.get("id") for row in rows_of(body, "parts") if isinstance(row.get("id"), str)}
    for key in ("damages", "needs"):
        for i, row in enumerate(rows_of(body, key)):
            named = row.get("parts")
            for j, part in enumerate(named if isinstance(named, list) else []):
                yield from _part(f"{key}[{i}].parts[{j}]", part, parts)
    for i, row in enumerate(rows_of(body, "tests")):
        if row.get("part"):
            yield from _part(f"tests[{i}].part", row["part"], parts)
    for i, row in enumerate(rows_of(body, "contacts")):
        ends = row.get("between")
        for j, part in enumerate(ends if isinstance(ends, list) else []):
            if part:
                yield from _part(f"contacts[{i}].between[{j}]", part, parts)


def _part(path: str, given: object, parts: set[Any]) -> Iterator[Problem]:
    if not isinstance(given, str) or given not in parts:
        kind = Fault.MEANING if given else Fault.EMPTY
        yield Problem(path, show(given), "the id of a part of this record", kind=kind)
