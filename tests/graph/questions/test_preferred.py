"""Preferred extensions against the definition, by brute force, and against the grounded one."""

from __future__ import annotations

from itertools import combinations

import networkx as nx
import pytest
from hypothesis import given
from hypothesis import strategies as st

from leastwise.graph import Adviser, read_demo
from leastwise.graph.questions.preferred import (
    MOST_ARGUMENTS,
    TooManyArguments,
    preferred_extensions,
    view_arguments,
)
from leastwise.graph.weighing.argument import grounded_labelling

graphs = st.lists(
    st.tuples(st.sampled_from("abcdefg"), st.sampled_from("abcdefg")), max_size=18
).map(lambda edges: nx.DiGraph([*edges]))


def by_definition(graph: nx.DiGraph[str]) -> set[frozenset[str]]:
    """Try every set of arguments: admissible, and part of no larger admissible one."""
    sets = [
        frozenset(chosen)
        for size in range(len(graph) + 1)
        for chosen in combinations(sorted(graph), size)
        if _is_admissible(graph, set(chosen))
    ]
    return {one for one in sets if not any(one < other for other in sets)}


def _is_admissible(graph: nx.DiGraph[str], chosen: set[str]) -> bool:
    if any(graph.has_edge(a, b) for a in chosen for b in chosen):
        return False
    attackers = {a for one in chosen for a in graph.predecessors(one)}
    return all(any(graph.has_edge(d, a) for d in chosen) for a in attackers)


@given(graphs)
def test_they_are_the_largest_admissible_sets(graph: nx.DiGraph[str]) -> None:
    found = preferred_extensions(graph)

    assert set(found) == by_definition(graph)
    assert len(found) == len(set(found))


@given(graphs)
def test_what_is_in_by_the_grounded_labelling_is_in_each_of_them(graph: nx.DiGraph[str]) -> None:
    labels = grounded_labelling(graph)
    inside = {node for node, label in labels.items() if label == "in"}

    assert all(inside <= extension for extension in preferred_extensions(graph))


def test_twenty_arguments_are_taken_and_one_more_is_a_clear_error() -> None:
    pairs = [(f"a{i}", f"b{i}") for i in range(MOST_ARGUMENTS // 2)]
    graph = nx.DiGraph([*pairs, *((b, a) for a, b in pairs)])
    assert len(preferred_extensions(graph)) == 2 ** (MOST_ARGUMENTS // 2)

    graph.add_node("one more")
    with pytest.raises(TooManyArguments, match=r"21 are not accepted.*at most 20"):
        preferred_extensions(graph)


def test_an_undecided_option_can_be_held_in_one_story_and_not_in_another(adviser: Adviser) -> None:
    case = read_demo("guild-banner", adviser.knowledge)
    option = "splits/pressure-mount"

    view = view_arguments(option, adviser.arguments(case, option), preferred=True)

    assert view.verdict == "undecided"
    assert view.preferred is not None
    assert {"option" in extension for extension in view.preferred} == {True, False}
    assert {a.label for a in view.arguments} == {"undecided"}
