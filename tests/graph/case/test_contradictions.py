"""What a record can't mean is an error, what it hardly means a question; each says what to do."""

from __future__ import annotations

from typing import Any

import pytest

from leastwise.graph import Adviser, CaseError
from leastwise.graph.case.questions import questions
from leastwise.graph.case.reading import case_from_data

PART: dict[str, Any] = {
    "fibre": {"is": "silk", "identified": "certain"},
    "colour": [{"is": "madder", "look": "red", "where": "border"}, {"look": "blue"}],
}
BASE: dict[str, Any] = {
    "leastwise_case": 2,
    "id": "x",
    "title": "x",
    "object": {"name": "x", "kind": "costume"},
    "parts": [{"id": name, "name": name} | PART for name in "ab"],
    "contacts": [{"between": ["a", "b"], "kind": "stitched"}],
    "aim": {"purpose": "display", "mounting": "hung"},
}
STAIN = {"id": "spill", "damage": "stain", "parts": ["a"]}
TRIAL = {"test": "cleaning-trial", "part": "a", "damage": "spill"}
WATER = {"test": "colourfastness-water", "part": "a"}


def contact(**more: str) -> dict[str, Any]:
    return {"between": ["a", "b"], "kind": "stitched"} | more


def record(**changes: Any) -> dict[str, Any]:
    return BASE | changes


def parts(**more: Any) -> dict[str, Any]:
    first, second = BASE["parts"]
    return record(parts=[first | more, second])


def aim(**more: Any) -> dict[str, Any]:
    return record(aim=BASE["aim"] | more)


@pytest.mark.parametrize(
    ("data", "path", "mend"),
    [
        (
            record(contacts=[contact(parting="done"), contact(parting="impossible")]),
            "contacts[1].parting",
            "one of the two",
        ),
        (
            record(contacts=[contact(barrier="impossible"), contact(barrier="in-place")]),
            "contacts[1].barrier",
            "one of the two",
        ),
        (
            record(tests=[WATER | {"material": "wool", "result": "bad"}]),
            "tests[0].material",
            "a material that a holds (material:silk, material:madder, material:dye-unidentified)",
        ),
        (
            record(tests=[WATER | {"material": "dye", "result": "good"}]),
            "tests[0].material",
            "which of them is good",
        ),
        (
            record(tests=[WATER | {"agent": "heat", "result": "good"}]),
            "tests[0].agent",
            "agent:liquid-water",
        ),
        (
            record(
                tests=[{"test": "fibre-microscopy", "part": "a", "agent": "heat", "result": "good"}]
            ),
            "tests[0].agent",
            "no agent",
        ),
        (record(tests=[WATER]), "tests[0].result", "identified, a reading, an effect"),
        (
            record(tests=[WATER | {"result": "good"}, WATER | {"result": "bad"}]),
            "tests[1].result",
            "the dates of both",
        ),
        (
            record(tests=[WATER | {"effect": "works", "result": "bad"}]),
            "tests[0]",
            "fits the result",
        ),
        (record(tests=[WATER | {"colour": "green", "result": "bad"}]), "tests[0].colour", "red"),
        (
            record(damages=[{"id": "d", "damage": "fading", "parts": ["a"], "colour": "green"}]),
            "damages[0].colour",
            "red, blue",
        ),
        (record(contacts=[contact(colour="green")]), "contacts[0].colour", "red"),
        (
            record(
                damages=[
                    {
                        "id": "d",
                        "damage": "tear",
                        "parts": ["a"],
                        "extent": {"value": 130, "unit": "percent"},
                    }
                ]
            ),
            "damages[0].extent",
            "at most 100 percent",
        ),
        (
            record(object={"name": "x", "made_from": 1900, "made_to": 1800}),
            "object.made_from",
            "up to made_to, 1800",
        ),
        (
            record(means={"equipment": ["heated spatla"]}),
            "means.equipment[0]",
            "heated spatula",
        ),
        (
            parts(colour="none", materials=[{"material": "madder"}]),
            "parts[0].colour",
            "none, or what it is",
        ),
        (
            parts(fibre={"one_of": ["silk", "wool"], "identified": "certain"}),
            "parts[0].fibre.one_of[0].identified",
            "as long as it is one of several",
        ),
        (
            parts(fibre={"one_of": [{"is": m, "share": 0.8} for m in ("silk", "wool")]}),
            "parts[0]",
            "at most 1",
        ),
        (
            record(tests=[WATER | {"result": "good", "damage": "spill"}]),
            "tests[0].damage",
            "a damage on a: none is recorded",
        ),
        (
            record(damages=[STAIN], tests=[TRIAL | {"effect": "works"}]),
            "tests[0].agent",
            "the agent tried: ",
        ),
        (
            record(damages=[STAIN | {"deposit": "toffee"}]),
            "damages[0].deposit",
            "'wax'",
        ),
        (aim(also=["display"]), "aim.also", "each purpose once"),
        (aim(also=["unknown"]), "aim.also", "that are known"),
        (
            record(
                damages=[{"id": "n", "damage": "tear", "parts": ["a"]}],
                needs=[{"id": "n", "other": "to be carried"}],
            ),
            "needs[0].id",
            "used once",
        ),
        (record(needs=[{"id": "n", "other": "x", "parts": ["c"]}]), "needs[0].parts[0]", "a, b"),
    ],
)
def test_what_cannot_be_meant_is_an_error_with_path_and_mend(
    adviser: Adviser, data: dict[str, Any], path: str, mend: str
) -> None:
    with pytest.raises(CaseError) as caught:
        case_from_data(data, adviser.knowledge)

    found = {problem.path: problem.accepted for problem in caught.value.problems}
    assert list(found) == [path]
    assert mend in found[path]


