"""Flat fields and nested data, and errors beside their fields."""

from __future__ import annotations

import re
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from pydantic import ValidationError
from starlette.datastructures import FormData, UploadFile

from leastwise.api.pages.entry.said import errors_for, field_name
from leastwise.api.pages.fields import clean, read_fields, write_fields
from leastwise.graph.case.reading import as_problems
from leastwise.graph.case.record import Case, Part
from leastwise.graph.errors import Problem

KEYS = st.from_regex(r"[a-z][a-z_]{0,8}", fullmatch=True)
TEXTS = st.text(max_size=20).map(clean)


def _inner(children: st.SearchStrategy[Any]) -> st.SearchStrategy[Any]:
    return st.lists(children, max_size=4) | st.dictionaries(KEYS, children, min_size=1, max_size=4)


NESTED = st.dictionaries(KEYS, st.recursive(TEXTS, _inner, max_leaves=20), max_size=5)


@given(NESTED)
@settings(max_examples=300, deadline=None)
def test_nested_data_comes_back_from_its_fields(data: dict[str, Any]) -> None:
    assert read_fields(write_fields(data)) == data


@given(st.lists(st.tuples(st.text(max_size=30), st.text(max_size=10)), max_size=30))
@settings(max_examples=300, deadline=None)
def test_any_fields_can_be_read_and_what_was_read_is_stable(fields: list[tuple[str, str]]) -> None:
    once = read_fields(fields)
    assert read_fields(write_fields(once)) == once


@given(st.lists(st.integers(0, 10**6 - 1), unique=True, min_size=1, max_size=8))
def test_gaps_in_a_list_close_up_in_the_order_of_the_numbers(places: list[int]) -> None:
    read = read_fields({f"parts.{place}.name": str(place) for place in places})
    assert [int(row["name"]) for row in read["parts"]] == sorted(places)


def test_ticked_boxes_are_gathered_and_none_is_an_empty_list() -> None:
    form = FormData([("damages.0.parts[]", ""), ("damages.0.parts[]", "hem")])
    assert read_fields(form) == {"damages": [{"parts": ["hem"]}]}
    assert read_fields({"damages.0.parts[]": ""}) == {"damages": [{"parts": []}]}


def test_files_and_deep_or_broken_names_are_left_out() -> None:
    form = FormData(
        [
            ("photo", UploadFile(file=__import__("io").BytesIO(b"x"))),
            (".".join("abcdefghijklmnop"), "deep"),
            ("a..b", "broken"),
            ("a", "kept"),
        ]
    )
    assert read_fields(form) == {"a": "kept"}


def test_a_path_of_the_record_names_its_field() -> None:
    assert field_name("parts[0].materials[1].material") == "parts.0.materials.1.material"
    assert field_name("object.name") == "object.name"


def test_errors_are_told_by_field_and_only_those_of_the_section() -> None:
    problems = [
        Problem("parts[1].materials[0].material", "'silck'", "a material; near to it: silk"),
        Problem("aim.purpose", "'x'", "one of 'study' or 'display'"),
    ]
    assert errors_for(problems, "parts") == {
        "parts.1.materials.0.material": "Got 'silck'; expected a material; near to it: silk."
    }
    assert set(errors_for(problems)) == {"parts.1.materials.0.material", "aim.purpose"}
    assert errors_for(problems, ["par", "aim"]).keys() == {"aim.purpose"}


@pytest.mark.parametrize(
    ("field", "typed", "said"),
    [
        ({"aim": {"purpose": "display", "months": "soon"}}, "'soon'", "a number or unknown"),
        ({"object": {"name": "x" * 201}}, "'xxx", "a text of at most 200 characters"),
        ({"demo": "perhaps"}, "'perhaps'", "true or false"),
        ({"parts": [{"id": "a", "name": 7}]}, "7", "text; put quotes round"),
    ],
)
def test_what_is_accepted_is_told_without_the_words_of_the_machine(
    field: dict[str, Any], typed: str, said: str
) -> None:
    record = {
        "leastwise_case": 2, "id": "a", "title": "A", "object": {"name": "a"},
        "parts": [{"id": "a", "name": "a"}], "aim": {"purpose": "display"},
    }  # fmt: skip
    with pytest.raises(ValidationError) as failed:
        Case.model_validate(record | field)
    (told,) = errors_for(as_problems(failed.value)).values()
    assert told.startswith(f"Got {typed}")
    assert said in told
    assert not re.search(r"parse|String|datetime|expected range|valid|Input", told)


@pytest.mark.parametrize(
    ("row", "told"),
    [
        ({"name": "a"}, "Still missing: an entry."),
        ({"id": "", "name": "a"}, "Still missing: lower-case letters"),
        ({"id": "a", "name": ""}, "Still missing: a text."),
        ({"id": "a", "name": "a", "nmae": "b"}, "The format has no such field."),
    ],
)
def test_what_is_missing_is_asked_for_and_not_told_as_wrong(row: dict[str, Any], told: str) -> None:
    with pytest.raises(ValidationError) as failed:
        Part.model_validate(row)
    (said,) = errors_for(as_problems(failed.value)).values()
    assert said.startswith(told)
