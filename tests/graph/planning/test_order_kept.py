"""Property: whatever is put in order, nothing comes before what must precede it."""

from __future__ import annotations

from collections.abc import Callable
from itertools import combinations

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from bench.judging import entries
from leastwise.graph import Adviser, Case
from leastwise.graph.case.reading import case_from_data
from leastwise.graph.planning.choices import Choices
from leastwise.graph.planning.make import make_plan
from leastwise.graph.planning.precedence import OrderBook, OrderError, share_parts
from leastwise.graph.planning.steps import in_order_of_work

Piece = tuple[str, tuple[str, ...]]


@pytest.fixture(scope="module")
def book(adviser: Adviser) -> OrderBook:
    return OrderBook(adviser.knowledge)


@settings(
    max_examples=150, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture]
)
@given(data=st.data())
def test_no_order_breaks_a_precedence(data: st.DataObject, book: OrderBook) -> None:
    names = st.sampled_from(sorted(book.knowledge.instances("lw:Technique")))
    parts = st.lists(st.sampled_from(("hem", "bodice", "lining")), max_size=2, unique=True)
    pieces: list[Piece] = data.draw(
        st.lists(
            st.tuples(names, parts.map(tuple)), min_size=2, max_size=9, unique_by=lambda w: w[0]
        )
    )
    try:
        order = book.order_of(pieces, lambda w: w[0], lambda w: w[1])
    except OrderError:
        return  # the choice of options shuts out what can't be put in order
    done = in_order_of_work(pieces, order, lambda w: w[0])

    assert sorted(done) == sorted(pieces)
    for earlier, later in combinations(done, 2):
        if share_parts(earlier[1], later[1]):
            assert not book.must_precede(later[0], earlier[0])


def broken(case: Case, adviser: Adviser, book: OrderBook) -> list[str]:
    """Return the steps of a plan that stand before what must precede them on the same parts."""
    answer = adviser.weigh(case)
    candidates = Choices(case, adviser, answer).candidates
    plan = make_plan(case, adviser, answer=answer)
    parts = {
        s.number: {p for o in s.options if o in candidates for p in candidates[o].parts}
        for s in plan.steps
    }
    return [
        f"{case.id}: {later.technique} must precede {earlier.technique}"
        for earlier, later in combinations(plan.steps, 2)
        if share_parts(parts[earlier.number], parts[later.number])
        and book.must_precede(later.technique, earlier.technique)
    ]


@pytest.mark.parametrize("name", ["festival-dancer", "furnishing-panel", "guild-banner"])
def test_no_plan_of_a_demo_breaks_a_precedence(
    name: str, demo: Callable[[str], Case], adviser: Adviser, book: OrderBook
) -> None:
    assert broken(demo(name), adviser, book) == []


@pytest.mark.slow
def test_no_plan_of_a_published_case_breaks_a_precedence(adviser: Adviser, book: OrderBook) -> None:
    cases = [case_from_data(e["case"], adviser.knowledge) for e in entries()[::4]]

    assert [one for case in cases for one in broken(case, adviser, book)] == []
