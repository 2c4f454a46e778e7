"""Places of the record, values and changes, in plain words."""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from types import MappingProxyType
from typing import Any, Final

from leastwise.api.pages.entry.check import names_of
from leastwise.api.pages.entry.fields import GROUPS, ROWS, Entry
from leastwise.api.pages.entry.typed import shown
from leastwise.graph.case.reading import fold_name
from leastwise.graph.knowledge.knowledge import Knowledge

__all__ = [
    "Change",
    "changes_between",
    "entry_at",
    "label_of",
    "place_in_words",
    "step_of",
    "value_in_words",
]

#: Top-level field of the record -> the step that holds it.
STEP_OF: Final = {
    "title": "object",
    "object": "object",
    "record": "object",
    "parts": "parts",
    "contacts": "contacts",
    "damages": "damages",
    "needs": "damages",
    "tests": "tests",
    "significance": "aim",
    "aim": "aim",
    "means": "aim",
    "weighing": "aim",
}
#: The fields by which rows are called that have no name of their own.
NAMES: Final = ("material", "damage", "need", "test")
#: Fields that name parts by their ids.
OF_PARTS: Final = ("parts", "part", "between")
_ABSENT: Final = object()
#: Values that say as much as no value; a change from one to another is none.
_EMPTY: Final[tuple[object, ...]] = (None, "", "unknown", [], {})
Step = str | int


@dataclass(frozen=True, slots=True)
class Change:
    """One change of a record: where, and what stood and stands there (empty where nothing did)."""

    where: str
    before: str
    after: str


def step_of(path: str) -> str:
    """Return the step of the way that holds a place of the record; empty where none does."""
    return STEP_OF.get(re.split(r"[.\[]", path, maxsplit=1)[0], "")


def place_in_words(path: str, body: Mapping[str, Any], knowledge: Knowledge) -> str:
    """Return a path such as ``parts[0].lies_flat`` in words: *hem: lies flat*."""
    return _said(_steps(path), body, knowledge)


def entry_at(path: str) -> Entry | None:
    """Return the field that a path of the record leads to, if it is one of the table's."""
    return _entry_of(_steps(path))


def label_of(value: object, knowledge: Knowledge, scheme: str = "") -> str:
    """Return a name as people say it: the label of the concept it stands for, or as it is."""
    if not isinstance(value, str):
        return shown(value)
    kind = scheme or value.partition(":")[0]
    if kind == "finding":
        kind = value.partition(":")[0]
    if kind in ("material", "damage", "test", "agent", "need", "policy"):
        found = names_of(knowledge, kind).get(fold_name(value))
        return knowledge.label(found) if found else value
    return value


def value_in_words(
    value: object,
    entry: Entry | None,
    knowledge: Knowledge,
    names: Mapping[str, str] = MappingProxyType({}),
) -> str:
    """Return a value as a sentence shows it, at most 160 characters; *names* are of the parts."""
    if value is _ABSENT or value in (None, "", [], {}):
        return ""
    said = _plain(value, entry, knowledge, names)
    return said if len(said) <= 160 else f"{said[:157]}…"


def _plain(
    value: object, entry: Entry | None, knowledge: Knowledge, names: Mapping[str, str]
) -> str:
    if isinstance(value, list):
        return ", ".join(_plain(one, entry, knowledge, names) for one in value)
    if isinstance(value, dict):
        return _of_mapping(value, entry, knowledge, names)
    if entry is not None and entry.key in OF_PARTS and value in names:
        return names[shown(value)]
    if entry is not None and isinstance(value, str):
        return dict(entry.options).get(value) or label_of(value, knowledge, entry.scheme)
    return label_of(value, knowledge)


def _of_mapping(
    value: Mapping[str, Any], entry: Entry | None, knowledge: Knowledge, names: Mapping[str, str]
) -> str:
    if "value" in value:
        unit = dict(entry.options).get(shown(value.get("unit")), "") if entry else ""
        return f"{shown(value['value'])} {unit or shown(value.get('unit'))}".strip()
    name = next((value[key] for key in ("name", *NAMES) if value.get(key)), value.get("other", ""))
    if name:
        return label_of(name, knowledge)
    if entry is not None and entry.kind in ("group", "pairs"):
        return ", ".join(_figures(value, entry))
    return ", ".join(_fields_in_words(value, knowledge, names))


def _fields_in_words(
    value: Mapping[str, Any], knowledge: Knowledge, names: Mapping[str, str]
) -> Iterator[str]:
    """Yield what a row without a name says: *lining and hem*, *kind stitched*."""
    ends = value.get("between")
    if isinstance(ends, list):
        yield " and ".join(names.get(shown(end), shown(end)) for end in ends)
    for key, one in value.items():
        if key not in ("between", "id") and not _is_empty(one) and one != "unknown":
            yield f"{key.replace('_', ' ')} {_plain(one, None, knowledge, names)}"


def _figures(value: Mapping[str, Any], entry: Entry) -> Iterator[str]:
    """Yield what a group of figures says: *length 40 cm*."""
    known = {one.key: one for one in entry.inner}
    for key, one in value.items():
        inner = known.get(key)
        label = inner.label.lower() if inner else key.replace("-", " ")
        unit = inner.unit if inner else entry.unit
        if one not in _EMPTY:
            yield f"{label} {shown(one)} {unit}".strip()


