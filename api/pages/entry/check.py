"""What a draft still lacks, and what in it can't be read.

A draft may hold anything. What is empty is *missing* and asked for quietly; what is filled in and
can't be read is *wrong* and told beside its field.
"""

from __future__ import annotations

import difflib
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import Any

from pydantic import ValidationError

from leastwise.graph.case.reading import (
    UNIDENTIFIED,
    as_problems,
    fold_name,
    name_table,
    resolve_case,
    show,
)
from leastwise.graph.case.record import Case
from leastwise.graph.errors import CaseError, Problem
from leastwise.graph.knowledge.knowledge import Knowledge

__all__ = ["Checked", "check_draft", "names_of", "rows_of"]

_BLANK = ("''", "[]", "None", "{}", "a missing field", "no agent")


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
    problems: list[Problem]
    try:
        case = resolve_case(Case.model_validate(dict(body)), knowledge)
    except ValidationError as error:
        problems = _most_exact(as_problems(error))
        known = {one.path for one in problems}
        problems += [p for p in _names_and_parts(body, knowledge) if p.path not in known]
    except CaseError as error:
        problems = list(error.problems)
    else:
        return Checked(case)
    missing = tuple(one for one in problems if one.given in _BLANK)
    return Checked(None, missing, tuple(one for one in problems if one.given not in _BLANK))


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


def _names_and_parts(body: Mapping[str, Any], knowledge: Knowledge) -> Iterator[Problem]:
    parts = {row.get("id") for row in rows_of(body, "parts") if isinstance(row.get("id"), str)}
    for i, row in enumerate(rows_of(body, "parts")):
        for j, one in enumerate(rows_of(row, "materials")):
            yield from _name(f"parts[{i}].materials[{j}].material", one, "material", knowledge)
    for i, row in enumerate(rows_of(body, "damages")):
        yield from _name(f"damages[{i}].damage", row, "damage", knowledge)
        named = row.get("parts")
        for j, part in enumerate(named if isinstance(named, list) else []):
            yield from _part(f"damages[{i}].parts[{j}]", part, parts)
    for i, row in enumerate(rows_of(body, "tests")):
        for kind in ("test", "material", "agent"):
            yield from _name(f"tests[{i}].{kind}", row, kind, knowledge)
        if row.get("part"):
            yield from _part(f"tests[{i}].part", row["part"], parts)
    for i, row in enumerate(rows_of(body, "contacts")):
        ends = row.get("between")
        for j, part in enumerate(ends if isinstance(ends, list) else []):
            if part:
                yield from _part(f"contacts[{i}].between[{j}]", part, parts)


def _name(path: str, row: Mapping[str, Any], kind: str, knowledge: Knowledge) -> Iterator[Problem]:
    given = row.get(kind)
    if not isinstance(given, str) or not given.strip():
        return
    table = names_of(knowledge, kind)
    if fold_name(given) in table:
        return
    near = difflib.get_close_matches(fold_name(given)[:80], table, n=3, cutoff=0.6)
    labels = list(dict.fromkeys(knowledge.label(table[name]) for name in near))
    hint = f"; near to it: {', '.join(labels)}" if labels else ""
    if kind == "material":
        other = knowledge.label(UNIDENTIFIED)
        hint += f"; where none fits, {other}, with your word in its note"
    yield Problem(path, show(given), f"a {kind} of the knowledge{hint}")


def _part(path: str, given: object, parts: set[Any]) -> Iterator[Problem]:
    if not isinstance(given, str) or given not in parts:
        yield Problem(path, show(given), "the id of a part of this record")
