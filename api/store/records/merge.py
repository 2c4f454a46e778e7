"""Two people's changes to one record, put together; pure functions over plain JSON values.

What only one has changed is taken from that one. Where both have changed the same field to
different values, both are told, and the merged body holds *mine* until a person decides. Where one
has removed what the other has changed, the changed one stays in the body and both are told.

Objects in lists are matched by their ``id``, else by what tells them apart (a contact by its two
parts, a test by test, part, material and agent), else by their whole value.
"""

from __future__ import annotations

import json
from collections import Counter
from collections.abc import Callable, Hashable, Sequence
from dataclasses import dataclass
from enum import Enum
from typing import Any, Final

from leastwise.api.store.records.values import Body

__all__ = ["ABSENT", "Absent", "Clash", "Merged", "merge"]

Value = Any  # a value of JSON, or ABSENT


class Absent(Enum):
    """Stands for a value that isn't there, which is something else than null."""

    ABSENT = "not there"

    def __str__(self) -> str:
        return self.value


ABSENT: Final = Absent.ABSENT


@dataclass(frozen=True, slots=True)
class Clash:
    """One place that both have changed differently; a value that isn't there is ABSENT.

    *path* leads to it in the merged body, as in the problems of a case: ``parts[0].name``.
    """

    path: str
    base: Value
    theirs: Value
    mine: Value


@dataclass(frozen=True, slots=True)
class Merged:
    """The record put together, and what a person has to decide."""

    body: Body
    clashes: tuple[Clash, ...]


#: List -> fields that tell its objects apart, from coarse to fine; the first that tell all counts.
TELLING: dict[str, tuple[tuple[str, ...], ...]] = {
    "contacts": (("between",), ("between", "kind"), ("between", "kind", "barrier")),
    "tests": (("test", "part", "material", "agent"), ("test", "part", "material", "agent", "date")),
    "materials": (("material",), ("material", "identified")),
    "packs": (("damage", "technique"),),
}
ANY_LIST: tuple[tuple[str, ...], ...] = (("id",), ("key",), ("name",))
#: Things that two people have added under one id are one thing if these agree.
NAMES = ("name", "damage", "material", "test", "kind", "title")
#: Lists whose parts mean nothing on their own.
WHOLE = frozenset({"between"})


def merge(base: Body, theirs: Body, mine: Body) -> Merged:
    """Return what comes of *theirs* and *mine*, which both began from *base*.

    >>> merge({"a": 1, "b": 1}, {"a": 2, "b": 1}, {"a": 1, "b": 3}).body
    {'a': 2, 'b': 3}
    """
    clashes: list[Clash] = []
    body = _value("", base, theirs, mine, clashes)
    return Merged(body, tuple(clashes))


def _value(path: str, base: Value, theirs: Value, mine: Value, clashes: list[Clash]) -> Value:
    if _same(theirs, mine) or _same(mine, base):
        return theirs
    if _same(theirs, base):
        return mine
    if _is_open(base, theirs, mine, dict):
        return _fields(path, {} if base is ABSENT else base, theirs, mine, clashes)
    if _is_open(base, theirs, mine, list) and path.rpartition(".")[2] not in WHOLE:
        return _items(path, [] if base is ABSENT else base, theirs, mine, clashes)
    clashes.append(Clash(path, base, theirs, mine))
    return theirs if mine is ABSENT else mine


def _is_open(base: Value, theirs: Value, mine: Value, kind: type[Any]) -> bool:
    """Say whether both changes can be looked into, field by field or item by item."""
    if not (isinstance(theirs, kind) and isinstance(mine, kind)):
        return False
    # a figure and its unit belong together
    sides: tuple[Value, Value] = (theirs, mine)
    if kind is dict and any("unit" in one and "value" in one for one in sides):
        return False
    return base is ABSENT or isinstance(base, kind)


def _fields(path: str, base: Body, theirs: Body, mine: Body, clashes: list[Clash]) -> Body:
    merged: Body = {}
    for name in dict.fromkeys((*base, *theirs, *mine)):
        at = f"{path}.{name}" if path else name
        three = (base.get(name, ABSENT), theirs.get(name, ABSENT), mine.get(name, ABSENT))
        value = _value(at, *three, clashes)
        if value is not ABSENT:
            merged[name] = value
    return merged


def _items(
    path: str,
    base: list[Value],
    theirs: list[Value],
    mine: list[Value],
    clashes: list[Clash],
) -> list[Value]:
    key = _key(path, (base, theirs, mine))
    old, them, me = (_keyed(items, key) for items in (base, theirs, mine))
    merged: list[Value] = []
    for name in _order(list(old), list(them), list(me)):
        three = (old.get(name, ABSENT), them.get(name, ABSENT), me.get(name, ABSENT))
        at = f"{path}[{len(merged)}]"
        value = _item(at, *three, clashes)
        if value is not ABSENT:
            merged.append(value)
    return merged


def _item(path: str, base: Value, theirs: Value, mine: Value, clashes: list[Clash]) -> Value:
    both_added = base is ABSENT and isinstance(theirs, dict) and isinstance(mine, dict)
    if both_added and any(not _same(theirs.get(name), mine.get(name)) for name in NAMES):
        clashes.append(Clash(path, base, theirs, mine))  # two things that got the same id
        return mine
    return _value(path, base, theirs, mine, clashes)


def _order(base: list[Hashable], theirs: list[Hashable], mine: list[Hashable]) -> list[Hashable]:
    """Return all names in the order of whoever has changed it; mine, if both have."""
    is_theirs = _reordered(base, theirs) and not _reordered(base, mine)
    first, second = (theirs, mine) if is_theirs else (mine, theirs)
    held = set(first)
    found = list(first)
    before: Hashable = None  # what stands before it in the other order
    for name in second:
        if name not in held:
            found.insert(0 if before is None else found.index(before) + 1, name)
        before = name
    return found


def _reordered(base: list[Hashable], now: list[Hashable]) -> bool:
    kept = set(base) & set(now)
    return [one for one in base if one in kept] != [one for one in now if one in kept]


def _keyed(items: list[Value], key: Callable[[Value], Hashable]) -> dict[Hashable, Value]:
    """Return items by key; of several with the same key each counts for itself."""
    seen: Counter[Hashable] = Counter()
    found: dict[Hashable, Value] = {}
    for item in items:
        name = key(item)
        found[(name, seen[name])] = item
        seen[name] += 1
    return found


def _key(path: str, lists: Sequence[list[Value]]) -> Callable[[Value], Hashable]:
    """Return what tells the objects of a list apart, in all three of its forms."""
    name = path.rpartition(".")[2]
    for fields in (("id",), *TELLING.get(name, ()), *ANY_LIST):
        if all(_tells(fields, items) for items in lists):
            return lambda item, fields=fields: _said(item, fields)  # type: ignore[misc]
    return _text


def _tells(fields: tuple[str, ...], items: list[Value]) -> bool:
    said = [_said(item, fields) for item in items]
    return None not in said and len(set(said)) == len(said)


def _said(item: Value, fields: tuple[str, ...]) -> Hashable:
    """Return the text of the telling fields, or None where the first of them is empty."""
    if not isinstance(item, dict) or item.get(fields[0]) in (None, "", []):
        return None
    return _text([item.get(field) for field in fields])


def _text(value: Value) -> str:
    return json.dumps(value, sort_keys=True, default=str)


def _same(one: Value, other: Value) -> bool:
    # by text, since 1, 1.0 and true are equal in Python and not in a record
    if one is ABSENT or other is ABSENT:
        return one is other
    return _text(one) == _text(other)
