"""A group of kinds, such as deformation, asks which kind it is, and is not without an answer."""

from __future__ import annotations

from collections.abc import Callable

import pytest

from leastwise.graph import Adviser, Case
from leastwise.graph.weighing.answers_to import KIND_IS_TOLD, answers_to


def only(case: Case, damage: str) -> Case:
    """Return a case with one of its damages, as another kind."""
    first = case.damages[0].model_copy(update={"damage": damage, "deposit": "unknown"})
    return case.model_copy(update={"damages": [first]})


def test_a_kind_is_answered_by_what_is_claimed_of_it(adviser: Adviser) -> None:
    found = {t.id: effects for t, effects in answers_to("damage:crease", adviser.catalogue)}

    assert "technique:humidity-chamber" in found
    assert all(KIND_IS_TOLD not in e.holds_if for effects in found.values() for e in effects)


def test_a_group_is_answered_by_what_answers_a_kind_in_it(adviser: Adviser) -> None:
    group = {t.id: effects for t, effects in answers_to("damage:deformation", adviser.catalogue)}
    kind = {t.id for t, _ in answers_to("damage:crease", adviser.catalogue)}

    assert kind <= group.keys()
    assert all(KIND_IS_TOLD in e.holds_if for effects in group.values() for e in effects)


@pytest.mark.parametrize("damage", ["damage:deformation", "damage:surface-deposit", "damage:other"])
def test_what_is_only_roughly_told_is_asked_for_and_nothing_of_it_is_accepted(
    damage: str, adviser: Adviser, demo: Callable[[str], Case]
) -> None:
    case = only(demo("festival-dancer"), damage)
    answer = adviser.weigh(case)
    problem = next(d for d in answer.damages if d.id == case.damages[0].id)

    assert problem.id in answer.headline.waits
    acting = [o for o in problem.options if not o.is_baseline]
    assert acting
    assert all(o.verdict != "accepted" for o in acting)
    asked = {s.what for s in answer.headline.settle_first if any(
        one.startswith(f"{problem.id}/") for one in s.opens)}  # fmt: skip
    assert KIND_IS_TOLD in asked
