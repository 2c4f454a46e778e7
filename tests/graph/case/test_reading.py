"""A case is read whole or refused with the path to each wrong field."""

from __future__ import annotations

import json
from collections.abc import Callable
from pathlib import Path
from typing import Any

import jsonschema
import pytest
from hypothesis import given
from hypothesis import strategies as st

from leastwise.graph import Adviser, Case, CaseError, case_schema, parse_case, read_case
from leastwise.graph.case.demo import demo_names, demo_path
from leastwise.graph.case.names import MOST_HINTED
from leastwise.graph.case.reading import MOST_TOLD, case_from_data
from leastwise.graph.errors import Problem
from tests.conftest import changed


def faults(adviser: Adviser, text: str, *, is_json: bool = False) -> dict[str, str]:
    with pytest.raises(CaseError) as caught:
        parse_case(text, adviser.knowledge, is_json=is_json)
    return {p.path: p.accepted for p in caught.value.problems}


def test_json_and_yaml_of_a_case_are_the_same_case(
    adviser: Adviser, demo: Callable[[str], Case]
) -> None:
    case = demo("guild-banner")

    again = parse_case(case.model_dump_json(), adviser.knowledge, is_json=True)

    assert again == case


@pytest.mark.parametrize("name", demo_names())
def test_every_demo_case_is_marked_invented(adviser: Adviser, name: str) -> None:
    case = read_case(demo_path(name), adviser.knowledge)

    assert case.demo
    assert "invented" in case.object.keeper


def test_demo_cases_follow_the_published_schema(demo: Callable[[str], Case]) -> None:
    for name in demo_names():
        jsonschema.validate(demo(name).model_dump(mode="json"), case_schema())


def test_a_material_may_be_named_by_key_label_or_synonym(make_case: Callable[..., Case]) -> None:
    for name in ("viscose-rayon", "material:viscose-rayon", "Viscose Rayon", "viscose"):
        part = {"id": "a", "name": "a", "materials": [{"material": name}]}
        damage = {"id": "d", "damage": "crease", "parts": ["a"]}

        case = make_case(parts=[part], damages=[damage])

        assert case.parts[0].materials[0].material == "material:viscose-rayon"


BASE = {
    "leastwise_case": 1,
    "id": "x",
    "title": "x",
    "object": {"name": "x"},
    "parts": [{"id": "a", "name": "a", "materials": [{"material": "silk"}]}],
    "aim": {"purpose": "study"},
}


@pytest.mark.parametrize(
    ("change", "path", "accepted"),
    [
        ({"parts": []}, "parts", "at least 1"),
        ({"aim": {"purpose": "sale"}}, "aim.purpose", "'study'"),
        ({"aim": {"purpose": "study", "lux": -3}}, "aim.lux", "greater than or equal to 0"),
        ({"aim": {"purpose": "study", "luxx": 3}}, "aim.luxx", "a field that the format has"),
        ({"id": "Not A Slug"}, "id", "lower-case letters"),
        ({"leastwise_case": 3}, "leastwise_case", "2, or 1"),
        ({"title": None}, "title", "text"),
        (
            {"contacts": [{"between": ["a", "zz"], "kind": "stitched"}]},
            "contacts[0].between[1]",
            "the id of a part",
        ),
        (
            {"contacts": [{"between": ["a", "a"], "kind": "stitched"}]},
            "contacts[0].between",
            "two different parts",
        ),
        (
            {"damages": [{"id": "d", "damage": "creese", "parts": ["a"]}]},
            "damages[0].damage",
            "damage:crease",
        ),
        (
            {"damages": [{"id": "d", "damage": "crease", "parts": ["b"]}]},
            "damages[0].parts[0]",
            "the id of a part",
        ),
        (
            {"tests": [{"test": "hidden-spot-trial", "part": "a", "result": "good"}]},
            "tests[0].agent",
            "the agent tried",
        ),
        (
            {"tests": [{"test": "rub-dry", "part": "a", "result": "fine"}]},
            "tests[0].result",
            "'good'",
        ),
        (
            {
                "damages": [
                    {
                        "id": "d",
                        "damage": "tear",
                        "parts": ["a"],
                        "extent": {"value": 0, "unit": "cm"},
                    }
                ]
            },
            "damages[0].extent.value",
            "greater than 0",
        ),
    ],
)
def test_a_wrong_field_is_named_with_what_would_be_accepted(
    adviser: Adviser, change: dict[str, Any], path: str, accepted: str
) -> None:
    found = faults(adviser, json.dumps(BASE | change), is_json=True)

    assert accepted in found[path]


def test_an_unknown_material_is_met_with_near_names(adviser: Adviser) -> None:
    part = {"id": "a", "name": "a", "materials": [{"material": "silkk"}]}

    found = faults(adviser, json.dumps(BASE | {"parts": [part]}), is_json=True)

    assert "material:silk" in found["parts[0].materials[0].material"]


def test_all_problems_are_told_at_once(adviser: Adviser) -> None:
    wrong = BASE | {
        "contacts": [{"between": ["q", "r"], "kind": "stitched"}],
        "damages": [{"id": "d", "damage": "nonsense-damage", "parts": ["a"]}],
    }

    assert len(faults(adviser, json.dumps(wrong), is_json=True)) == 3


def test_an_id_used_twice_is_refused(adviser: Adviser) -> None:
    twice = BASE | {"parts": [BASE["parts"][0], BASE["parts"][0]]}  # type: ignore[index]

    assert "used once" in faults(adviser, json.dumps(twice), is_json=True)["parts[1].id"]


