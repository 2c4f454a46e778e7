"""Reviewers' arguments change their verdict, never ours."""

from __future__ import annotations

from collections.abc import Callable

import networkx as nx
import pytest
from hypothesis import given
from hypothesis import strategies as st

from leastwise.graph import Adviser, Case
from leastwise.graph.reviewing.rebuttals import (
    OPTION,
    ReviewerArgument,
    finding_key,
    reviewed,
    with_reviewers,
)
from leastwise.graph.weighing.argument import Argument, ArgumentGraph, grounded_labelling

STEAM = "crushed-tiers/steam"


@pytest.fixture
def steam(adviser: Adviser, demo: Callable[[str], Case]) -> ArgumentGraph:
    return adviser.arguments(demo("festival-dancer"), STEAM)


def _rebuttals(graph: ArgumentGraph) -> list[ReviewerArgument]:
    keys = dict.fromkeys(finding_key(a.finding) for a in graph.arguments.values() if a.finding)
    return [ReviewerArgument(f"r{i}", "R. Reviewer", key, "no") for i, key in enumerate(keys)]


def test_steam_stays_defeated_until_all_that_speaks_against_it_is_rebutted(
    steam: ArgumentGraph,
) -> None:
    against = _rebuttals(steam)
    assert steam.verdict == "defeated"
    assert reviewed(STEAM, steam, against[:1]).theirs == "defeated"
    whole = reviewed(STEAM, steam, against)
    assert (whole.ours, whole.theirs) == ("defeated", "accepted")
    assert "accepted with what R. Reviewer says" in whole.in_words


def test_a_rebuttal_that_is_rebutted_itself_changes_nothing(steam: ArgumentGraph) -> None:
    added = _rebuttals(steam)
    added += [ReviewerArgument(f"c{a.id}", "S. Second", a.id, "but yes") for a in added]
    found = reviewed(STEAM, steam, added)
    assert found.theirs == found.ours == "defeated"
    assert {s.label for s in found.standing if s.id.startswith("r")} == {"out"}


def test_a_further_argument_defeats_what_was_accepted(
    adviser: Adviser, demo: Callable[[str], Case]
) -> None:
    case = demo("festival-dancer")
    option = next(o.id for o in adviser.weigh(case).options() if o.verdict == "accepted")
    added = [ReviewerArgument("x", "R. Reviewer", OPTION, "the seam would not bear it")]
    found = reviewed(option, adviser.arguments(case, option), added)
    assert (found.ours, found.theirs) == ("accepted", "defeated")


def test_two_who_attack_each_other_leave_it_undecided(
    adviser: Adviser, make_case: Callable[..., Case]
) -> None:
    case = make_case()
    option = next(o.id for o in adviser.weigh(case).options() if o.verdict == "accepted")
    added = [
        ReviewerArgument("x", "A", OPTION, "no"),
        ReviewerArgument("y", "B", "x", "yes"),
        ReviewerArgument("z", "A", "y", "no"),
    ]
    circle = [added[0], added[1], ReviewerArgument("w", "B", "z", "yes"), added[2]]
    graph = adviser.arguments(case, option)
    assert reviewed(option, graph, added).theirs == "defeated"
    assert reviewed(option, graph, circle).theirs == "accepted"


def test_an_argument_whose_target_is_gone_is_told_as_lost_and_so_is_what_hangs_on_it(
    steam: ArgumentGraph,
) -> None:
    added = [
        ReviewerArgument("x", "A", "rule:gone|a|b|c", "no"),
        ReviewerArgument("y", "B", "x", "yes"),
    ]
    found = reviewed(STEAM, steam, added)
    assert found.theirs == found.ours
    assert [s.label for s in found.standing] == ["lost", "lost"]


@given(st.lists(st.tuples(st.integers(0, 6), st.integers(-1, 6)), max_size=8))
def test_our_own_graph_is_never_changed(pairs: list[tuple[int, int]]) -> None:
    plain: nx.DiGraph[str] = nx.DiGraph()
    plain.add_node("option")
    graph = ArgumentGraph(
        plain, {"option": Argument("option", "option", "x")}, grounded_labelling(plain)
    )
    added = {a: ReviewerArgument(str(a), "R", OPTION if b < 0 else str(b), "t") for a, b in pairs}
    wider, lost = with_reviewers(graph, list(added.values()))
    assert list(plain) == ["option"]
    assert graph.verdict == "accepted"
    assert set(wider.labels) == set(wider.arguments)
    assert len(wider.arguments) == 1 + len(added) - len(lost)
