"""Problems of a record as sentences beside the fields that they are about."""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence

from leastwise.graph.errors import Problem

__all__ = ["errors_for", "field_name", "sentence"]


def field_name(path: str) -> str:
    """Return the field that a path of the record stands for.

    >>> field_name("parts[0].materials[1].material")
    'parts.0.materials.1.material'
    """
    return re.sub(r"\[(\d+)\]", r".\1", path).lstrip(".")


def errors_for(problems: Iterable[Problem], prefix: str | Sequence[str] = "") -> dict[str, str]:
    """Return field name -> sentence, for the problems whose field begins with *prefix*."""
    wanted = (prefix,) if isinstance(prefix, str) else tuple(prefix)
    found: dict[str, list[str]] = {}
    for one in problems:
        name = field_name(one.path)
        if any(not p or name == p or name.startswith(f"{p}.") for p in wanted):
            found.setdefault(name, []).append(sentence(one))
    return {name: " ".join(dict.fromkeys(said)) for name, said in found.items()}


def sentence(problem: Problem) -> str:
    """Return a problem as a sentence beside its field: what was given, what is accepted."""
    accepted = _plainly(problem.accepted)
    if problem.given in ("''", "[]", "None", "no agent", "a missing field"):
        return f"Still missing: {accepted}."
    if problem.given == "an unknown field":
        return "The format has no such field."
    return f"Got {problem.given}; expected {accepted}."


def _plainly(accepted: str) -> str:
    said = re.sub(r"String should have at least 1 characters?", "a text", accepted)
    said = re.sub(r"String should have at most (\d+) \w+", r"a text of at most \1 characters", said)
    said = re.sub(r", (unable to parse|input is|month|day)[^,;]*?(?= or one of|$)", "", said)
    for stiff, plain in (
        ("a valid ", "a "),
        ("a integer", "a whole number"),
        ("a date or datetime", "a date (YYYY-MM-DD)"),
        ("one of 'unknown'", "unknown"),
        ("one of 'not-applicable'", "not applicable"),
        ("a value for this field", "an entry"),
    ):
        said = said.replace(stiff, plain)
    return said.rstrip(".")
