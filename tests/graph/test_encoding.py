"""Frozen values as JSON: the same text as the standard library gives."""

from __future__ import annotations

import json
import math
from dataclasses import asdict, dataclass, field
from typing import Any, NamedTuple

import pytest
from hypothesis import given
from hypothesis import strategies as st

from leastwise.graph import Adviser, read_demo
from leastwise.graph.encoding import to_json
from leastwise.graph.meanings import Verdict


class Pair(NamedTuple):
    low: float
    high: str


@dataclass(frozen=True, slots=True)
class Leaf:
    text: str


@dataclass(frozen=True, slots=True)
class Nothing:
    pass


@dataclass(frozen=True)
class Node:
    zeta: object
    alpha: list[object] = field(default_factory=list)
    names: dict[str, object] = field(default_factory=dict)


plain = (
    st.none()
    | st.booleans()
    | st.integers()
    | st.floats()
    | st.text()
    | st.sampled_from(list(Verdict))
    | st.builds(Pair, st.floats(), st.text())
    | st.builds(Leaf, st.text())
    | st.just(Nothing())
    | st.dictionaries(st.integers(), st.text(), max_size=3)
)
values = st.recursive(
    plain,
    lambda inner: (
        st.lists(inner, max_size=4)
        | st.lists(inner, max_size=3).map(tuple)
        | st.dictionaries(st.text(), inner, max_size=3)
        | st.builds(Node, inner, st.lists(inner, max_size=3), st.dictionaries(st.text(), inner))
        | inner.map(lambda one: [one, one])  # a value that stands in two places
    ),
    max_leaves=20,
)


def by_the_standard_library(value: Any) -> str:
    return json.dumps(asdict(Node(value)), ensure_ascii=False, sort_keys=True)


@given(values)
def test_it_is_what_the_standard_library_gives(value: object) -> None:
    assert to_json(Node(value)) == by_the_standard_library(value)


@pytest.mark.parametrize("value", [1e-6, -0.0, 1e22, math.inf, -math.inf, math.nan, 10**30, True])
def test_numbers_are_written_alike(value: float) -> None:
    assert to_json(Node(value)) == by_the_standard_library(value)


def test_a_whole_answer_is_written_alike(adviser: Adviser) -> None:
    answer = adviser.weigh(read_demo("guild-banner", adviser.knowledge))
    told = json.dumps(asdict(answer), ensure_ascii=False, sort_keys=True) + "\n"
    assert answer.as_json() == told


def test_what_has_no_form_in_json_is_an_error() -> None:
    with pytest.raises(TypeError, match="set is not JSON serializable"):
        to_json({"a": {1, 2}})
    with pytest.raises(TypeError):
        to_json({1: Leaf("a record under a number")})