@pytest.mark.parametrize(
    ("data", "path", "mend"),
    [
        (
            record(contacts=[contact(), contact(kind="lies-on")]),
            "contacts[1].kind",
            "the closer one counts",
        ),
        (
            record(contacts=[contact(kind="lies-on"), contact(kind="layered-under")]),
            "contacts[1]",
            "turn one round",
        ),
        (record(contacts=[]), "contacts", "Say how the parts touch"),
        (
            record(parts=[{"id": n, "name": n} | PART for n in "abc"], contacts=[]),
            "contacts",
            "Say how the parts touch",
        ),
        (
            record(
                parts=[{"id": n, "name": n} | PART for n in "abc"],
            ),
            "contacts",
            "Say how the parts touch",
        ),
        (
            record(
                tests=[
                    WATER | {"result": "good", "date": "2026-01-01"},
                    WATER | {"result": "bad", "date": "2026-01-02"},
                ]
            ),
            "tests[1].result",
            "The bad one counts",
        ),
        (
            record(tests=[{"test": "fibre-microscopy", "part": "a", "identified": "wool"}]),
            "tests[0].identified",
            "as certain",
        ),
        (
            record(
                damages=[STAIN],
                tests=[
                    {
                        "test": "cleaning-trial",
                        "part": "a",
                        "agent": "liquid-water",
                        "effect": "nothing",
                    }
                ],
            ),
            "tests[0].damage",
            "Say which (spill)",
        ),
        (
            parts(bears_handling="yes")
            | {"tests": [{"test": "handling-strength", "part": "a", "result": "bad"}]},
            "parts[0].bears_handling",
            "The test counts",
        ),
        (
            record(
                damages=[{"id": i, "damage": "tear", "parts": ["a"]} for i in ("one", "two")],
            ),
            "damages[1].parts[0]",
            "Put them together",
        ),
        (aim(degrees_from_vertical=30), "aim.degrees_from_vertical", "0 degrees hangs"),
        (
            aim(mounting="on-figure", degrees_from_vertical=0),
            "aim.degrees_from_vertical",
            "a figure has none",
        ),
        (
            aim(mounting="on-figure") | {"object": {"name": "x", "kind": "flat-textile"}},
            "aim.mounting",
            "hung, slanted or flat",
        ),
        (aim(purpose="loan", travels="no"), "aim.travels", "Say yes"),
        (record(means={"equipment": ["kettle"]}), "means.equipment[0]", "does no harm"),
    ],
)
def test_what_is_hardly_meant_is_a_question_with_path_and_mend(
    adviser: Adviser, data: dict[str, Any], path: str, mend: str
) -> None:
    case = case_from_data(data, adviser.knowledge)

    found = {one.path: one.mend for one in questions(case, adviser.knowledge)}

    assert list(found) == [path]
    assert mend in found[path]


def test_a_sound_record_raises_no_question(adviser: Adviser) -> None:
    assert questions(case_from_data(BASE, adviser.knowledge), adviser.knowledge) == []


def test_a_test_of_a_group_holds_for_what_the_part_holds_of_it(adviser: Adviser) -> None:
    one = {"fibre": "silk", "colour": "madder"}
    data = record(
        parts=[{"id": n, "name": n} | one for n in "ab"],
        tests=[WATER | {"material": "dye", "result": "good"}],
    )

    assert case_from_data(data, adviser.knowledge).tests[0].material == "material:dye"


@pytest.mark.parametrize("colour", ["red", "Red of the border", "red of border", "madder"])
def test_a_colour_goes_by_its_look_its_place_and_its_name(adviser: Adviser, colour: str) -> None:
    data = record(tests=[WATER | {"colour": colour, "result": "bad"}])

    assert case_from_data(data, adviser.knowledge).tests[0].colour == colour


def test_a_bad_test_of_one_colour_says_nothing_of_the_other(adviser: Adviser) -> None:
    damage = {"id": "d", "damage": "crease", "parts": ["a"], "evidence": "no"}

    def states(**test: str) -> dict[str, str]:
        case = case_from_data(
            record(damages=[damage], tests=[WATER | test | {"result": "bad"}]), adviser.knowledge
        )
        steps = adviser.steps(case)
        return {
            e.material: e.test_state
            for rows in steps.data.exposures.values()
            for e in rows
            if e.part == "a" and e.agent == "agent:liquid-water"
        }

    red, all_of_it = states(colour="red"), states()
    assert (red["material:madder"], red["material:dye-unidentified"]) == ("bad", "untested")
    assert (all_of_it["material:madder"], all_of_it["material:dye-unidentified"]) == ("bad", "bad")


def test_equipment_goes_by_its_names(adviser: Adviser) -> None:
    data = record(means={"equipment": ["Hot spatula", "fume hood", "kettle"]})

    assert case_from_data(data, adviser.knowledge).means.equipment == [
        "heated-spatula",
        "fume-extraction",
        "kettle",
    ]


def test_every_key_that_techniques_ask_for_is_in_the_list_of_equipment(adviser: Adviser) -> None:
    k = adviser.knowledge
    wanted = {key for one in k.subjects() for key in k.texts(one, "lw:equipmentKey")}

    listed = {one.removeprefix("equipment:") for one in k.instances("lw:EquipmentKind")}
    assert wanted
    assert wanted <= listed
