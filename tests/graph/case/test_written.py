"""The written form of a record, of either version, is carried over to what is weighed."""

from __future__ import annotations

import json
from collections.abc import Callable
from pathlib import Path
from typing import Any

import jsonschema
import pytest

from leastwise.graph import Adviser, Case, CaseError, case_schema, parse_case
from leastwise.graph.case.reading import case_from_data
from leastwise.graph.case.schema import WORDS
from leastwise.graph.case.written import carried_over

BASE: dict[str, Any] = {
    "leastwise_case": 2,
    "id": "x",
    "title": "x",
    "object": {"name": "x"},
    "parts": [{"id": "a", "name": "a", "fibre": "silk", "colour": "none"}],
    "aim": {"purpose": "study"},
}


def part(**written: Any) -> dict[str, Any]:
    return BASE | {"parts": [{"id": "a", "name": "a"} | written]}


def named(case: Case) -> list[tuple[str, str, str]]:
    return [(m.heading, m.material, m.identified) for m in case.parts[0].materials]


def faults(adviser: Adviser, data: dict[str, Any]) -> dict[str, str]:
    with pytest.raises(CaseError) as caught:
        case_from_data(data, adviser.knowledge)
    return {p.path: p.accepted for p in caught.value.problems}


SILK = {"is": "silk", "identified": "certain"}


@pytest.mark.parametrize(
    ("written", "meant"),
    [
        ("silk", [("fibre", "material:silk", "unknown")]),
        (SILK, [("fibre", "material:silk", "certain")]),
        (["silk", "Linen"], [("fibre", f"material:{m}", "unknown") for m in ("silk", "linen")]),
        ([{"look": "glossy"}], [("fibre", "material:fibre-unidentified", "unknown")]),
        ("unknown", [("fibre", "material:fibre-unidentified", "unknown")]),
        ("not examined", [("fibre", "material:fibre-unidentified", "unknown")]),
        ("", [("fibre", "material:fibre-unidentified", "unknown")]),
        (None, [("fibre", "material:fibre-unidentified", "unknown")]),
        ([], [("fibre", "material:fibre-unidentified", "unknown")]),
        ("None", []),
        (
            {"one_of": ["silk", {"is": "viscose rayon", "share": 0.3}]},
            [("fibre", f"material:{m}", "unknown") for m in ("silk", "viscose-rayon")],
        ),
        ([{"other": "spun glass"}], [("fibre", "material:unidentified", "unknown")]),
    ],
)
def test_a_heading_may_be_written_in_many_ways(
    adviser: Adviser, written: object, meant: list[tuple[str, str, str]]
) -> None:
    case = case_from_data(part(fibre=written, colour="none"), adviser.knowledge)

    assert named(case) == meant


def test_the_alternatives_of_a_choice_belong_together_and_keep_their_shares(
    adviser: Adviser,
) -> None:
    choice = {"one_of": [{"is": "silk", "share": 0.7}, "viscose rayon"], "look": "shiny weft"}
    case = case_from_data(part(fibre=[choice], colour="none"), adviser.knowledge)

    first, second = case.parts[0].materials
    assert first.choice == second.choice != ""
    assert (first.share, second.share) == (0.7, "unknown")
    assert first.look == second.look == "shiny weft"


def test_what_nobody_named_is_unknown_and_what_is_none_is_not(adviser: Adviser) -> None:
    silent = case_from_data(part(structure="plain weave"), adviser.knowledge).parts[0]
    stated = case_from_data(
        part(structure="plain weave", fibre="silk", colour="none"), adviser.knowledge
    ).parts[0]
    beads = case_from_data(part(components="metal fastenings"), adviser.knowledge).parts[0]

    unknown = {m.material for m in silent.materials if m.implied}
    assert unknown == {"material:fibre-unidentified", "material:dye-unidentified"}
    assert not [m for m in stated.materials if m.implied]
    assert not [m for m in beads.materials if m.implied]
    assert [m.material for m in silent.named] == ["material:plain-weave"]


