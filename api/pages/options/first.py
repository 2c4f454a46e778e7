"""What stands first on the options page: what would open the rest, as boxes whose effect shows."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

from fastapi import Request

from leastwise.api.pages.opened import Opened, shelved
from leastwise.graph.answer import (
    Answer,
    DamageAnswer,
    FindingView,
    OptionAnswer,
    SettleFirst,
)
from leastwise.graph.case.record import Case
from leastwise.graph.meanings import Verdict
from leastwise.graph.questions.preview import Preview, key_of, preview
from leastwise.graph.sentences import listed
from leastwise.graph.weighing.said_once import protecting

__all__ = ["FIELD", "Box", "boxes", "people_of", "previewed"]

#: The field of the form that holds what is supposed.
FIELD: Final = "try"
#: So many boxes are shown before the others are folded, and so many names of what each opens.
MOST_BOXES: Final = 3
#: What a test costs the object, by the grade of material lost.
COSTS: Final = (
    "costs the object nothing",
    "leaves a mark or takes a loose fibre",
    "takes a crumb or yarn",
    "takes a cut piece",
)


@dataclass(frozen=True, slots=True)
class Box:
    """One thing to settle as a box to tick: what it is, on what, what it costs, what it opens."""

    key: str
    label: str
    on: str
    cost: str
    opens: str
    ticked: bool


def previewed(
    request: Request, opened: Opened, policy: str, ticked: Sequence[str]
) -> Preview | None:
    """Return the answer as it would be once what is ticked has come out well, or None.

    Raises:
        CaseError: something is ticked that isn't open.

    """
    keys = tuple(sorted(set(ticked)))
    if not keys:
        return None
    return shelved(request, opened, f"preview {' '.join(keys)}", preview, keys, policy=policy)


def boxes(case: Case, answer: Answer, ticked: Sequence[str]) -> tuple[list[Box], list[Box]]:
    """Return the boxes of what is open, those to show and those to fold."""
    names = {part.id: part.name for part in case.parts}
    problems = {d.id: d for d in answer.damages}
    found = [_box(one, names, problems, ticked) for one in answer.headline.settle_first]
    shown = [box for i, box in enumerate(found) if i < MOST_BOXES or box.ticked]
    return shown, [box for box in found if box not in shown]


def _box(
    one: SettleFirst,
    names: dict[str, str],
    problems: dict[str, DamageAnswer],
    ticked: Sequence[str],
) -> Box:
    key = key_of(one)
    minutes = f"{one.minutes} min, {COSTS[min(one.material_lost, 3)]}" if one.minutes else ""
    opens = dict.fromkeys(o.problem for o in one.opens)
    return Box(
        key,
        one.label,
        listed([names.get(part, part) for part in one.parts]) if one.minutes else "",
        minutes,
        listed([problems[p].label for p in opens if p in problems]),
        key in ticked,
    )


def people_of(answer: Answer) -> list[FindingView]:
    """Return what protects people at the object and in what comes first of each problem."""
    chosen: list[OptionAnswer] = []
    for damage in answer.damages:
        standing = [o for o in damage.options if o.verdict != Verdict.DEFEATED]
        first = next((o for o in standing if o.meets_aim), None)
        chosen += [first] if first else standing[:1]
    return protecting(answer.people_first, answer.options(), chosen)
