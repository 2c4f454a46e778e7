"""Page: /docs, the HTTP interface as the app itself describes it (OpenAPI), in our own look."""

from __future__ import annotations

import json
import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import Any
from urllib.parse import quote

from fastapi import APIRouter, Request
from fastapi.responses import HTMLResponse

from leastwise.api.identity.access import Access, Action
from leastwise.api.pages.page import render

__all__ = ["ACCESS", "Body", "Field", "Operation", "operations", "router"]

router = APIRouter(tags=["pages"], include_in_schema=False)
ACCESS: Access = {"GET /docs": Action.OPEN}

#: What stands for a part of an address in an example.
NAMES = {"concept": "material:silk", "name": "concepts", "ending": "ttl", "release": "1.1.0"}
#: Value of a query that an operation can't do without, in an example.
VALUES = {"query": "ASK { material:silk a lw:Fibre }"}
#: What the groups are called; others stay as their tag is.
GROUPS = {
    "options": "Options for a case", "concepts": "Concepts", "physics": "Physics at the bench",
    "exchange": "Exchange with other systems", "planning": "Plan and review",
    "weighing": "Questions about an answer", "service": "Service", "knowledge": "Knowledge",
}  # fmt: skip
_LONG = 240  # characters of a body that still stand in the command itself


@dataclass(frozen=True, slots=True)
class Field:
    """A parameter, or a field of a body: its name, type, whether it has to be there."""

    name: str
    kind: str
    place: str  # query, path, header; "" in a body
    required: bool
    about: str
    refers: str = ""  # schema that its type names
    default: str = ""


@dataclass(frozen=True, slots=True)
class Body:
    """What is sent or comes back: media type, its schema, and an example if there is one."""

    media: str
    kind: str
    refers: str = ""
    example: str = ""


@dataclass(frozen=True, slots=True)
class Operation:
    """One method of one path."""

    method: str
    path: str
    tag: str
    summary: str
    about: tuple[str, ...]  # paragraphs
    fields: tuple[Field, ...]
    bodies: tuple[Body, ...]
    answers: tuple[tuple[str, str, tuple[Body, ...]], ...]  # status, meaning, bodies

    @property
    def anchor(self) -> str:
        """Return the anchor of the operation on the page."""
        return f"{self.method}{re.sub(r'[^a-z0-9]+', '-', self.path.lower())}".rstrip("-")

    @property
    def address(self) -> str:
        """Return an address to try, with what has to be there filled in."""
        path = re.sub(r"{(\w+)}", lambda m: NAMES.get(m[1], m[1].upper()), self.path)
        needed = [
            (f.name, VALUES.get(f.name, f.name.upper()))
            for f in self.fields
            if f.place == "query" and (f.required or f.name in VALUES)
        ]
        return path + ("?" if needed else "") + "&".join(f"{n}={quote(v)}" for n, v in needed)

    def curl(self, base: str) -> str:
        """Return a command to try it with."""
        command = f"curl '{base}{self.address}'"
        if not self.bodies:
            return f"{command} -X {self.method.upper()}" if self.method != "get" else command
        body = self.bodies[0]
        compact = _compact(body.example)
        sent = compact if compact and len(compact) <= _LONG else "@case.json"
        sent = sent.replace("'", "'\\''")
        return f"{command} \\\n  -H 'Content-Type: {body.media}' \\\n  --data-binary '{sent}'"


def _compact(example: str) -> str:
    try:
        return json.dumps(json.loads(example), ensure_ascii=False)
    except ValueError:
        return example


def operations(schema: Mapping[str, Any]) -> tuple[Operation, ...]:
    """Return what an OpenAPI description offers, in its order."""
    return tuple(
        _operation(path, method, one)
        for path, methods in schema["paths"].items()
        for method, one in methods.items()
    )


