"""The record of a case in short: what it says, what it lacks, which step comes next."""

from __future__ import annotations

import re
from dataclasses import dataclass
from typing import Any, Final

from leastwise.api.pages.entry.check import Checked, rows_of
from leastwise.api.pages.entry.fields import AIM, OBJECT, ROWS, Entry
from leastwise.api.pages.entry.said import sentence
from leastwise.api.pages.entry.typed import shown
from leastwise.api.pages.entry.view import part_options
from leastwise.api.pages.entry.words import label_of, place_in_words, step_of, value_in_words
from leastwise.api.pages.steps import STEPS, Step
from leastwise.api.store import Document
from leastwise.graph.errors import Problem
from leastwise.graph.knowledge.knowledge import Knowledge

__all__ = ["Overview", "StepState", "overview_of"]

#: What a record may leave open, step by step; worth asking for, never needed.
OPEN: Final = {
    "parts": ("lies_flat", "reverse_reachable", "bears_handling"),
    "damages": ("extent", "severity", "activity", "evidence"),
}
#: Fields that a short name is made from.
_SAYING: Final = frozenset({"name", "damage", "parts"})


@dataclass(frozen=True, slots=True)
class StepState:
    """How far a step of the record is."""

    key: str
    label: str
    path: str
    says: str
    begun: bool
    lacks: tuple[str, ...]
    wrong: tuple[str, ...]
    open: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Overview:
    """The record in short, and the step that is best taken next."""

    facts: tuple[tuple[str, str], ...]
    parts: tuple[tuple[str, str], ...]
    damages: tuple[tuple[str, str, str], ...]
    steps: tuple[StepState, ...]
    further: tuple[str, ...]  # problems outside the steps
    next_path: str
    next_words: str


def overview_of(document: Document, checked: Checked, knowledge: Knowledge) -> Overview:
    """Return the overview of a draft."""
    body = document.body
    names = dict(part_options(body))
    steps = tuple(_step_state(step, body, checked, knowledge) for step in STEPS[0][1])
    further = tuple(
        f"{place_in_words(one.path, body, knowledge)}: {sentence(one)}"
        for one in (*checked.wrong, *checked.missing)
        if not step_of(one.path)
    )
    next_path, next_words = _next(steps, body, checked)
    return Overview(
        _facts(body, knowledge),
        tuple(
            (
                shown(row.get("name")) or f"part {i + 1}",
                ", ".join(
                    label_of(m.get("material"), knowledge, "material")
                    for m in rows_of(row, "materials")
                ),
            )
            for i, row in enumerate(rows_of(body, "parts"))
        ),
        tuple(_damage(i, row, names, knowledge) for i, row in enumerate(rows_of(body, "damages"))),
        steps,
        further,
        next_path,
        next_words,
    )


def _entry(entries: tuple[Entry, ...], key: str) -> Entry:
    return next(one for one in entries if one.key == key)


def _inner(body: dict[str, Any], key: str) -> dict[str, Any]:
    value = body.get(key)
    return value if isinstance(value, dict) else {}


def _facts(body: dict[str, Any], knowledge: Knowledge) -> tuple[tuple[str, str], ...]:
    found = []
    for group, entries, keys in (
        ("object", OBJECT, ("name", "kind", "made", "identifier", "keeper")),
        ("aim", AIM, ("purpose", "mounting", "months")),
    ):
        for key in keys:
            entry = _entry(entries, key)
            said = value_in_words(_inner(body, group).get(key), entry, knowledge)
            if said and said != "unknown":
                found.append((entry.label, f"{said} {entry.unit}".strip()))
    return tuple(found)


def _damage(
    place: int, row: dict[str, Any], names: dict[str, str], knowledge: Knowledge
) -> tuple[str, str, str]:
    parts = row.get("parts")
    on = [names.get(shown(p), shown(p)) for p in parts] if isinstance(parts, list) else []
    more = [shown(row.get("severity")), shown(row.get("activity"))]
    return (
        label_of(row.get("damage"), knowledge, "damage") or f"damage {place + 1}",
        ", ".join(on),
        ", ".join(one for one in more if one and one != "unknown"),
    )


def _step_state(
    step: Step, body: dict[str, Any], checked: Checked, knowledge: Knowledge
) -> StepState:
    def told(problems: tuple[Problem, ...]) -> tuple[str, ...]:
        mine = {one.path for one in problems if step_of(one.path) == step.key}
        # a part without a name has no short name either; the name is asked for, once
        asked = [p for p in mine if not (p.endswith(".id") and _SAYING & _beside(p, mine))]
        return tuple(place_in_words(path, body, knowledge) for path in sorted(asked, key=_in_order))

    return StepState(
        step.key,
        step.label,
        step.path,
        _says(step.key, body),
        _is_begun(step.key, body),
        told(checked.missing),
        told(checked.wrong),
        _open(step.key, body),
    )


def _beside(path: str, paths: set[str]) -> set[str]:
    """Return the fields of the same row that are among the *paths*."""
    row = path.rpartition(".")[0]
    return {one.removeprefix(f"{row}.") for one in paths if one.startswith(f"{row}.")}


def _in_order(path: str) -> tuple[tuple[int, str], ...]:
    """Return what puts paths in the order of the record: row 2 before row 10."""
    return tuple((int(n or 0), name) for name, n in re.findall(r"([a-z_]+)|\[(\d+)\]", path))


def _is_begun(key: str, body: dict[str, Any]) -> bool:
    if key in ROWS:
        return bool(rows_of(body, key))
    return key == "object" or (key == "aim" and bool(_inner(body, "aim").get("purpose")))


def _says(key: str, body: dict[str, Any]) -> str:
    if key in ("parts", "damages", "tests", "contacts"):
        n = len(rows_of(body, key))
        one = {"parts": "part", "damages": "damage", "tests": "test", "contacts": "contact"}[key]
        many = "pieces of damage" if key == "damages" else f"{one}s"
        none = "no damage yet" if key == "damages" else f"no {many} yet"
        return f"{n} {one if n == 1 else many}" if n else none
    if key == "aim":
        return shown(_inner(body, "aim").get("purpose")) or "no aim yet"
    return shown(_inner(body, "object").get("name")) if key == "object" else ""


def _open(key: str, body: dict[str, Any]) -> tuple[str, ...]:
    """Return what is still unknown, counted; nothing unknown is taken to be safe."""
    found = []
    for field in OPEN.get(key, ()):
        rows = rows_of(body, key)
        n = sum(row.get(field) in (None, "", "unknown") for row in rows)
        if n:
            found.append(f"{_entry(ROWS[key][1], field).label} ({n} of {len(rows)} unknown)")
    if key == "aim":
        for group, field, words in (
            ("significance", "curator_agrees", "whether the curator agrees"),
            ("aim", "mounting", "how it will be held"),
            ("means", "hours", "hours at hand"),
            ("means", "equipment", "equipment at hand"),
        ):
            if _inner(body, group).get(field) in (None, "", "unknown"):
                found.append(words)
    return tuple(found)


def _next(steps: tuple[StepState, ...], body: dict[str, Any], checked: Checked) -> tuple[str, str]:
    for step in steps:
        if step.wrong or step.lacks:
            return step.path, step.label
    for key, path, words in (
        ("damages", "/damages", "Damage: none is written down yet"),
        ("contacts", "/contacts", "How parts touch: nothing is written down yet"),
    ):
        alone = key == "contacts" and len(rows_of(body, "parts")) < 2
        if not rows_of(body, key) and not alone:
            return path, words
    if checked.case is None:
        return "/object", "Object"
    return "/options", "Options: the record is complete enough to be weighed"
