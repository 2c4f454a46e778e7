"""Courses: what the record calls possible is done, counted and never assumed."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import pytest

from leastwise.graph import Adviser, Case
from leastwise.graph.answer import OptionAnswer

PACK = "crushed/membrane-pack-flat"


def part(name: str, material: str, identified: str) -> dict[str, Any]:
    """Return a part of one material."""
    return {
        "id": name,
        "name": name,
        "materials": [{"material": material, "identified": identified}],
    }


@pytest.fixture
def pack(adviser: Adviser, make_case: Callable[..., Case]) -> Callable[..., OptionAnswer]:
    """Return the pack on a crushed collar that gelatin sequins touch."""

    def weigh(identified: str = "certain", **contact: Any) -> OptionAnswer:
        collar = part("collar", "silk", "certain") | {"lies_flat": "yes"}
        collar["materials"].append({"material": "undyed", "identified": "certain"})
        sequins = part("sequins", "gelatin-sequins", identified)
        touching = {"between": ["sequins", "collar"], "kind": "lies-on"} | contact
        case = make_case(
            parts=[collar, sequins],
            contacts=[touching],
            means={"skill": "specialist", "hours": 100, "equipment": "unknown"},
        )
        return next(o for o in adviser.weigh(case).options() if o.id == PACK)

    return weigh


def test_a_possible_barrier_is_slipped_in_and_counted(pack: Callable[..., OptionAnswer]) -> None:
    free, held = pack(barrier="in-place"), pack(barrier="possible")
    (act,) = held.acts
    assert act.supplies == "lw:Barrier"
    assert set(act.where) == {"sequins", "collar"}
    assert held.verdict == free.verdict == "accepted"
    assert free.acts == []
    assert held.hours[0] == pytest.approx(free.hours[0] + act.hours[0])
    assert held.hours[1] == pytest.approx(free.hours[1] + act.hours[1])


def test_an_impossible_barrier_defeats(pack: Callable[..., OptionAnswer]) -> None:
    held = pack(kind="sewn-through", barrier="impossible", parting="impossible")
    assert held.verdict == "defeated"
    assert held.acts == []


def test_a_barrier_that_nobody_examined_is_not_assumed(pack: Callable[..., OptionAnswer]) -> None:
    held = pack(barrier="unknown", parting="unknown")
    assert held.verdict != "accepted"
    assert held.acts == []


def test_the_lightest_act_is_taken(pack: Callable[..., OptionAnswer]) -> None:
    (act,) = pack(barrier="possible", parting="possible").acts
    assert act.technique == "technique:slip-in-film"


def test_parting_follows_the_kind_of_contact(pack: Callable[..., OptionAnswer]) -> None:
    (loose,) = pack(barrier="impossible", parting="possible").acts
    assert loose.technique == "technique:lift-layers-apart"
    (sewn,) = pack(kind="stitched", barrier="impossible", parting="possible").acts
    assert sewn.technique == "technique:unpick-join"


def test_what_a_presumed_material_may_suffer_is_kept_off_too(
    pack: Callable[..., OptionAnswer],
) -> None:
    assert pack("presumed", barrier="possible").verdict == "accepted"
    assert pack("presumed", barrier="unknown").verdict == "undecided"
