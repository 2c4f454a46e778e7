"""Frozen values as canonical JSON: keys sorted, the same bytes for the same values.

What comes out is what ``json.dumps(asdict(value), ensure_ascii=False, sort_keys=True)`` gives,
without the deep copy that :func:`dataclasses.asdict` makes, which took longer than weighing. A
value that stands in several places, as the words of a finding do, is written once.
"""

from __future__ import annotations

import json
import math
from collections.abc import Callable, Mapping
from dataclasses import fields, is_dataclass
from operator import attrgetter
from typing import Any

__all__ = ["to_json", "to_json_once"]

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


def to_json_once(value: Any, kinds: Mapping[type, str]) -> str:
    """Return a record as a line of JSON in which each record of some *kinds* stands once.

    *kinds* maps a class to a letter. Where such a record would stand, there stands its name, the
    letter and a number. The records stand by name in a further field ``said``; what is an empty
    text or list in one of them is left out.

    Raises:
        TypeError: something in it has no form in JSON.

    """
    writers = _Once(kinds)
    rows = {one.name: writers.text(getattr(value, one.name)) for one in fields(value)}
    said = ", ".join(f"{name}: {text}" for text, name in writers.said.items())
    rows["said"] = f"{{{said}}}"
    return f"{{{', '.join(f'{_quoted(name)}: {rows[name]}' for name in sorted(rows))}}}"


class _Quoted(dict[str, str]):
    """Text -> the same in quotation marks; a label or a message stands in an answer many times."""

    def __missing__(self, text: str) -> str:
        found = self[text] = _quoted(text)
        return found


class _Writers(dict[type, _Writer]):
    """Type -> what writes a value of it; lives as long as one text is written."""

    def __init__(self) -> None:
        self._texts = _Quoted().__getitem__
        super().__init__(
            {
                str: self._texts,
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
            return self._texts
        if issubclass(kind, (list, tuple)):
            return self._list
        if issubclass(kind, dict):
            return self._mapping
        if is_dataclass(kind):
            return self._record(kind)
        return _plain

    def _list(self, values: Any) -> str:
        if not values:
            return "[]"
        if isinstance(values[0], str):  # most lists hold texts alone
            try:
                return f"[{', '.join(map(self._texts, values))}]"
            except TypeError:
                pass
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


class _Once(_Writers):
    """Writes records of some kinds by name; *said* maps each as JSON to its quoted name."""

    def __init__(self, kinds: Mapping[type, str]) -> None:
        super().__init__()
        self._kinds = kinds
        self.said: dict[str, str] = {}

    def _record(self, kind: type) -> _Writer:
        letter = self._kinds.get(kind)
        if letter is None:
            return super()._record(kind)
        names = sorted(field.name for field in fields(kind))
        known: dict[int, str] = {}  # by identity, as above

        def write(value: Any) -> str:
            name = known.get(id(value))
            if name is None:
                given = ((one, getattr(value, one)) for one in names)
                rows = [
                    f"{_quoted(one)}: {self.text(what)}"
                    for one, what in given
                    if what not in ("", ())
                ]
                new = f'"{letter}{len(self.said) + 1}"'
                name = known[id(value)] = self.said.setdefault(f"{{{', '.join(rows)}}}", new)
            return name

        return write


def _decimal(value: float) -> str:
    return float.__repr__(value) if math.isfinite(value) else json.dumps(value)


def _plain(value: object) -> str:
    """Return what the standard library makes of anything else, a mapping by numbers for one."""
    return json.dumps(value, ensure_ascii=False, sort_keys=True)
