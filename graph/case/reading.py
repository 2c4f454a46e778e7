"""Reads a case from JSON or YAML and ties its names to the knowledge.

Every problem is reported with the path to the field and what would be accepted; nothing is
dropped silently.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from pathlib import Path
from typing import Any, Final

from pydantic import ValidationError

from leastwise.graph.case.contradictions import contradictions, none_and_named
from leastwise.graph.case.implied import heading_of, state_headings
from leastwise.graph.case.names import (
    UNIDENTIFIED,
    find_concept,
    fold_name,
    name_table,
    resolve_names,
)
from leastwise.graph.case.record import HEADINGS, Case
from leastwise.graph.case.schema import case_schema
from leastwise.graph.case.text import load_text, read_text
from leastwise.graph.case.written import carried_over
from leastwise.graph.errors import CaseError, Fault, Problem, missing
from leastwise.graph.knowledge.knowledge import Knowledge

__all__ = [
    "UNIDENTIFIED",
    "as_problem",
    "as_problems",
    "case_from_data",
    "case_schema",
    "find_concept",
    "fold_name",
    "load_text",
    "name_table",
    "parse_case",
    "problems_of",
    "read_case",
    "read_file",
    "resolve_case",
    "show",
]

MAX_BYTES = 8 * 1024 * 1024
#: Problems of one record that are told at once.
MOST_TOLD = 100


def read_case(path: Path, knowledge: Knowledge) -> Case:
    """Return the case in a JSON or YAML file, with its names tied to the knowledge.

    Raises:
        CaseError: the file can't be read, isn't JSON or YAML, or holds a wrong field.

    """
    return parse_case(read_file(path), knowledge, is_json=path.suffix.lower() == ".json")


def read_file(path: Path) -> str:
    """Return the text of a record's file.

    Raises:
        CaseError: the file can't be read, is too large or isn't UTF-8.

    """
    try:
        if path.stat().st_size > MAX_BYTES:
            raise CaseError([Problem(str(path), "a file over 8 MiB", "a smaller file")])
        return path.read_text("utf-8")
    except UnicodeDecodeError as error:
        raise CaseError([Problem(str(path), "a file that isn't UTF-8", "UTF-8 text")]) from error
    except OSError as error:
        raise CaseError([Problem(str(path), f"{error.strerror}", "a readable file")]) from error


def parse_case(text: str, knowledge: Knowledge, *, is_json: bool = False) -> Case:
    """Return the case written in *text* (YAML, of which JSON is a part).

    Raises:
        CaseError: with every problem found.

    """
    written = read_text(text, is_json=is_json)
    try:
        return case_from_data(written.data, knowledge)
    except CaseError as error:
        raise CaseError([written.placed(one) for one in _told(error.problems)]) from error


def _told(problems: Sequence[Problem]) -> list[Problem]:
    """Return the first problems, and how many more there are."""
    further = len(problems) - MOST_TOLD
    if further <= 0:
        return list(problems)
    last = Problem("the record", f"{further} further problems", "those above mended first")
    return [*problems[:MOST_TOLD], last]


def case_from_data(data: object, knowledge: Knowledge) -> Case:
    """Return the case held in plain lists and mappings, of either form of the record.

    Raises:
        CaseError: with every problem found, of shape and of names.

    """
    if not isinstance(data, dict):
        raise CaseError([Problem("the record", show(data), "a mapping of fields to values")])
    carried = carried_over(data)
    try:
        return _read(carried.data, knowledge)
    except CaseError as error:
        raise CaseError([carried.as_written(problem) for problem in error.problems]) from error


def _read(data: dict[str, Any], knowledge: Knowledge) -> Case:
    silent = _silent(data)
    try:
        case = Case.model_validate(data)
    except ValidationError as error:
        problems = [*as_problems(error), *silent]
        known = {one.path for one in problems}
        names = [one for one in resolve_names(data, knowledge) if one.path not in known]
        raise CaseError([*problems, *names]) from error
    return resolve_case(case, knowledge, silent)


def _silent(data: Mapping[str, Any]) -> list[Problem]:
    """Return the parts that say nothing at all of what they are made of."""
    accepted = "at least 1 material, or a heading: fibre, colour, finish, structure, components"
    rows = data.get("parts")
    return [
        Problem(f"parts[{i}].materials", show(part.get("materials", [])), accepted)
        for i, part in enumerate(rows if isinstance(rows, list) else [])
        if isinstance(part, dict)
        and part.get("materials") in (None, [])
        and not any(heading in part for heading in HEADINGS)
    ]


def problems_of(data: Mapping[str, Any], knowledge: Knowledge) -> tuple[Problem, ...]:
    """Return every problem of a record; none if it can be read."""
    try:
        case_from_data(dict(data), knowledge)
    except CaseError as error:
        return error.problems
    return ()


def resolve_case(case: Case, knowledge: Knowledge, known: Sequence[Problem] = ()) -> Case:
    """Return the case with every name replaced by its CURIE, and what nobody named as unknown.

    Problems that are *known* already are told with those found.

    Raises:
        CaseError: a name that the knowledge doesn't hold, a part that isn't listed, what can't be
            meant; all of them at once.

    """
    data = case.model_dump()
    problems = [*known, *resolve_names(data, knowledge)]
    if not problems:
        problems += _stated(data, knowledge)
    problems += _weights(case, knowledge)
    if not isinstance(case.means.equipment, str):
        data["means"]["equipment"] = [_key_of(one, knowledge) for one in case.means.equipment]
    resolved = Case.model_validate(data)
    problems += contradictions(resolved, knowledge)
    if problems:
        raise CaseError(problems)
    return resolved


def _stated(data: dict[str, Any], knowledge: Knowledge) -> list[Problem]:
    """Put the entries of each part under their headings; return what denies itself."""
    problems: list[Problem] = []
    for i, part in enumerate(data["parts"]):
        for one in part["materials"]:
            if one["heading"] == "unknown":
                one["heading"] = heading_of(one["material"], knowledge)
        problems += none_and_named(part, f"parts[{i}]")
        state_headings(part, knowledge)
    return problems


def _weights(case: Case, knowledge: Knowledge) -> list[Problem]:
    """Return what can't be weighed with: an axis that there isn't, or nothing but zeros."""
    points = case.weighing.weights
    axes = sorted(axis.partition(":")[2] for axis in knowledge.instances("lw:Axis"))
    found = [
        Problem(f"weighing.weights.{axis}", repr(axis), f"one of {', '.join(axes)}")
        for axis in points
        if axis not in axes
    ]
    if set(points) == set(axes) and not any(points.values()):
        found.append(Problem("weighing.weights", "0 for every axis", "more than 0 for one of them"))
    return found


def _key_of(equipment: str, knowledge: Knowledge) -> str:
    """Return the key of a piece of equipment, or the text if no technique asks for it."""
    found = find_concept(equipment, "equipment", knowledge)
    return found.partition(":")[2] if found else equipment


def as_problems(error: ValidationError) -> list[Problem]:
    """Return one problem a field; where a field may be of several kinds, all are named."""
    found: dict[str, list[Problem]] = {}
    for one in error.errors(include_url=False):
        problem = as_problem(one)
        found.setdefault(problem.path, []).append(problem)
    return [
        replace(problems[0], accepted=" or ".join(dict.fromkeys(p.accepted for p in problems)))
        for problems in found.values()
    ]


def as_problem(error: Any) -> Problem:
    """Turn one pydantic error into a path, what was given and what would be accepted."""
    path = _path(error["loc"])
    kind, context = error["type"], error.get("ctx", {})
    if path == "leastwise_case" and kind == "literal_error":
        return _of_form(path, error.get("input"), "2, or 1 for the first form")
    if kind == "missing":
        return missing(path, "a value for this field")
    if kind == "extra_forbidden":
        accepted = "a field that the format has (see the schema)"
        return Problem(path, "an unknown field", accepted, kind=Fault.UNKNOWN_FIELD)
    return _of_form(path, error.get("input"), _accepted(kind, context, str(error["msg"])))


def _of_form(path: str, given: object, accepted: str) -> Problem:
    is_empty = given is None or (isinstance(given, (str, list, dict)) and not given)
    return Problem(path, show(given), accepted, kind=Fault.EMPTY if is_empty else Fault.FORM)


def _accepted(kind: str, context: dict[str, Any], message: str) -> str:
    if kind in ("literal_error", "enum"):
        words = str(context.get("expected"))
        return f"one of {words}" if " or " in words else words.strip("'")
    if kind in ("too_short", "too_long"):
        return _limit(context)
    if kind in ("string_too_short", "string_too_long"):
        return _text_of(context)
    if kind in _PLAIN:
        return _PLAIN[kind]
    return message.removeprefix("Input should be ").removeprefix("Value error, ")


#: What would be accepted, by the kind of fault, where its own words are those of a programmer.
_PLAIN: Final = {
    "string_type": "text; put quotes round a number or a date",
    "string_pattern_mismatch": "lower-case letters, digits and hyphens, at most 64",
    "bool_type": "true or false",
    "bool_parsing": "true or false",
    "int_type": "a whole number",
    "int_parsing": "a whole number",
    "int_from_float": "a whole number",
    "float_type": "a number",
    "float_parsing": "a number",
    "list_type": "a list",
    "dict_type": "a mapping of fields to values",
    "model_type": "a mapping of fields to values",
    "date_type": "a date (YYYY-MM-DD)",
    "date_parsing": "a date (YYYY-MM-DD)",
    "date_from_datetime_parsing": "a date (YYYY-MM-DD)",
    "date_from_datetime_inexact": "a date (YYYY-MM-DD)",
}


def _limit(context: dict[str, Any]) -> str:
    least = context.get("min_length")
    return f"at least {least}" if least is not None else f"at most {context.get('max_length')}"


def _text_of(context: dict[str, Any]) -> str:
    """Return what a text may be: with a longest, a least, or just not empty."""
    most, least = context.get("max_length"), context.get("min_length")
    if most is not None:
        return f"a text of at most {most} characters"
    return "a text" if least == 1 else f"a text of at least {least} characters"


def _path(loc: tuple[int | str, ...]) -> str:
    path = ""
    for place, step in enumerate(loc):
        if step == "date" and loc[place - 1 : place] != ("date",):  # the field, not the kind
            path += f".{step}" if path else step
        elif isinstance(step, int):
            path += f"[{step}]"
        elif not step.startswith(("literal[", "constrained-", "function-")) and step not in (
            "float",
            "int",
            "date",
            "Extent",
            "list[constrained-str]",
        ):
            path += f".{step}" if path else step
    return path or "the record"


def show(value: object) -> str:
    """Return a value as an error shows it, cut to 60 characters."""
    text = repr(value)
    return text if len(text) <= 60 else text[:57] + "..."