def test_a_component_that_may_be_dyed_is_asked_for_its_colour_but_not_for_a_fibre(
    adviser: Adviser,
) -> None:
    def unknown(**written: Any) -> list[str]:
        (made,) = case_from_data(part(**written), adviser.knowledge).parts
        return [m.material for m in made.materials if m.implied]

    assert unknown(components="leather") == ["material:dye-unidentified"]
    assert unknown(components="leather", colour="none") == []
    assert unknown(components="straw", colour="madder") == []


def test_the_first_form_is_carried_over_with_all_it_says(adviser: Adviser) -> None:
    first = BASE | {
        "leastwise_case": 1,
        "parts": [
            {
                "id": "a",
                "name": "a",
                "materials": [
                    {"material": "silk", "identified": "certain", "note": "weft"},
                    {"material": "madder"},
                    {"material": "gelatin sequins"},
                ],
            }
        ],
    }

    case = case_from_data(first, adviser.knowledge)

    assert case.leastwise_case == 2
    assert named(case) == [
        ("fibre", "material:silk", "certain"),
        ("colour", "material:madder", "unknown"),
        ("components", "material:gelatin-sequins", "unknown"),
    ]
    assert case.parts[0].materials[0].note == "weft"
    assert (case.parts[0].fibre, case.parts[0].finish) == ("named", "not-examined")


def test_what_is_read_can_be_written_and_read_again(
    adviser: Adviser, demo: Callable[[str], Case]
) -> None:
    choice = {"one_of": ["silk", "linen"]}
    rich = part(fibre=[choice], colour=[{"look": "red", "where": "border"}]) | {
        "aim": {"purposes": ["loan", "study"]},
        "needs": [],
    }
    for case in (case_from_data(rich, adviser.knowledge), demo("guild-banner")):
        plain = json.loads(case.model_dump_json())

        assert case_from_data(plain, adviser.knowledge) == case
        assert case_from_data(carried_over(plain).data, adviser.knowledge) == case


def test_the_first_of_several_purposes_leads(adviser: Adviser) -> None:
    case = case_from_data(BASE | {"aim": {"purposes": ["loan", "study"]}}, adviser.knowledge)

    assert (case.aim.purpose, case.aim.also) == ("loan", ["study"])
    assert case.aim.purposes == ("loan", "study")


@pytest.mark.parametrize(
    ("data", "path"),
    [
        (part(fibre=[SILK, {"is": "silkk"}]), "parts[0].fibre[1].is"),
        (part(fibre="silkk"), "parts[0].fibre"),
        (part(fibre=[{"one_of": ["silk", "silkk"]}]), "parts[0].fibre[0].one_of[1]"),
        (part(colour={"is": "madder", "identified": "sure"}), "parts[0].colour.identified"),
        (part(colour={"is": "madder", "lok": "red"}), "parts[0].colour.lok"),
        (part(fibre=7), "parts[0].fibre"),
        (part(fibre=[7]), "parts[0].fibre[0]"),
        (part(), "parts[0].materials"),
        (BASE | {"aim": {"purposes": ["study", "sale"]}}, "aim.purposes[1]"),
        (BASE | {"aim": {"purposes": ["study"], "purpose": "loan"}}, "aim.purposes"),
    ],
)
def test_an_error_stands_where_the_field_was_written(
    adviser: Adviser, data: dict[str, Any], path: str
) -> None:
    assert path in faults(adviser, data)


def test_shapes_and_names_are_told_in_one_go(adviser: Adviser) -> None:
    wrong = part(fibre="silkk", lies_flat="perhaps") | {"aim": {"purpose": "sale"}}

    assert {"parts[0].fibre", "parts[0].lies_flat", "aim.purpose"} <= faults(adviser, wrong).keys()


