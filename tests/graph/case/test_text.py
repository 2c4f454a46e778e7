"""Text of records: no key is lost, and every fault has its line."""

from __future__ import annotations

import json

import pytest
from hypothesis import given
from hypothesis import strategies as st

from leastwise.graph.case.text import read_text
from leastwise.graph.errors import CaseError, Problem


def refused(text: str, *, is_json: bool) -> tuple[Problem, ...]:
    with pytest.raises(CaseError) as caught:
        read_text(text, is_json=is_json)
    return caught.value.problems


@pytest.mark.parametrize(
    ("text", "is_json"),
    [
        ("tests:\n  - {result: bad}\naim: {}\ntests: []\n", False),
        ('{"tests":\n [{"result": "bad"}],\n "aim": {},\n "tests": []}', True),
    ],
)
def test_a_key_given_twice_is_refused_with_both_lines(text: str, *, is_json: bool) -> None:
    (problem,) = refused(text, is_json=is_json)

    first, second = (1, 4)
    assert problem.path == "tests"
    assert problem.given == f"a key given twice, on line {first} and on line {second}"
    assert problem.line == second


def test_a_key_given_twice_far_inside_is_refused_with_its_path() -> None:
    yaml, js = "a:\n  - b: 1\n    c: {d: 1, d: 2}\n", '{"a": [{"b": 1, "c": {"d": 1, "d": 2}}]}'

    assert refused(yaml, is_json=False)[0].path == "a[0].c.d"
    assert refused(js, is_json=True)[0].path == "a[0].c.d"


def test_keys_that_only_look_like_one_path_are_no_fault() -> None:
    for text in ('{"a.b": 1, "a": {"b": 2}}', '{"": {"": 1}}', '{"a": [1], "a[0]": 2}'):
        assert read_text(text, is_json=True).data == json.loads(text)
    assert read_text("a.b: 1\na: {b: 2}\n", is_json=False).data == {"a.b": 1, "a": {"b": 2}}


def test_the_same_key_in_two_rows_is_no_fault() -> None:
    assert read_text("a:\n  - {b: 1}\n  - {b: 2}\n", is_json=False).data == {
        "a": [{"b": 1}, {"b": 2}]
    }


def test_yes_and_no_stay_words_and_true_stays_true() -> None:
    text = "a: yes\nb: No\nc: off\nd: true\n"

    assert read_text(text, is_json=False).data == {"a": "yes", "b": "No", "c": "off", "d": True}


def test_what_only_looks_like_a_number_stays_text() -> None:
    assert read_text("a: 0123\nb: 1_000\nc: 12:30\nd: 12\n", is_json=False).data == {
        "a": "0123",
        "b": "1_000",
        "c": "12:30",
        "d": 12,
    }


def test_a_problem_gets_the_line_of_its_field_or_of_the_nearest_around_it() -> None:
    written = read_text("a:\n  - b: 1\n    c: 2\n  - b: 3\n", is_json=False)

    assert written.placed(Problem("a[1].b", "3", "4")).line == 4
    assert written.placed(Problem("a[0].missing", "", "")).line == 2
    assert written.placed(Problem("elsewhere", "", "")).line == 0


values = st.recursive(
    st.none() | st.booleans() | st.integers(1 - 10**18, 10**18 - 1) | st.text(max_size=6),
    lambda inner: (
        st.lists(inner, max_size=3) | st.dictionaries(st.text(max_size=4), inner, max_size=3)
    ),
    max_leaves=10,
)


@given(data=values, indent=st.sampled_from([None, 1]))
def test_json_is_read_as_the_standard_library_reads_it(data: object, indent: int | None) -> None:
    text = json.dumps(data, indent=indent)

    written = read_text(text, is_json=True)

    assert written.data == data
    assert all(1 <= line <= text.count("\n") + 1 for line in written.lines.values())


@pytest.mark.parametrize("digits", [19, 5000])
@pytest.mark.parametrize("is_json", [True, False])
def test_a_whole_number_of_endless_digits_is_told_with_its_line(
    digits: int, *, is_json: bool
) -> None:
    number = "1" * digits
    text = f'{{"a":\n {{"b": -{number}}}}}' if is_json else f"a:\n  b: -{number}\n"

    (problem,) = refused(text, is_json=is_json)

    assert (problem.path, problem.line) == ("a.b", 2)
    assert problem.given == f"a whole number of {digits} digits"


def test_the_longest_whole_number_is_read() -> None:
    assert read_text('{"a": 999999999999999999}', is_json=True).data == {"a": 10**18 - 1}
    assert read_text("a: 999999999999999999", is_json=False).data == {"a": 10**18 - 1}


@pytest.mark.parametrize(
    ("text", "given"),
    [
        ("base: {b: 1}\na:\n  <<: {c: 2}\n", "a merge key (<<)"),
        ("a: 1\nb: !!binary c2lsaw==\n", "a YAML tag (!!binary)"),
        ("a: 1\nb: !!set {c, d}\n", "a YAML tag (!!set)"),
        ("a: 1\nb: !ours c\n", "a YAML tag (!ours)"),
    ],
)
def test_what_yaml_has_beyond_json_is_refused_with_its_line(text: str, given: str) -> None:
    (problem,) = refused(text, is_json=False)

    assert problem.given == given
    assert problem.line == text.count("\n")
