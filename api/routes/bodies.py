"""What requests carry: a case record as body, and the parameters that several routes share."""

from __future__ import annotations

from typing import Annotated, Any

from fastapi import Query

__all__ = ["CASE_BODY", "EXAMPLE", "LIMITED", "PolicyQuery", "body", "refusals"]

PolicyQuery = Annotated[
    str, Query(description="policy that puts the options in order, such as policy:display-driven")
]

EXAMPLE = {
    "leastwise_case": 2,
    "id": "crushed-collar",
    "title": "A crushed silk collar",
    "demo": True,
    "object": {"name": "silk collar", "kind": "accessory"},
    "parts": [
        {
            "id": "collar",
            "name": "collar",
            "fibre": [{"is": "silk", "identified": "certain"}],
            "colour": "none",
            "lies_flat": "yes",
        }
    ],
    "damages": [{"id": "crushed", "damage": "crease", "parts": ["collar"], "evidence": "no"}],
    "aim": {"purpose": "display", "mounting": "flat"},
}


def body(schema: dict[str, Any], summary: str, example: dict[str, Any]) -> dict[str, Any]:
    """Return what OpenAPI says of a body of JSON or YAML, with an invented example."""
    return {
        "requestBody": {
            "required": True,
            "content": {
                "application/json": {
                    "schema": schema,
                    "examples": {"collar": {"summary": summary, "value": example}},
                },
                "application/yaml": {"schema": {"type": "string"}},
            },
        }
    }


#: What OpenAPI says of questions that take too much.
LIMITED: dict[int | str, dict[str, Any]] = {
    429: {"description": "Too many of your questions are under way already (RFC 9457)"},
    503: {"description": "Too many questions wait; Retry-After says when to come (RFC 9457)"},
    504: {"description": "The question took longer than a question may (RFC 9457)"},
    507: {"description": "The question needed more memory than a question may (RFC 9457)"},
}


def refusals(what: str) -> dict[int | str, dict[str, Any]]:
    """Return what OpenAPI says of bodies that can't be used."""
    return {
        413: {"description": "The body is too large (RFC 9457)"},
        422: {"description": f"{what} can't be used; each wrong field with its path (RFC 9457)"},
        **LIMITED,
    }


#: A case record, as JSON or as YAML.
CASE_BODY = body({"$ref": "#/components/schemas/Case"}, "An invented case", EXAMPLE)
