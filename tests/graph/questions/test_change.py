"""Changes of a case: each writes one thing into the record, validated, and says what it is."""

from typing import Any

import pytest
from pydantic import ValidationError

from leastwise.graph.case.record import Case, Tri
from leastwise.graph.ids import Pair
from leastwise.graph.meanings import Remedy
from leastwise.graph.questions.change import (
    BarrierPlaced,
    Change,
    EquipmentAdded,
    FieldEntered,
    HoursAdded,
    MaterialIdentified,
    MountingChosen,
    PartingAllowed,
    PartsTakenApart,
    SkillAdded,
    TestMade,
    applied,
    shown,
)
from tests.graph.handmade import case, made_of, touching

TEST: dict[str, Any] = {
    "test": "test:spot", "label": "a spot test", "part": "a",
    "material": "material:fibre", "minutes": 5, "material_lost": 1,
}  # fmt: skip


@pytest.fixture
def two_parts() -> Case:
    return case(
        made_of("a", "fibre", known="unknown"),
        made_of("b", "silk"),
        contacts=[touching("a", "b"), touching("b", "a", "lies-on", parting="impossible")],
    )


def test_a_test_is_written_with_its_result(two_parts: Case) -> None:
    made = TestMade(**TEST, agent="agent:water")

    (done,) = applied(two_parts, [made], "bad").tests

    assert (done.test, done.part, done.result) == ("test:spot", "a", "bad")
    assert (done.material, done.agent, done.by) == ("material:fibre", "agent:water", "supposed")
    assert made.cost == (1, 5)


@pytest.mark.parametrize(("result", "known"), [("good", "certain"), ("bad", "unknown")])
def test_only_a_good_result_tells_what_a_material_is(
    two_parts: Case, result: Any, known: str
) -> None:
    told = MaterialIdentified(**TEST, found="material:silk")

    now = applied(two_parts, [told], result)

    (material,) = now.parts[0].materials
    assert material.identified == known
    assert material.material == ("material:silk" if result == "good" else "material:fibre")
    assert len(now.tests) == 1


@pytest.mark.parametrize(
    ("kind", "barrier", "parting"),
    [(BarrierPlaced, "in-place", "unknown"), (PartsTakenApart, "unknown", "done")],
)
def test_what_is_done_between_two_parts_is_done_at_each_of_their_contacts(
    two_parts: Case, kind: type[BarrierPlaced | PartsTakenApart], barrier: str, parting: str
) -> None:
    first, second = applied(two_parts, [kind(pair=Pair("b and a"), label="")]).contacts

    assert (first.barrier, first.parting) == (barrier, parting)
    assert barrier in (second.barrier, "unknown")
    assert parting in (second.parting, "unknown")


def test_entries_are_written_where_they_stand(two_parts: Case) -> None:
    asked: dict[str, Any] = {"condition": "condition:x", "label": "said"}
    now = applied(
        two_parts,
        [
            FieldEntered(**asked, holder="part", field="lies_flat", part="b"),
            FieldEntered(**asked, holder="significance", field="curator_agrees"),
            FieldEntered(**asked, holder="aim", field="rh_controlled"),
            PartingAllowed(**asked, part="a"),
            MountingChosen(mounting="hung", label="hung"),
        ],
    )

    assert [part.lies_flat for part in now.parts] == [Tri.UNKNOWN, Tri.YES]
    assert now.significance.curator_agrees is Tri.YES
    assert now.aim.rh_controlled is Tri.YES
    assert [contact.parting for contact in now.contacts] == ["possible", "possible"]
    assert now.aim.mounting == "hung"


def test_means_are_added_to_those_at_hand(two_parts: Case) -> None:
    means = applied(
        two_parts,
        [
            SkillAdded(what="lw:beyondSkill", label="", skill="specialist"),
            HoursAdded(what="lw:beyondHours", label="", hours=12),
            EquipmentAdded(what="lw:lacksEquipment", label="", equipment=("spatula",)),
            EquipmentAdded(what="lw:lacksEquipment", label="", equipment=("spatula", "lamp")),
        ],
    ).means

    assert (means.hours, means.skill, means.equipment) == (12.0, "specialist", ["spatula", "lamp"])


@pytest.mark.parametrize(
    "change",
    [
        MountingChosen(mounting="upside-down", label=""),
        SkillAdded(what="lw:beyondSkill", label="", skill="wizard"),
        HoursAdded(what="lw:beyondHours", label="", hours=-1),
        FieldEntered(condition="c", label="", holder="part", field="lies_flatt", part="a"),
        TestMade(**TEST | {"part": "No Such Name"}),
    ],
)
def test_a_change_that_no_record_may_hold_is_refused(two_parts: Case, change: Change) -> None:
    with pytest.raises(ValidationError):
        applied(two_parts, [change])


def test_changes_are_shown_alike_whatever_they_are() -> None:
    test, entry = shown(
        [
            TestMade(**TEST),
            FieldEntered(
                condition="condition:x", label="x", holder="part", field="lies_flat", part="b"
            ),
        ]
    )

    assert (test.kind, test.what, test.material_lost) == (Remedy.TEST, "test:spot", 1)
    assert (entry.kind, entry.what, entry.part, entry.value) == (
        Remedy.ENTRY, "condition:x", "b", "part.lies_flat",
    )  # fmt: skip


def test_two_answers_to_one_question_share_a_slot() -> None:
    ways = [MountingChosen(mounting=way, label=way) for way in ("hung", "flat")]

    assert ways[0].slot == ways[1].slot
    assert ways[0].key != ways[1].key