def _operation(path: str, method: str, one: Mapping[str, Any]) -> Operation:
    about = one.get("description", "").split("\n\n")
    return Operation(
        method=method,
        path=path,
        tag=(one.get("tags") or ["other"])[0],
        summary=one.get("summary", ""),
        about=tuple(" ".join(p.split()) for p in about if p.strip()),
        fields=tuple(_parameter(p) for p in one.get("parameters", ())),
        bodies=tuple(_bodies(one.get("requestBody", {}))),
        answers=tuple(
            (status, said.get("description", ""), tuple(_bodies(said)))
            for status, said in sorted(one.get("responses", {}).items())
        ),
    )


def _parameter(p: Mapping[str, Any]) -> Field:
    kind, refers = _kind(p.get("schema", {}))
    default = p.get("schema", {}).get("default")
    return Field(
        p["name"],
        kind,
        p["in"],
        p.get("required", False),
        p.get("description", ""),
        refers,
        "" if default in (None, "") else str(default),
    )


def _field(name: str, said: Mapping[str, Any], required: bool) -> Field:
    kind, refers = _kind(said)
    default = said.get("default")
    shown = "" if default in (None, "", [], {}) else str(default)
    return Field(name, kind, "", required, said.get("description", ""), refers, shown)


def _bodies(said: Mapping[str, Any]) -> Iterator[Body]:
    for media, content in said.get("content", {}).items():
        kind, refers = _kind(content.get("schema", {}))
        examples = [e.get("value") for e in content.get("examples", {}).values()]
        example = content.get("example", examples[0] if examples else None)
        if example is None:
            text = ""
        elif media == "application/x-www-form-urlencoded":
            text = "&".join(f"{n}={quote(str(v))}" for n, v in example.items())
        else:
            is_text = isinstance(example, str)
            text = example if is_text else json.dumps(example, indent=1, ensure_ascii=False)
        yield Body(media, kind, refers, text)


def _kind(schema: Mapping[str, Any]) -> tuple[str, str]:
    """Return the type of a schema in words, and the schema that it names ("" for none)."""
    if "$ref" in schema:
        name = schema["$ref"].rpartition("/")[2]
        return _plain_name(name), name
    for several in ("anyOf", "oneOf", "allOf"):
        if several in schema:
            kinds = [_kind(one) for one in schema[several] if one.get("type") != "null"]
            refers = next((r for _, r in kinds if r), "")
            return " or ".join(dict.fromkeys(kind for kind, _ in kinds)), refers
    if "const" in schema:
        return f"“{schema['const']}”", ""
    if "enum" in schema:
        return "one of " + ", ".join(str(one) for one in schema["enum"]), ""
    if schema.get("type") == "array":
        kind, refers = _kind(schema.get("items", {}))
        return f"list of {kind}", refers
    return {"string": "text", "integer": "whole number", "object": "object"}.get(
        schema.get("type", ""), schema.get("type", "anything")
    ), ""


def _plain_name(name: str) -> str:
    return name.rpartition("__")[2]


def _shapes(schema: Mapping[str, Any]) -> list[tuple[str, str, str, tuple[Field, ...]]]:
    """Return the named shapes of bodies: name, plain name, what it is, fields."""
    found = []
    for name, one in schema.get("components", {}).get("schemas", {}).items():
        needed = set(one.get("required", ()))
        fields = tuple(
            _field(field, said, field in needed)
            for field, said in one.get("properties", {}).items()
        )
        what = " ".join(one.get("description", "").partition("\n\n")[0].split())
        if not fields:
            what = f"{what} {_kind(one)[0].capitalize()}.".strip()
        found.append((name, _plain_name(name), what, fields))
    return sorted(found, key=lambda shape: shape[1].casefold())


@router.get("/docs")
def docs(request: Request) -> HTMLResponse:
    """Describe the HTTP interface."""
    schema = request.app.openapi()
    groups: dict[str, list[Operation]] = {}
    for one in operations(schema):
        groups.setdefault(GROUPS.get(one.tag, one.tag.capitalize()), []).append(one)
    return render(
        request,
        "docs.html",
        title="The HTTP interface",
        step="docs",
        groups=groups,
        shapes=_shapes(schema),
        plain_name=_plain_name,
        base=str(request.base_url).rstrip("/"),
        version=schema["info"]["version"],
        about=schema["info"].get("description", ""),
    )