def changes_between(
    before: Mapping[str, Any], after: Mapping[str, Any], knowledge: Knowledge
) -> list[Change]:
    """Return what changed between two bodies, in words.

    Parts and damages are the same if their id is; a change between two ways of saying nothing is
    none.
    """
    was, now = _part_names(before), _part_names(after)
    return [
        Change(
            _said(steps, after if new is not _ABSENT else before, knowledge),
            value_in_words(old, _entry_of(steps), knowledge, was),
            value_in_words(new, _entry_of(steps), knowledge, now),
        )
        for steps, old, new in _differences((), dict(before), dict(after))
    ]


def _part_names(body: Mapping[str, Any]) -> dict[str, str]:
    rows = body.get("parts")
    found = [row for row in rows if isinstance(row, dict)] if isinstance(rows, list) else []
    return {shown(row["id"]): shown(row.get("name")) or shown(row["id"])
            for row in found if row.get("id")}  # fmt: skip


def _differences(
    steps: tuple[Step, ...], old: object, new: object
) -> Iterator[tuple[tuple[Step, ...], object, object]]:
    if old == new or (_is_empty(old) and _is_empty(new)):
        return
    was = {} if old is _ABSENT else old
    if isinstance(was, dict) and isinstance(new, dict) and "value" not in new:
        for key in dict.fromkeys([*was, *new]):
            yield from _differences((*steps, key), was.get(key, _ABSENT), new.get(key, _ABSENT))
    elif _rows(old) and _rows(new) and (old or new):
        yield from _row_differences(steps, _as_list(old), _as_list(new))
    else:
        yield steps, old, new


def _row_differences(
    steps: tuple[Step, ...], old: list[Any], new: list[Any]
) -> Iterator[tuple[tuple[Step, ...], object, object]]:
    was = {_key(row, i): row for i, row in enumerate(old)}
    known = set()
    for i, row in enumerate(new):
        key = _key(row, i)
        known.add(key)
        if key not in was:
            yield (*steps, i), _ABSENT, row
        else:
            yield from _differences((*steps, i), was[key], row)
    for i, row in enumerate(old):
        if _key(row, i) not in known:
            yield (*steps, i), row, _ABSENT
    order = [_key(row, i) for i, row in enumerate(old) if _key(row, i) in known]
    if order != [_key(row, i) for i, row in enumerate(new) if _key(row, i) in was]:
        yield steps, "another order", "this order"


def _key(row: Any, place: int) -> object:
    if isinstance(row, dict):
        if isinstance(row.get("id"), str) and row["id"]:
            return row["id"]
        if isinstance(row.get("between"), list):
            return ("between", *(str(end) for end in row["between"]))
    return place


def _rows(value: object) -> bool:
    return value is _ABSENT or (isinstance(value, list) and all(isinstance(v, dict) for v in value))


def _as_list(value: object) -> list[Any]:
    return value if isinstance(value, list) else []


def _is_empty(value: object) -> bool:
    return value is _ABSENT or value in _EMPTY or value == {"between": []}


def _steps(path: str) -> tuple[Step, ...]:
    return tuple(
        int(number) if number else name
        for name, number in re.findall(r"([^.\[\]]+)(?=[.\[]|$)|\[(\d+)\]", path)
        if name or number
    )


def _entry_of(steps: tuple[Step, ...]) -> Entry | None:
    """Return the field that a place belongs to."""
    names = [step for step in steps if isinstance(step, str)]
    for at, name in enumerate(names[:-1]):
        group = GROUPS.get(name) or ROWS.get(name)
        if group:
            found = next((e for e in group[1] if e.key == names[at + 1]), None)
            if found is not None:
                return found
    return None


def _said(steps: tuple[Step, ...], body: Mapping[str, Any], knowledge: Knowledge) -> str:
    """Return the place in words; rows are called by their name where they have one."""
    said: list[str] = []
    here: Any = body
    for at, step in enumerate(steps):
        here = _inside(here, step)
        before = steps[at - 1] if at else ""
        if isinstance(step, int):
            noun = ROWS[before][0] if isinstance(before, str) and before in ROWS else ""
            said.append(_row_name(noun, step, here, knowledge, _part_names(body)))
        elif step in ROWS and at + 1 < len(steps) and isinstance(steps[at + 1], int):
            continue
        else:
            entry = _entry_of(steps[: at + 1])
            group = GROUPS.get(step) if at == 0 else None
            if not (group and at + 1 < len(steps)):
                name = group[0] if group else entry.label if entry else step.replace("_", " ")
                name = name if not said else name[:1].lower() + name[1:]
                said += [name] if said[-1:] != [name] else []  # an extent has a value and a unit
    return ": ".join(one for one in said if one) or "the record"


def _row_name(
    noun: str, place: int, row: Any, knowledge: Knowledge, parts: Mapping[str, str]
) -> str:
    name = ""
    if isinstance(row, dict):
        name = next(
            (label_of(row[k], knowledge) for k in ("name", *NAMES) if row.get(k)),
            shown(row.get("other")),
        )
        ends = row.get("between")
        if isinstance(ends, list):
            name = " and ".join(parts.get(shown(end), shown(end)) for end in ends)
    if not noun:
        return f"{place + 1}"
    return f"{noun} {place + 1}" + (f" ({name[:60]})" if name else "")


def _inside(here: Any, step: Step) -> Any:
    if isinstance(here, dict) and isinstance(step, str):
        return here.get(step)
    if isinstance(here, list) and isinstance(step, int) and step < len(here):
        return here[step]
    return None
