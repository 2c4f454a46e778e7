"""The grounded labelling against published examples and against brute force."""

from __future__ import annotations

from itertools import product

import networkx as nx
import pytest
from hypothesis import given
from hypothesis import strategies as st

from leastwise.graph.knowledge.concepts import Sensitivity
from leastwise.graph.weighing.argument import ArgumentGraph, argue, grounded_labelling
from leastwise.graph.weighing.contacts import Reach
from leastwise.graph.weighing.exposure import Exposure
from leastwise.graph.weighing.findings import Finding
from tests.graph.handmade import rule


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


def finding(effect: str) -> Finding:
    return Finding(rule(effect), "option/x", f"It {effect}.")


def exposure(harm: int = 4, tested: str = "untested", stopped: str = "barrier") -> Exposure:
    return Exposure(
        "x/0", "x", "technique:x", "agent:water-vapour", 3, "b", "material:silk", "certain",
        False, Reach("b", 3, ("a", "b"), "yes", stopped), True, Sensitivity(harm, ()), harm,
        "known", tested, (),
    )  # fmt: skip


def kinds(graph: ArgumentGraph) -> dict[str, str]:
    return {one.id: one.kind for one in graph.arguments.values()}


def test_what_nothing_speaks_against_is_accepted() -> None:
    graph = argue("a pack", [], [])

    assert graph.verdict == "accepted"
    assert kinds(graph) == {"option": "option"}
    assert graph.arguments["option"].text == "a pack"


@pytest.mark.parametrize(
    ("effects", "verdict"),
    [
        (["defeats"], "defeated"),
        (["leavesUndecided"], "undecided"),
        (["cautions"], "accepted"),
        (["records"], "accepted"),
        (["cautions", "leavesUndecided"], "undecided"),
        (["leavesUndecided", "defeats"], "defeated"),
        (["leavesUndecided", "leavesUndecided"], "undecided"),
    ],
)
def test_the_verdict_follows_from_the_gravest_effect(effects: list[str], verdict: str) -> None:
    assert argue("x", map(finding, effects), []).verdict == verdict


def test_what_is_open_stands_in_mutual_attack_with_its_hope() -> None:
    graph = argue("x", [finding("cautions"), finding("leavesUndecided")], [])

    assert kinds(graph) == {"option": "option", "finding-001": "open", "finding-001-hope": "hope"}
    assert sorted(graph.attacks.edges) == [
        ("finding-001", "finding-001-hope"),
        ("finding-001", "option"),
        ("finding-001-hope", "finding-001"),
    ]
    assert graph.attacks is graph.attacks, "the graph is made once"
    assert set(graph.labels.values()) == {"undecided"}


def test_the_attackers_of_an_argument_come_by_name() -> None:
    graph = argue("x", [finding("defeats"), finding("defeats")], [])

    assert [one.id for one in graph.attackers("option")] == ["finding-000", "finding-001"]
    assert [one.kind for one in graph.attackers("option")] == ["con", "con"]
    assert graph.arguments["finding-000"].text == "It defeats."


@pytest.mark.parametrize(
    ("harm", "tested", "stopped", "argued"),
    [
        (-1, "untested", "barrier", True),
        (0, "untested", "barrier", False),
        (1, "untested", "barrier", False),
        (2, "untested", "barrier", True),
        (4, "good", "parting", True),
        (0, "bad", "barrier", True),
        (4, "bad", "", False),
        (-1, "untested", "", False),
    ],
)
def test_what_a_stop_answers_is_argued_if_it_would_have_mattered(
    harm: int, tested: str, stopped: str, argued: bool
) -> None:
    graph = argue("x", [], [exposure(harm, tested, stopped)])

    assert graph.verdict == "accepted"
    expected = {"stopped-000": "con", "stopped-000-answer": "answer"} if argued else {}
    assert kinds(graph) == {"option": "option", **expected}
    if argued:
        assert graph.labels["stopped-000"] == "out"
        assert graph.arguments["stopped-000-answer"].text == stopped


def test_each_stop_answers_its_own_exposure() -> None:
    graph = argue("x", [], [exposure(1), exposure(4), exposure(3, stopped="parting")])

    texts = {k: a.text for k, a in graph.arguments.items() if a.kind == "answer"}
    assert texts == {"stopped-000-answer": "barrier", "stopped-001-answer": "parting"}


@pytest.mark.parametrize("order", ["abxyzpq", "baxyzpq"])
def test_an_argument_that_is_out_already_hides_none_behind_it(order: str) -> None:
    """Both a and b attack x; what either attacks besides is out as well, and frees its victims."""
    attacks = {"a": ["x", "y"], "b": ["x", "z"], "x": [], "y": ["p"], "z": ["q"], "p": [], "q": []}
    found = grounded_labelling({one: attacks[one] for one in order})

    assert found == {"a": "in", "b": "in", "x": "out", "y": "out", "z": "out", "p": "in", "q": "in"}
