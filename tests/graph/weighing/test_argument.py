"""The grounded labelling against published examples and against brute force."""

from __future__ import annotations

from itertools import product

import networkx as nx
import pytest
from hypothesis import given
from hypothesis import strategies as st

from leastwise.graph.weighing.argument import grounded_labelling


def labelled(*attacks: tuple[str, str]) -> dict[str, str]:
    return grounded_labelling(nx.DiGraph(attacks))


def test_a_cycle_of_three_is_wholly_undecided() -> None:
    """Three arguments in a cycle have no non-empty admissible set: example in arXiv 1802.01526."""
    assert set(labelled(("a", "b"), ("b", "c"), ("c", "a")).values()) == {"undecided"}


@pytest.mark.parametrize(
    ("attacks", "expected"),
    [
        ([("b", "a"), ("c", "b")], {"a": "in", "b": "out", "c": "in"}),
        ([("a", "b"), ("b", "a")], {"a": "undecided", "b": "undecided"}),
        (
            [("a", "b"), ("b", "c"), ("c", "a"), ("d", "c")],
            {"a": "in", "b": "out", "c": "out", "d": "in"},
        ),
        ([("a", "a")], {"a": "undecided"}),
    ],
)
def test_small_graphs_are_labelled_by_the_definition(
    attacks: list[tuple[str, str]], expected: dict[str, str]
) -> None:
    """Worked by hand from Dung 1995, section 2."""
    assert labelled(*attacks) == expected


graphs = st.lists(st.tuples(st.sampled_from("abcde"), st.sampled_from("abcde")), max_size=12).map(
    lambda edges: nx.DiGraph([*edges])
)


@given(graphs)
def test_the_grounded_labelling_is_the_complete_one_with_the_fewest_decisions(
    graph: nx.DiGraph[str],
) -> None:
    """The grounded extension is the least complete extension: all 3^n labellings are tried."""
    nodes = sorted(graph)
    complete = [
        dict(zip(nodes, labels, strict=True))
        for labels in product(("in", "out", "undecided"), repeat=len(nodes))
        if _is_complete(graph, dict(zip(nodes, labels, strict=True)))
    ]
    least = min(complete, key=lambda labels: sum(v == "in" for v in labels.values()))

    assert grounded_labelling(graph) == least


def _is_complete(graph: nx.DiGraph[str], labels: dict[str, str]) -> bool:
    for node in graph:
        attackers = {labels[a] for a in graph.predecessors(node)}
        expected = "out" if "in" in attackers else "in" if attackers <= {"out"} else "undecided"
        if labels[node] != expected:
            return False
    return True
