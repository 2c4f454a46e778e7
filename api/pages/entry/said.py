"""Problems of a record as sentences beside the fields that they are about."""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence

from leastwise.graph.errors import Fault, Problem

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
    accepted = problem.accepted.rstrip(".")
    if problem.kind is Fault.ABSENT:
        return f"Still missing: {accepted.replace('a value for this field', 'an entry')}."
    if problem.kind.is_missing:
        return f"Still missing: {accepted}."
    if problem.kind is Fault.UNKNOWN_FIELD:
        return "The format has no such field."
    return f"Got {problem.given}; expected {accepted}."
