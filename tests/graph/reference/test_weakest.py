"""What is weakest comes first: doubtful by how it is known, and with much hanging on it."""

from __future__ import annotations

import pytest

from leastwise.graph import Adviser, read_demo
from leastwise.graph.reference.book import build_reference
from leastwise.graph.reference.values import Reference
from leastwise.graph.reference.weakest import decisions_on, weakest


@pytest.fixture(scope="module")
def book(adviser: Adviser) -> Reference:
    return build_reference(adviser.knowledge, adviser.rules)


def test_the_value_is_doubt_times_what_hangs_on_it_and_falls(
    book: Reference, adviser: Adviser
) -> None:
    found = weakest(book, adviser.knowledge)

    assert [one.value for one in found] == sorted((one.value for one in found), reverse=True)
    assert all(one.value == round(one.doubt * one.hanging.weight, 3) for one in found)
    assert all(0 < one.doubt < 1 and one.because for one in found)
    assert len(found) > 1000


def test_what_is_recalled_is_more_doubtful_than_what_was_read(
    book: Reference, adviser: Adviser
) -> None:
    found = {one.claim: one for one in weakest(book, adviser.knowledge)}

    def doubts(basis: str) -> set[float]:
        plain = (c for c in book.claims.values() if c.basis == basis and not c.needs_check)
        weak = (found[c.id] for c in plain if c.id in found)
        return {w.doubt for w in weak if "another claim says something else" not in w.because}

    assert min(doubts("memory")) > max(doubts("read"))
    assert min(doubts("practice")) > max(doubts("read"))


def test_a_rule_that_defeats_weighs_more_than_one_that_asks_for_a_record(
    book: Reference, adviser: Adviser
) -> None:
    found = {one.claim: one for one in weakest(book, adviser.knowledge)}
    alone = [w for w in found.values() if len(w.hanging.rules) == 1 and not w.hanging.grades]
    by_effect: dict[str, set[float]] = {}
    for one in alone:
        effect = book.rules[one.hanging.rules[0]].rule.effect
        own = one.hanging.weight - 0.5 * one.hanging.drawn - one.hanging.effects
        by_effect.setdefault(effect, set()).add(own)

    assert by_effect["defeats"] == {3.0}
    assert by_effect["cautions"] == {1.0}


def test_decisions_of_cases_count_besides(book: Reference, adviser: Adviser) -> None:
    answer = adviser.weigh(read_demo("furnishing-panel", adviser.knowledge))
    told = decisions_on([answer])
    without, with_it = (
        {one.claim: one for one in weakest(book, adviser.knowledge, d)} for d in (None, told)
    )
    cited = next(claim for claim in told if claim in without)

    assert max(told.values()) <= len(list(answer.options()))
    assert with_it[cited].decisions == told[cited]
    assert with_it[cited].value > without[cited].value
