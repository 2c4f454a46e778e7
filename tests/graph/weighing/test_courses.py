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
    assert free.acts == ()
    assert held.hours[0] == pytest.approx(free.hours[0] + act.hours[0])
    assert held.hours[1] == pytest.approx(free.hours[1] + act.hours[1])


def test_an_impossible_barrier_defeats(pack: Callable[..., OptionAnswer]) -> None:
    held = pack(kind="sewn-through", barrier="impossible", parting="impossible")
    assert held.verdict == "defeated"
    assert held.acts == ()


def test_a_barrier_that_nobody_examined_is_not_assumed(pack: Callable[..., OptionAnswer]) -> None:
    held = pack(barrier="unknown", parting="unknown")
    assert held.verdict != "accepted"
    assert held.acts == ()


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


@pytest.fixture
def patch(adviser: Adviser, make_case: Callable[..., Case]) -> Callable[..., OptionAnswer]:
    """Return a stitched patch on a split whose back a lining covers."""

    def weigh(curator: str = "yes", **contact: Any) -> OptionAnswer:
        front = part("front", "cotton", "certain") | {
            "lies_flat": "yes",
            "reverse_reachable": "no",
            "bears_needle": "yes",
            "bears_handling": "yes",
            "sound_surroundings": "yes",
        }
        sewn = {"between": ["lining", "front"], "kind": "stitched"} | contact
        case = make_case(
            parts=[front, part("lining", "cotton", "certain")],
            contacts=[sewn],
            damages=[{"id": "rent", "damage": "split", "parts": ["front"], "evidence": "no"}],
            significance={"statement": "x", "curator_agrees": curator},
            means={"skill": "specialist", "hours": 100, "equipment": "unknown"},
        )
        found = (o for o in adviser.weigh(case).options() if o.id == "rent/stitched-patch")
        return next(found)

    return weigh


def test_a_lining_that_can_be_parted_gives_the_back(patch: Callable[..., OptionAnswer]) -> None:
    held = patch(parting="possible")
    (act,) = held.acts
    assert act.supplies == "condition:reverse-reachable"
    assert act.technique == "technique:unpick-join"
    assert act.where == ("front", "lining")
    assert "reverse" not in " ".join(f.message for f in held.findings if f.effect == "defeats")


def test_a_lining_that_can_not_be_parted_does_not(patch: Callable[..., OptionAnswer]) -> None:
    held = patch(parting="impossible")
    assert held.verdict == "defeated"
    assert held.acts == ()


def test_opening_a_join_waits_for_the_curator(patch: Callable[..., OptionAnswer]) -> None:
    held = patch("unknown", parting="possible")
    assert held.verdict == "undecided"
    settling = {m.what for f in held.findings for m in f.mends}
    assert "condition:curator-agrees" in settling
    assert patch("no", parting="possible").verdict == "defeated"
