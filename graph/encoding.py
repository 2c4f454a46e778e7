"""Frozen values as canonical JSON: keys sorted, the same bytes for the same values.

What comes out is what ``json.dumps(asdict(value), ensure_ascii=False, sort_keys=True)`` gives,
without the deep copy that :func:`dataclasses.asdict` makes, which took longer than weighing. A
value that stands in several places, as the words of a finding do, is written once.
"""

from __future__ import annotations

import json
import math
from collections.abc import Callable
from dataclasses import fields, is_dataclass
from operator import attrgetter
from typing import Any

__all__ = ["to_json"]

_quoted = json.encoder.encode_basestring
_Writer = Callable[[Any], str]
_NAMED = {True: "true", False: "false", None: "null"}


def to_json(value: object) -> str:
    """Return a value of dataclasses, lists, mappings, texts and numbers as a line of JSON.

    Raises:
        TypeError: something in it has no form in JSON.

    >>> to_json({"b": (1, True, None), "a": ["naïve", 0.5]})
    '{"a": ["naïve", 0.5], "b": [1, true, null]}'

    """
    return _Writers().text(value)


class _Writers(dict[type, _Writer]):
    """Type -> what writes a value of it; lives as long as one text is written."""

    def __init__(self) -> None:
        super().__init__(
            {
                str: _quoted,
                bool: _NAMED.__getitem__,
                type(None): _NAMED.__getitem__,
                int: int.__repr__,
                float: _decimal,
                list: self._list,
                tuple: self._list,
                dict: self._mapping,
            }
        )
        self._written: dict[int, str] = {}  # by identity; the whole value keeps its pieces alive

    def text(self, value: Any) -> str:
        """Return one value as JSON."""
        return self[value.__class__](value)

    def __missing__(self, kind: type) -> _Writer:
        found = self[kind] = self._writer(kind)
        return found

    def _writer(self, kind: type) -> _Writer:
        if issubclass(kind, str):
            return _quoted
        if issubclass(kind, (list, tuple)):
            return self._list
        if issubclass(kind, dict):
            return self._mapping
        if is_dataclass(kind):
            return self._record(kind)
        return _plain

    def _list(self, values: Any) -> str:
        try:
            return f"[{', '.join(map(_quoted, values))}]"  # most lists hold texts alone
        except TypeError:
            return f"[{', '.join([self[one.__class__](one) for one in values])}]"

    def _mapping(self, values: dict[Any, Any]) -> str:
        if not all(isinstance(key, str) for key in values):
            return _plain(values)
        rows = (f"{_quoted(key)}: {self.text(value)}" for key, value in sorted(values.items()))
        return f"{{{', '.join(rows)}}}"

    def _record(self, kind: type) -> _Writer:
        names = sorted(field.name for field in fields(kind))
        if len(names) < 2:
            return lambda value: self._mapping({one: getattr(value, one) for one in names})
        form = f"{{{', '.join(f'{json.dumps(name)}: %s' for name in names)}}}"
        read, written = attrgetter(*names), self._written

        def write(value: Any) -> str:
            known = written.get(id(value))
            if known is None:
                pieces = tuple([self[one.__class__](one) for one in read(value)])
                known = written[id(value)] = form % pieces
            return known

        return write


def _decimal(value: float) -> str:
    return float.__repr__(value) if math.isfinite(value) else json.dumps(value)


def _plain(value: object) -> str:
    """Return what the standard library makes of anything else, a mapping by numbers for one."""
    return json.dumps(value, ensure_ascii=False, sort_keys=True)
