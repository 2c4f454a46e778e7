"""Cases that are alike, with the reasons."""

from __future__ import annotations

from collections.abc import Callable

import pytest

from leastwise.graph import Adviser, Case
from leastwise.graph.treatment.likeness import features_of, most_alike
from tests.conftest import DEMOS

Told = dict[str, dict[str, tuple[str, float]]]


@pytest.fixture
def features(
    adviser: Adviser, demo: Callable[[str], Case]
) -> dict[str, dict[str, tuple[str, float]]]:
    return {name: features_of(demo(name), adviser.knowledge) for name in DEMOS}


def test_a_case_is_wholly_like_itself(features: Told) -> None:
    here = features["guild-banner"]
    (like,) = most_alike(here, {"same": here})
    assert like.likeness == pytest.approx(1.0)
    assert like.only_here == like.only_there == ()


def test_likeness_is_the_same_both_ways_and_stays_within_bounds(
    features: Told,
) -> None:
    one, other = features["guild-banner"], features["festival-dancer"]
    (there,), (back,) = most_alike(one, {"x": other}), most_alike(other, {"x": one})
    assert there.likeness == pytest.approx(back.likeness)
    assert 0 < there.likeness < 1


def test_the_same_damage_on_the_same_material_is_a_reason(
    adviser: Adviser, make_case: Callable[..., Case], demo: Callable[[str], Case]
) -> None:
    here = features_of(make_case(), adviser.knowledge)  # creased silk
    others = {name: features_of(demo(name), adviser.knowledge) for name in DEMOS}
    found = {like.case: like for like in most_alike(here, others)}
    assert any("on silk" in words for words in found["festival-dancer"].shared)
    assert next(iter(found)) == "festival-dancer"


def test_cases_that_share_nothing_are_left_out() -> None:
    assert most_alike({"a": ("a", 1.0)}, {"x": {"b": ("b", 1.0)}}) == []
