"""What the record says already isn't asked again, and what a thing is decides what is offered."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import pytest

from leastwise.graph import Adviser, Case
from leastwise.graph.answer import Answer

Make = Callable[..., Case]


def grounds(answer: Answer, name: str) -> set[str]:
    one = next(o for o in answer.options() if o.id == name)
    return {m.what for f in one.findings if f.effect == "leavesUndecided" for m in f.mends}


def apron(make: Make, evidence: str, kind: str = "dust") -> Case:
    part = {"id": "apron", "name": "apron", "bears_handling": "yes", "sound_surroundings": "yes"}
    made_of = {"materials": [{"material": "cotton", "identified": "certain"}]}
    soil = {"id": "soil", "damage": kind, "parts": ["apron"], "evidence": evidence}
    return make(parts=[part | made_of], damages=[soil])


@pytest.mark.parametrize(
    ("evidence", "kind", "asked"),
    [
        ("no", "dust", False),
        ("unknown", "dust", True),
        ("yes", "dust", True),
        ("no", "soot", True),
    ],
)
def test_dust_that_is_said_to_be_no_evidence_is_not_identified_first(
    adviser: Adviser, make_case: Make, evidence: str, kind: str, *, asked: bool
) -> None:
    answer = adviser.weigh(apron(make_case, evidence, kind))
    found = grounds(answer, "soil/screened-vacuum")
    assert ("test:soil-identification" in found) is asked


def test_a_test_that_was_made_counts_though_the_record_says_it_already(
    adviser: Adviser, make_case: Make
) -> None:
    case = apron(make_case, "no")
    bad = {"test": "test:soil-identification", "part": "apron", "result": "bad"}
    tested = make_case(
        parts=[p.model_dump(mode="json") for p in case.parts],
        damages=[d.model_dump(mode="json") for d in case.damages],
        tests=[bad],
    )
    option = next(o for o in adviser.weigh(tested).options() if o.id == "soil/screened-vacuum")
    assert option.verdict == "defeated"


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