@pytest.mark.parametrize(
    ("text", "is_json"),
    [
        ("{", True),
        ("[1, 2", True),
        ("a: [b", False),
        ("a: *b", False),
        ("a: &x [1]\nb: *x", False),
        ("\t- x", False),
        ("!!python/object:os.system {}", False),
        ("date: 2026-02-30", False),
        ("just text", False),
        ("", False),
        ("[" * 100_000, True),
        ("{a: " * 60 + "}" * 60, False),
        ("\x00", False),
    ],
)
def test_what_is_not_a_record_is_a_clear_error(
    adviser: Adviser, text: str, *, is_json: bool
) -> None:
    assert faults(adviser, text, is_json=is_json)


def test_a_missing_file_is_a_clear_error(adviser: Adviser, tmp_path: Path) -> None:
    with pytest.raises(CaseError, match="No such file"):
        read_case(tmp_path / "none.yaml", adviser.knowledge)


def test_a_file_that_is_not_utf8_is_a_clear_error(adviser: Adviser, tmp_path: Path) -> None:
    path = tmp_path / "latin.yaml"
    path.write_bytes(b"title: caf\xe9")

    with pytest.raises(CaseError, match="UTF-8"):
        read_case(path, adviser.knowledge)


json_values = st.recursive(
    st.none() | st.booleans() | st.integers() | st.floats(allow_nan=False) | st.text(max_size=8),
    lambda inner: (
        st.lists(inner, max_size=3) | st.dictionaries(st.text(max_size=6), inner, max_size=3)
    ),
    max_leaves=8,
)
FIELDS = sorted(Case.model_fields)


@given(field=st.sampled_from(FIELDS), value=json_values)
def test_any_value_in_any_field_gives_a_case_or_a_case_error(
    adviser: Adviser, field: str, value: object
) -> None:
    problems: tuple[Problem, ...] = ()
    case = None
    try:
        case = case_from_data(BASE | {field: value}, adviser.knowledge)
    except CaseError as error:
        problems = error.problems

    assert isinstance(case, Case) != bool(problems)
    assert all(p.path and p.accepted for p in problems)


def test_resolving_twice_changes_nothing(adviser: Adviser, demo: Callable[[str], Case]) -> None:
    case = demo("festival-dancer")

    assert changed(case, adviser, lambda _: None) == case


@pytest.mark.parametrize("said", ["", "   ", "Unknown", "UNKNOWN", None])
def test_empty_text_and_unknown_in_any_case_are_unknown(adviser: Adviser, said: object) -> None:
    record = BASE | {
        "object": {"name": "x", "identifier": said, "made": said, "made_from": said},
        "record": {"purpose": said, "recorder": said, "date": said},
        "means": {"hours": said, "skill": said, "equipment": said},
    }

    case = case_from_data(record, adviser.knowledge)

    assert (case.object.identifier, case.object.made, case.object.made_from) == ("unknown",) * 3
    assert set(case.record.model_dump().values()) == {"unknown"}
    assert set(case.means.model_dump().values()) == {"unknown"}


@pytest.mark.parametrize(("said", "meant"), [("yes", "yes"), ("No", "no"), ("true", "yes")])
def test_yes_and_no_are_read_as_meant(adviser: Adviser, said: str, meant: str) -> None:
    part = f"parts: [{{id: a, name: a, materials: [{{material: silk}}], lies_flat: {said}}}]"
    text = (
        f"leastwise_case: 1\nid: x\ntitle: x\nobject: {{name: x}}\n{part}\naim: {{purpose: study}}"
    )

    assert parse_case(text, adviser.knowledge).parts[0].lies_flat == meant


def test_years_in_the_wrong_order_are_told(adviser: Adviser) -> None:
    wrong = BASE | {"object": {"name": "x", "made_from": 1900, "made_to": 1800}}

    assert "made_to, 1800" in faults(adviser, json.dumps(wrong), is_json=True)["object.made_from"]


def test_more_than_all_of_a_part_is_told(adviser: Adviser) -> None:
    damage = {"id": "d", "damage": "tear", "parts": ["a"]}
    wrong = BASE | {"damages": [damage | {"extent": {"value": 101, "unit": "percent"}}]}

    found = faults(adviser, json.dumps(wrong), is_json=True)

    assert "at most 100 percent" in found["damages[0].extent"]


def test_a_wrong_field_of_a_file_has_its_line(adviser: Adviser) -> None:
    text = (
        "leastwise_case: 1\nid: x\ntitle: x\nobject:\n  name: x\nparts: []\naim: {purpose: sale}\n"
    )

    with pytest.raises(CaseError) as caught:
        parse_case(text, adviser.knowledge)

    assert {p.path: p.line for p in caught.value.problems} == {"parts": 6, "aim.purpose": 7}


def test_thousands_of_unknown_names_are_told_briefly(adviser: Adviser) -> None:
    parts = [
        {"id": f"p{i}", "name": "p", "materials": [{"material": f"unknownium {i}"}]}
        for i in range(150)
    ]

    with pytest.raises(CaseError) as caught:
        parse_case(json.dumps(BASE | {"parts": parts}), adviser.knowledge, is_json=True)

    *told, last = caught.value.problems
    assert len(told) == MOST_TOLD
    assert last.given.endswith("further problems")
    near = [one for one in told if "near to it" in one.accepted]
    assert len(near) <= MOST_HINTED
