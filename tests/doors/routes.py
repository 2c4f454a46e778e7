"""Every route of the app, found in the app itself, so that a new one can't be left out."""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

from fastapi import FastAPI

SAFE = ("GET", "HEAD")


@dataclass(frozen=True, slots=True)
class Way:
    """One method on one path."""

    method: str
    path: str
    is_page: bool
    fields: tuple[tuple[str, bool], ...] = ()  # of the form, where the route names them; is a file

    @property
    def key(self) -> str:
        return f"{self.method} {self.path}"

    @property
    def is_safe(self) -> bool:
        return self.method in SAFE

    def at(self, **values: str) -> str:
        """Return the address with its parameters filled in; those not named are ``nothing``."""
        return re.sub(
            r"\{(\w+)(?::\w+)?\}",
            lambda m: values.get(m[1], values.get("other", "nothing")),
            self.path,
        )


def ways(app: FastAPI) -> list[Way]:
    """Return every method and path, but for the static files."""
    found = {
        Way(method, route.path, not route.include_in_schema, _fields(route))
        for route in routes_of(app.routes)
        for method in route.methods - {"HEAD", "OPTIONS"}
    }
    return sorted(found, key=lambda way: (way.path, way.method))


def routes_of(routes: Any) -> Iterator[Any]:
    for route in routes:
        inner = getattr(route, "original_router", None)
        if inner is not None:
            yield from routes_of(inner.routes)
        elif getattr(route, "methods", None):
            yield route


def _fields(route: Any) -> tuple[tuple[str, bool], ...]:
    named = getattr(getattr(route, "dependant", None), "body_params", ())
    return tuple(
        (one.alias, "Upload" in repr(one.field_info.annotation)) for one in named if one.alias
    )
