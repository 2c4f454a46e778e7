"""Cases as cards: a small picture, what it is for, how far it is, and who waits for whom."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any, Final

from markupsafe import Markup

from leastwise.api.drawings.object_picture import small_picture
from leastwise.api.pages.entry.check import rows_of
from leastwise.api.pages.entry.sketch import named_parts
from leastwise.api.pages.picture import marks_of
from leastwise.api.services.reviewing import STATES, reviews_of
from leastwise.api.store import Store
from leastwise.api.store.records.values import CaseRow
from leastwise.graph.case.demo import demo_names, demo_sketch, read_demo
from leastwise.graph.knowledge.knowledge import Knowledge

__all__ = ["CaseCard", "DemoCard", "cards_of", "demo_cards"]

#: Who has to do something next, by the state of the newest frozen version.
WAITS: Final = {
    "with-reviewers": "waits for the reviewers",
    "agreed": "waits for a signature",
    "agreed-with-changes": "waits for the owner's changes",
    "settle-first": "waits for what is to be settled",
    "not-agreed": "waits for the owner",
    "signed": "nobody waits",
    "withdrawn": "waits for the owner",
}


@dataclass(frozen=True, slots=True)
class CaseCard:
    """A case in the list. *photograph* is the address of one, where the sketch lies on it."""

    row: CaseRow
    drawing: Markup
    photograph: str
    state: str
    waits: str


@dataclass(frozen=True, slots=True)
class DemoCard:
    """An invented case to begin with: its name, title, object, and aim in words."""

    name: str
    title: str
    object: str
    aim: str
    damage: int
    drawing: Markup


def cards_of(store: Store, rows: list[CaseRow], knowledge: Knowledge) -> list[CaseCard]:
    """Return the cards of the cases of a list, in its order."""
    return [_card(store, row, knowledge) for row in rows]


def _card(store: Store, row: CaseRow, knowledge: Knowledge) -> CaseCard:
    body = store.read(row.id, "case").body
    drawing, photograph = Markup(""), ""
    sketches = store.of_case(row.id, "sketch")
    if sketches:
        ground = str(sketches[0].body.get("ground", ""))
        if ground.startswith("photograph:"):
            photograph = f"/cases/{row.id}/photographs/{ground.removeprefix('photograph:')}"
        drawing = _drawn(body, sketches[0].body, f"card-{row.id}", knowledge)
    state, waits = _state(store, row.id, body)
    return CaseCard(row, drawing, photograph, state, waits)


def _drawn(
    body: Mapping[str, Any], sketch: Mapping[str, object], name: str, knowledge: Knowledge
) -> Markup:
    marks = marks_of(body, knowledge)
    drawn = small_picture(named_parts(body), sketch, name=name, marks=marks)
    return Markup(drawn)  # noqa: S704 - our own drawing, every text in it escaped


def _state(store: Store, case: str, body: Mapping[str, Any]) -> tuple[str, str]:
    """Return how far a case is, and who has to do something next."""
    reviews = [one for one in reviews_of(store, case) if one.state in STATES]
    if reviews:
        newest = reviews[-1]
        return f"version {newest.frozen.number} {STATES[newest.state]}", WAITS[newest.state]
    for key, what in (("parts", "no parts yet"), ("damages", "no damage yet")):
        if not rows_of(body, key):
            return f"record begun, {what}", "waits for the record"
    aim = body.get("aim")
    if not (isinstance(aim, dict) and aim.get("purpose")):
        return "record begun, no aim yet", "waits for the record"
    return "recorded, not yet before reviewers", "waits for the owner"


def demo_cards(knowledge: Knowledge) -> list[DemoCard]:
    """Return the invented cases as cards, made once for each knowledge."""
    return [knowledge.made(("demo card", name), _demo_card) for name in demo_names()]


def _demo_card(knowledge: Knowledge, key: tuple[str, str]) -> DemoCard:
    case = read_demo(key[1], knowledge)
    drawing = _drawn(case.model_dump(mode="json"), demo_sketch(key[1]), f"demo-{key[1]}", knowledge)
    mounting = case.aim.mounting.replace("-", " ")
    aim = f"{case.aim.purpose}, {mounting}" if mounting != "unknown" else str(case.aim.purpose)
    return DemoCard(key[1], case.title, case.object.name, aim, len(case.damages), drawing)
