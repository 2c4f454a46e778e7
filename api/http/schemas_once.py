"""The schemas of answers in which each finding, reason and mend stands once, for OpenAPI."""

from __future__ import annotations

import json
from collections.abc import Mapping
from typing import Any, Final

from leastwise.graph.weighing.once import ONCE

__all__ = ["schemas_once"]

_TOPS: Final = ("Answer", "ProblemAnswer")
_OF: Final = "#/components/schemas/"


def schemas_once(schemas: Mapping[str, Any]) -> dict[str, Any]:
    """Return the schemas of such answers: *schemas* of OpenAPI with names where they stand.

    What leads to a finding, reason or mend gets a schema of its own, called after it with *Once*.
    """
    named = {kind.__name__: letter for kind, letter in ONCE.items()}
    leading = set(named)
    while True:
        found = {one for one, what in schemas.items() if leading & set(_refs(what))} | leading
        if found == leading:
            break
        leading = found
    reached = {one for one in _reached(schemas) if one in leading}
    made = {f"{one}Once": _renamed(schemas[one], named, reached) for one in sorted(reached)}
    for name, letter in named.items():
        made[f"{name}Once"].pop("required", None)  # what is empty is left out
        made[f"Name{name}"] = {"type": "string", "pattern": f"^{letter}[0-9]+$"}
    said = {"anyOf": [{"$ref": f"{_OF}{name}Once"} for name in named]}
    for top in _TOPS:
        made[f"{top}Once"]["properties"]["said"] = {
            "type": "object",
            "description": "findings (f), reasons (r) and mends (m), by name",
            "additionalProperties": said,
        }
        made[f"{top}Once"]["required"] = [*made[f"{top}Once"]["required"], "said"]
    return made


def _reached(schemas: Mapping[str, Any]) -> set[str]:
    """Return the names of the schemas that an answer leads to, its own among them."""
    todo, found = list(_TOPS), set[str]()
    while todo:
        one = todo.pop()
        if one not in found:
            found.add(one)
            todo += _refs(schemas[one])
    return found


def _refs(schema: object) -> list[str]:
    if isinstance(schema, dict):
        own = schema.get("$ref")
        return ([own.removeprefix(_OF)] if isinstance(own, str) else []) + _refs([*schema.values()])
    return [name for one in schema for name in _refs(one)] if isinstance(schema, list) else []


def _renamed(schema: Any, named: Mapping[str, str], reached: set[str]) -> Any:
    text = json.dumps(schema)
    for one in reached:
        new = f"Name{one}" if one in named else f"{one}Once"
        text = text.replace(f'"{_OF}{one}"', f'"{_OF}{new}"')
    return json.loads(text)
