"""Fields of a form as nested data and back: a field is named after its place in the record."""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Mapping
from typing import Any, cast

from starlette.datastructures import FormData

__all__ = ["clean", "read_fields", "write_fields"]

DEEPEST = 12
_NUMBER = re.compile(r"[0-9]{1,6}")
_CONTROL = re.compile(r"[\x00-\x08\x0b\x0c\x0e-\x1f\x7f\ud800-\udfff]")

Nested = dict[str, Any]


def _branch(root: Nested, steps: list[str]) -> Nested:
    """Return the branch that the steps lead to, grown where there was none."""
    here = root
    for step in steps:
        inner = here.get(step)
        if not isinstance(inner, dict):  # a leaf and a branch of one name: the branch counts
            inner = here[step] = {}
        here = inner
    return here


def read_fields(form: Mapping[str, Any] | Iterable[tuple[str, Any]]) -> Nested:
    """Return flat fields as nested data: a step that is a number makes a list.

    Gaps in a list close up, in the order of the numbers. A name that ends with ``[]`` gathers all
    its values that aren't empty into a list, so that boxes may be ticked. Files are left out.

    >>> read_fields({"parts.0.name": "hem", "parts.4.name": "train"})
    {'parts': [{'name': 'hem'}, {'name': 'train'}]}
    >>> read_fields([("parts[]", ""), ("parts[]", "hem")])
    {'parts': ['hem']}
    """
    root: Nested = {}
    for name, value in _pairs(form):
        if not isinstance(value, str):
            continue
        many = name.endswith("[]")
        steps = name.removesuffix("[]").split(".")
        if not all(steps) or len(steps) > DEEPEST:
            continue
        here, last = _branch(root, steps[:-1]), steps[-1]
        if many:
            gathered = here.setdefault(last, [])
            if isinstance(gathered, list) and value:
                gathered.append(clean(value))
        elif not isinstance(here.get(last), dict):
            here[last] = clean(value)
    return cast(Nested, _listed(root, top=True))


def write_fields(data: Mapping[str, Any]) -> list[tuple[str, str]]:
    """Return nested data as flat fields, in order; the way back of :func:`read_fields`.

    >>> write_fields({"parts": [{"name": "hem"}], "keep": []})
    [('parts.0.name', 'hem'), ('keep[]', '')]
    """
    return list(_flat("", data))


def clean(text: str) -> str:
    """Return text with plain line ends and without characters that no store can hold."""
    return _CONTROL.sub("", text.replace("\r\n", "\n").replace("\r", "\n"))


def _pairs(form: Mapping[str, Any] | Iterable[tuple[str, Any]]) -> Iterable[tuple[str, Any]]:
    if isinstance(form, FormData):
        return form.multi_items()
    return form.items() if isinstance(form, Mapping) else form


def _listed(value: object, *, top: bool = False) -> object:
    if not isinstance(value, dict):
        return value
    inner = {key: _listed(one) for key, one in value.items()}
    if not top and inner and all(_NUMBER.fullmatch(key) for key in inner):
        return [inner[key] for key in sorted(inner, key=lambda key: (int(key), key))]
    return inner


def _flat(name: str, value: object) -> Iterator[tuple[str, str]]:
    before = f"{name}." if name else ""
    if isinstance(value, Mapping):
        for key, one in value.items():
            yield from _flat(f"{before}{key}", one)
    elif isinstance(value, list | tuple):
        for i, one in enumerate(value):
            yield from _flat(f"{before}{i}", one)
        if not value:
            yield f"{name}[]", ""
    else:
        yield name, "" if value is None else str(value)
