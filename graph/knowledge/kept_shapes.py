"""Compiled rules kept beside the triples, so that a command needn't compile them anew.

What is kept is JSON and makes nothing but the few kinds of values named here, whatever stands in
the file: reading it runs no code of anybody's. Its name is the digest of the rules' files and of
the compiler's own; a seal over the content tells a damaged file, which is then written anew. It is
as safe as the triples beside it: whoever may write into that folder may change either, so that it
belongs to the user alone.
"""

from __future__ import annotations

import hashlib
import json
import re
from dataclasses import fields, is_dataclass
from enum import Enum
from functools import cache
from pathlib import Path
from typing import Any

from leastwise.graph.knowledge.turtle import keep_file
from leastwise.graph.shacl import (
    CompiledShapes,
    cardinality,
    compile_shapes,
    logical,
    ordering,
    other,
    property_pair,
    shape_based,
    string_based,
    value_range,
    value_type,
)
from leastwise.graph.shacl import paths as paths_module
from leastwise.graph.shacl import shapes as shapes_module
from leastwise.graph.shacl.triples import Triples

__all__ = ["compiled_shapes"]

_ROOMS = (
    shapes_module, paths_module, cardinality, logical, ordering, other, property_pair, shape_based,
    string_based, value_range, value_type,
)  # fmt: skip
#: What belongs to the graph that the shapes were read from, and comes with it.
_OF_THE_GRAPH = ("constant_ids", "terms", "term_count")
_REGEX, _RECORD = "@regex", "@"
_PLAIN = (str, int, float, bool, type(None))


class _CannotBeKeptError(Exception):
    """Something has no form here; the shapes are then compiled each time."""


def compiled_shapes(core: Triples, digest: str, cache: Path | None) -> CompiledShapes:
    """Return a shapes graph compiled, from *cache* if it is kept there.

    Raises:
        ShaclError: the graph is ill-formed.

    """
    if cache is None:
        return compile_shapes(core)
    name = hashlib.sha256(f"{digest}{_compiler()}".encode()).hexdigest()
    path = cache / f"{name}.shapes"
    kept = _read(path, core)
    if kept is None:
        kept = compile_shapes(core)
        _write(path, kept)
    return kept


@cache
def _compiler() -> str:
    """Return the digest of the code that compiles: other code, other shapes."""
    folder = Path(shapes_module.__file__).parent
    whole = hashlib.sha256()
    for path in sorted(folder.glob("*.py")):
        whole.update(path.read_bytes())
    return whole.hexdigest()


def _read(path: Path, core: Triples) -> CompiledShapes | None:
    """Return what is kept, or None if it is missing or damaged."""
    try:
        seal, _, text = path.read_text(encoding="utf-8").partition("\n")
        if seal != _seal(path, text):
            return None
        known: dict[str, Any] = {name: _made(one) for name, one in json.loads(text).items()}
        return CompiledShapes(
            **known,
            constant_ids=tuple(core.terms.find_many(known["constants"]).tolist()),
            terms=core.terms,
            term_count=len(core.terms),
        )
    except (OSError, ValueError, TypeError, KeyError, RecursionError, re.error):
        return None


def _write(path: Path, compiled: CompiledShapes) -> None:
    """Keep compiled shapes, if all of them have a form."""
    names = [f.name for f in fields(compiled) if f.name not in _OF_THE_GRAPH]
    try:
        text = json.dumps({name: _form(getattr(compiled, name)) for name in names})
    except _CannotBeKeptError:
        return
    sealed = f"{_seal(path, text)}\n{text}".encode()
    keep_file(path, lambda scratch: scratch.write_bytes(sealed))


def _seal(path: Path, text: str) -> str:
    return hashlib.sha256(f"{path.stem}\n{text}".encode()).hexdigest()


@cache
def _kinds() -> dict[str, tuple[type, int]]:
    """Name -> a kind of value that may be kept, and how many fields it has."""
    found: dict[str, tuple[type, int]] = {}
    for room in _ROOMS:
        for name, kind in vars(room).items():
            if not isinstance(kind, type) or kind.__module__ != room.__name__:
                continue
            if is_dataclass(kind):
                found[_RECORD + name] = (kind, len(fields(kind)))
            elif issubclass(kind, Enum):
                found[_RECORD + name] = (kind, 1)
            elif issubclass(kind, tuple) and hasattr(kind, "_fields"):
                found[_RECORD + name] = (kind, len(kind._fields))
    return found


def _form(value: Any) -> Any:
    """Return a value as lists, texts and numbers; a record names its kind first."""
    kind = type(value)
    if kind in _PLAIN:
        return value
    if isinstance(value, re.Pattern):
        return [_REGEX, value.pattern, value.flags]
    if kind is tuple:
        if value and type(value[0]) is str and value[0].startswith(_RECORD):
            raise _CannotBeKeptError(value[0])
        return [_form(one) for one in value]
    name = _RECORD + kind.__name__
    if _kinds().get(name, (None,))[0] is not kind:
        raise _CannotBeKeptError(name)
    if isinstance(value, Enum):
        return [name, value.value]
    if isinstance(value, tuple):
        return [name, *map(_form, value)]
    return [name, *(_form(getattr(value, one.name)) for one in fields(value))]


def _made(form: Any) -> Any:
    """Return the value of a form.

    Raises:
        ValueError: a kind that isn't known, or with another number of fields.

    """
    if type(form) is not list:
        return form
    if not form or type(form[0]) is not str or not form[0].startswith(_RECORD):
        return tuple([one if type(one) is int else _made(one) for one in form])
    name, *values = form
    if name == _REGEX:
        return re.compile(*values)
    kind, size = _kinds().get(name, (None, 0))
    if kind is None or size != len(values):
        raise ValueError(f"expected a kind of value that is known, got {name!r}")
    return kind(*[_made(one) for one in values])