@pytest.mark.parametrize(
    "row",
    [
        {"damages": [{"id": "d", "other": "gnawed by a parrot", "parts": ["a"]}]},
        {"tests": [{"other": "sniff test", "part": "a", "result": "good"}]},
    ],
)
def test_what_has_no_name_is_told_in_words(adviser: Adviser, row: dict[str, Any]) -> None:
    case = case_from_data(BASE | row, adviser.knowledge)

    assert [d.damage for d in case.damages] + [t.test for t in case.tests] in (
        ["damage:other"],
        ["test:other"],
    )
    assert adviser.weigh(case)


def test_words_for_what_has_no_name_stand_in_the_answer(adviser: Adviser) -> None:
    rows = {
        "damages": [{"id": "d", "other": "gnawed by a parrot", "parts": ["a"]}],
        "needs": [{"id": "n", "other": "to be hung by its yoke"}],
    }

    answer = adviser.weigh(case_from_data(BASE | rows, adviser.knowledge))

    labels = {one.id: one.label for one in answer.damages}
    assert (labels["d"], labels["n"]) == ("gnawed by a parrot", "to be hung by its yoke")
    assert "gnawed by a parrot" in answer.headline.in_words


def test_a_test_in_words_clears_nothing(adviser: Adviser, make_case: Callable[..., Case]) -> None:
    row = {"other": "sniff test", "part": "collar", "result": "good"}

    def verdicts(case: Case) -> dict[str, str]:
        return {o.id: o.verdict for o in adviser.weigh(case).options()}

    assert verdicts(make_case(tests=[row])) == verdicts(make_case())


@pytest.mark.parametrize(
    ("found", "result"),
    [
        ({"effect": "works"}, "good"),
        ({"effect": "harms"}, "bad"),
        ({"effect": "nothing"}, "not-judged"),
        ({"effect": "nothing", "result": "good"}, "good"),
        ({"identified": "silk"}, "not-judged"),
        ({"reading": {"value": 5.1, "unit": "pH"}}, "not-judged"),
    ],
)
def test_a_test_says_what_was_found_in_its_own_way(
    adviser: Adviser, found: dict[str, Any], result: str
) -> None:
    row = {"test": "hidden-spot-trial", "agent": "ethanol", "part": "a"} | found

    (done,) = case_from_data(BASE | {"tests": [row]}, adviser.knowledge).tests

    assert done.result == result


def test_every_field_of_the_schema_has_a_title_and_a_description() -> None:
    schema = case_schema()
    models = {"Case": schema} | {n: m for n, m in schema["$defs"].items() if n in WORDS}
    lacking = [
        f"{name}.{field}"
        for name, model in models.items()
        for field, about in model["properties"].items()
        if not about.get("description") or not about.get("title")
    ]

    assert set(models) == set(WORDS)
    assert lacking == []


def test_the_record_in_the_guide_is_read(adviser: Adviser) -> None:
    guide = (Path(__file__).parents[3] / "docs/how-to/write-a-record.md").read_text("utf-8")
    block = guide.partition("```yaml\nparts:")[2].partition("```")[0]
    head = "leastwise_case: 2\nid: x\ntitle: x\nobject: {name: x}\nparts:"

    case = parse_case(head + block, adviser.knowledge)

    assert case.aim.purposes == ("display", "loan")
    assert len(case.tests) == 2


def test_the_schema_takes_both_ways_of_writing(demo: Callable[[str], Case]) -> None:
    schema = case_schema()
    for data in (
        part(fibre=[SILK, "linen"], colour="none", size={"length_cm": 120}),
        part(materials=[{"material": "silk"}]),
        BASE | {"aim": {"purposes": ["study", "loan"]}},
        json.loads(demo("festival-dancer").model_dump_json()),
    ):
        jsonschema.validate(data, schema)
    for wrong in (part(fibre=7), part(colour=[{"lok": "red"}]), BASE | {"aim": {}}):
        with pytest.raises(jsonschema.ValidationError):
            jsonschema.validate(wrong, schema)
