"""What a thing is, and what holds it together, decides what is offered."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import pytest

from leastwise.graph import Adviser, Case

Make = Callable[..., Case]


def seat(make: Make, **thing: Any) -> Case:
    return make(object={"name": "seat"} | thing, damages=[])


@pytest.mark.parametrize(("form", "offered"), [("three-dimensional", False), ("unknown", True)])
def test_no_board_is_a_mount_for_what_stands_by_itself(
    adviser: Adviser, make_case: Make, form: str, *, offered: bool
) -> None:
    answer = adviser.weigh(seat(make_case, kind="furnishing", form=form))
    carried = next(d for d in answer.damages if d.damage.startswith("need:carried"))
    meeting = {o.technique for o in carried.options if o.heading == "meets-aim"}
    assert ("technique:handling-board" in meeting) is offered


@pytest.mark.parametrize(("lining", "offered"), [(True, True), (False, False)])
def test_a_lining_comes_off_only_where_there_is_one(
    adviser: Adviser, make_case: Make, *, lining: bool, offered: bool
) -> None:
    face = {"id": "face", "name": "face", "materials": [{"material": "wool"}]}
    behind = {"id": "under", "name": "second layer", "materials": [{"material": "linen"}]}
    kind = "layered-under" if lining else "apart"
    touching = {"between": ["under", "face"], "kind": kind}
    mount = {"id": "tabs", "damage": "harmful-mount", "parts": ["face"]}
    case = make_case(parts=[face, behind], contacts=[touching], damages=[mount])
    options = {o.technique: o for o in adviser.weigh(case).options()}
    found = options.get("technique:lining-removal")
    assert (found is not None and found.efficacy > 0) is offered


def glued(make: Make, activity: str, parting: str, extra: list[dict[str, str]]) -> Case:
    flat = {"lies_flat": "yes"}
    lace = {"id": "lace", "name": "lace", "materials": [{"material": "linen"}]} | flat
    glue = {"material": "animal-glue", "identified": "certain"}
    card = {"id": "card", "name": "card", "materials": [glue, *extra]} | flat
    between = {"between": ["lace", "card"], "kind": "glued", "parting": parting}
    residue = {
        "id": "glue", "damage": "adhesive-residue", "parts": ["lace"],
        "severity": "moderate", "activity": activity,
    }  # fmt: skip
    return make(
        object={"name": "lace", "kind": "flat-textile"},
        parts=[lace, card],
        contacts=[between],
        damages=[residue],
    )


TAPE = {"material": "self-adhesive-tape", "identified": "certain"}


@pytest.mark.parametrize(
    ("activity", "parting", "extra", "enough"),
    [
        ("stable", "impossible", [], True),
        ("active", "impossible", [], False),
        ("stable", "possible", [], False),
        ("stable", "unknown", [], False),
    ],
)
def test_old_glue_that_holds_may_be_left(
    adviser: Adviser,
    make_case: Make,
    activity: str,
    parting: str,
    extra: list[dict[str, str]],
    *,
    enough: bool,
) -> None:
    answer = adviser.weigh(glued(make_case, activity, parting, extra))
    left = next(o for o in answer.options() if o.id == "glue/leave-and-monitor")
    assert left.meets_aim is enough


def test_tape_does_not_count_as_glue_that_holds(adviser: Adviser, make_case: Make) -> None:
    answer = adviser.weigh(glued(make_case, "stable", "impossible", [TAPE]))
    left = next(o for o in answer.options() if o.id == "glue/leave-and-monitor")
    assert not left.meets_aim
