"""The check of a proposal as a course of work: order, drying, tests, conditions, gentler ways.

Each invented proposal holds one fault, and its mended twin doesn't: only what matters is told.
"""

from __future__ import annotations

from typing import Any

import pytest

from leastwise.graph import Adviser
from leastwise.graph.proposal.check import ReviewFinding
from leastwise.graph.proposal.course import says_drying
from tests.graph.proposal.test_check import GOOD, RECORD, checked, of, step

pytestmark = pytest.mark.slow


def dancer(adviser: Adviser, *steps: dict[str, Any], **record: Any) -> list[ReviewFinding]:
    found = checked(adviser, list(steps), case="demo:festival-dancer", record=RECORD | record)
    return found.findings


def kinds(findings: list[ReviewFinding], kind: str) -> list[ReviewFinding]:
    return [f for f in findings if f.kind == kind]


PACK = step("crushed-tiers", "membrane-pack-suspended", reason="the tiers stand again")
DRIED = step(
    "crushed-tiers",
    "membrane-pack-suspended",
    reason="each station then dries restrained between blotters, 12 h",
)
SECURED = step("loose-sequins", "re-secure-attachment")


def test_what_is_moist_and_never_dried_is_told_before_what_shuts_it_in(adviser: Adviser) -> None:
    boxed = step("need-moved", "boxed-flat-storage")

    (told,) = kinds(dancer(adviser, SECURED, PACK, boxed), "drying")
    assert told.level == "must"
    assert told.about == "step 2"
    assert "before boxed flat storage (step 3)" in told.message
    assert told.would_settle

    (last,) = kinds(dancer(adviser, SECURED, PACK), "drying")
    assert last.level == "should"


@pytest.mark.parametrize(
    ("steps", "record"),
    [
        ([SECURED, DRIED], {}),
        ([SECURED, PACK], {"methods": "eye and lens; all is dried between blotters"}),
        ([SECURED, PACK, step("crushed-tiers", "passive-weights")], {}),
    ],
)
def test_drying_that_is_said_anywhere_is_enough(
    steps: list[dict[str, Any]], record: dict[str, str], adviser: Adviser
) -> None:
    assert kinds(dancer(adviser, *steps, **record), "drying") == []


def test_dry_cleaning_is_no_drying() -> None:
    assert not says_drying("dry cleaning with a soft brush")
    assert not says_drying("dry-vacuum through a screen")
    assert says_drying("dry cleaning first; the tiers are then dried flat")


def test_order_is_looked_at_across_parts_and_told_as_the_lighter_fault(adviser: Adviser) -> None:
    figure = step("need-carried-on-figure", "padded-figure")

    late = kinds(dancer(adviser, figure, DRIED), "order")
    assert [f.level for f in late if f.about == "step 2"] == ["must"]
    assert kinds(dancer(adviser, SECURED, DRIED, figure), "order") == []

    loose_late = kinds(dancer(adviser, DRIED, SECURED), "order")
    assert loose_late
    assert {f.about for f in loose_late} == {"step 2"}


def test_a_step_may_answer_a_need_and_the_need_is_then_decided(adviser: Adviser) -> None:
    figure = step("need-carried-on-figure", "padded-figure")

    without = {f.about for f in kinds(dancer(adviser, DRIED), "decision")}
    with_it = {f.about for f in kinds(dancer(adviser, DRIED, figure), "decision")}

    assert without - with_it == {"need-carried-on-figure"}


def test_a_condition_that_the_record_denies_is_told(adviser: Adviser) -> None:
    flat = step("crushed-tiers", "membrane-pack-flat", reason="dried flat")

    told = kinds(dancer(adviser, flat), "option")
    assert any("lies flat" in f.message for f in told)


def test_a_gentler_way_that_a_test_would_open_is_named_with_the_test(adviser: Adviser) -> None:
    data = adviser.weigh(case_of(adviser))
    tried = 0
    for damage in data.damages:
        if damage.kind == "need":
            continue
        for option in damage.options:
            open_ways = [
                o
                for o in damage.options
                if o.verdict == "undecided" and o.meets_aim and o.burden <= option.burden - 0.03
            ]
            now = [
                o
                for o in damage.options
                if o.verdict == "accepted" and o.burden <= option.burden - 0.03 and o.meets_aim
            ]
            is_asked = option.verdict != "defeated" and option.meets_aim
            if not open_ways or now or not is_asked or tried > 2:
                continue
            tried += 1
            one = step(damage.id, option.technique, reason="it dries in air")
            told = kinds(dancer(adviser, one), "gentler")
            assert any("if this comes out well" in f.message for f in told)
            assert all(f.would_settle for f in told)
    assert tried


def case_of(adviser: Adviser) -> Any:
    from leastwise.graph import read_demo  # noqa: PLC0415

    return read_demo("festival-dancer", adviser.knowledge)


def test_what_differs_by_a_hair_is_not_told(adviser: Adviser) -> None:
    found = checked(adviser, GOOD)

    assert of(found, "gentler") == []
    assert of(found, "drying") == []
