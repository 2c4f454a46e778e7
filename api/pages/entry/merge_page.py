"""The page on which a person decides between two versions of the same entries."""

from __future__ import annotations

import json
from dataclasses import dataclass
from typing import Any, Final

from fastapi import Request
from fastapi.responses import Response

from leastwise.api.http.state import adviser_of, store_of
from leastwise.api.identity.people import person_of
from leastwise.api.pages.entry.fields import Entry
from leastwise.api.pages.entry.words import entry_at, place_in_words, step_of, value_in_words
from leastwise.api.pages.page import render
from leastwise.api.services.setting_aside import set_aside
from leastwise.api.store import Conflict
from leastwise.api.store.records.merge import ABSENT, Clash, merge
from leastwise.graph.knowledge.knowledge import Knowledge

__all__ = ["may_keep_both", "merge_page"]

NOTHING: Final = "nothing"
Body = dict[str, Any]


@dataclass(frozen=True, slots=True)
class Side:
    """One of the choices at a place."""

    key: str
    whose: str
    said: str


@dataclass(frozen=True, slots=True)
class Place:
    """A place that both have changed, as the merge page shows it."""

    path: str
    words: str
    sides: tuple[Side, ...]


def merge_page(  # noqa: PLR0913 - what the page is told by
    request: Request,
    conflict: Conflict,
    clashes: tuple[Clash, ...],
    what: str,
    after: str,
    *,
    aside: str = "",
) -> Response:
    """Return the page that shows both versions of each place that both changed (status 409).

    What the person wrote is set aside until it is decided, should the page be left.
    """
    anew = not aside
    if anew:
        aside = set_aside(store_of(request), conflict, what, person_of(request).account)
    knowledge = adviser_of(request).knowledge
    merged = merge(conflict.base.body, conflict.theirs.body, conflict.mine).body
    who = conflict.theirs.changed_by
    return render(
        request,
        "merge.html",
        title="Two versions of the same entries",
        status=409 if anew else 200,
        step=step_of(clashes[0].path) if clashes else "",
        aside=aside,
        document=conflict.theirs,
        base=conflict.base,
        who=who,
        what=what,
        after=after,
        mine=json.dumps(conflict.mine, ensure_ascii=False),
        places=[_place(one, merged, who, knowledge) for one in clashes],
    )


def _place(clash: Clash, merged: Body, who: str, knowledge: Knowledge) -> Place:
    entry = entry_at(clash.path)
    sides = [
        Side("mine", "Yours", _said(clash.mine, entry, knowledge)),
        Side("theirs", f"What {who} wrote", _said(clash.theirs, entry, knowledge)),
        Side("base", "As it was before both", _said(clash.base, entry, knowledge)),
    ]
    if may_keep_both(clash):
        sides.insert(2, Side("both", "Both, one after the other", ""))
    return Place(clash.path, place_in_words(clash.path, merged, knowledge), tuple(sides))


def _said(value: object, entry: Entry | None, knowledge: Knowledge) -> str:
    if value is ABSENT:
        return NOTHING
    if isinstance(value, dict) and "value" not in value:
        return json.dumps(value, ensure_ascii=False, indent=1)[:2000]
    if isinstance(value, str) and (entry is None or not entry.options):
        return value or NOTHING
    return value_in_words(value, entry, knowledge) or NOTHING


def may_keep_both(clash: Clash) -> bool:
    """Return whether both sides of a clash can stand, one after the other: rows of a list."""
    sides = (clash.mine, clash.theirs)
    return clash.path.endswith("]") and all(isinstance(s, dict) and s.get("id") for s in sides)
