"""The demo cases come out as the trade would argue them."""

from __future__ import annotations

import re
from collections.abc import Callable
from typing import Any

import pytest

from leastwise.graph import Adviser, Case
from leastwise.graph.answer import Answer, OptionAnswer, Reason
from tests.conftest import DEMOS, changed, option

MOIST = "technique:humidification"
PACK = "membrane-pack-suspended"


@pytest.fixture(scope="module")
def dancer(adviser: Adviser) -> Callable[..., Answer]:
    """Return the answer to the dancer's costume, with changes."""
    from leastwise.graph import read_demo  # noqa: PLC0415

    case = read_demo("festival-dancer", adviser.knowledge)

    def answer(*changes: Callable[[dict[str, Any]], None]) -> Answer:
        result = case
        for change in changes:
            result = changed(result, adviser, change)
        return adviser.weigh(result)

    return answer


def lining_tested(
    result: str, test: str = "colourfastness-vapour"
) -> Callable[[dict[str, Any]], None]:
    return lambda data: data["tests"].append({"test": test, "part": "lining", "result": result})


def barrier(between: set[str], state: str = "in-place") -> Callable[[dict[str, Any]], None]:
    def change(data: dict[str, Any]) -> None:
        (contact,) = [c for c in data["contacts"] if set(c["between"]) == between]
        contact["barrier"] = state

    return change


def parted(between: set[str]) -> Callable[[dict[str, Any]], None]:
    def change(data: dict[str, Any]) -> None:
        (contact,) = [c for c in data["contacts"] if set(c["between"]) == between]
        contact["parting"] = "done"

    return change


SEQUINS = barrier({"sequins", "top-tier"})
BRAID = barrier({"braid", "top-tier"})


def moist(answer: Answer) -> list[OptionAnswer]:
    (damage,) = [d for d in answer.damages if d.id == "crushed-tiers"]
    return [o for o in damage.options if MOIST in o.groups]


def defeats(one: OptionAnswer) -> str:
    return " ".join(f.message for f in one.findings if f.effect == "defeats")


def test_the_suspended_pack_leads_the_moist_methods(dancer: Callable[..., Answer]) -> None:
    assert moist(dancer())[0].technique == f"technique:{PACK}"


def test_the_flat_pack_is_defeated_because_the_tiers_cannot_lie_flat(
    dancer: Callable[..., Answer],
) -> None:
    flat = option(dancer(), "crushed-tiers", "membrane-pack-flat")

    assert flat.verdict == "defeated"
    assert "lies flat" in defeats(flat)


def test_the_pack_waits_for_the_lining_alone_since_films_keep_it_from_the_trimmings(
    dancer: Callable[..., Answer],
) -> None:
    pack = option(dancer(), "crushed-tiers", PACK)
    open_points = [f for f in pack.findings if f.effect == "leavesUndecided"]

    assert pack.verdict == "undecided"
    (lining,) = open_points
    assert lining.part == "lining"
    assert "test:colourfastness-vapour" in {m.what for m in lining.mends}
    films = [act for act in pack.acts if act.supplies == "lw:Barrier"]
    behind_film = {part for act in films for part in act.where}
    assert "sequins" in behind_film
    assert "braid" not in behind_film  # hours of vapour do copper thread moderate harm at most
    assert all(act.technique == "technique:slip-in-film" for act in films)


def test_a_film_that_can_not_be_slipped_in_defeats_the_pack(
    dancer: Callable[..., Answer],
) -> None:
    def no_film(data: dict[str, Any]) -> None:
        for contact in data["contacts"]:
            if "sequins" in contact["between"]:
                contact["barrier"] = "impossible"

    pack = option(dancer(no_film), "crushed-tiers", PACK)
    assert pack.verdict == "defeated"
    assert "gelatin sequins" in defeats(pack)
    assert pack.acts == ()  # nothing is done for a course that is defeated all the same


def test_sewn_tiers_are_worked_one_after_another(dancer: Callable[..., Answer]) -> None:
    (group,) = option(dancer(), "crushed-tiers", PACK).work

    assert group.parts == ("top-tier", "middle-tier", "lower-tier")
    assert group.one_after_another


def test_loose_tiers_are_worked_as_a_group(dancer: Callable[..., Answer]) -> None:
    def lay_loose(data: dict[str, Any]) -> None:
        for contact in data["contacts"]:
            if set(contact["between"]) <= {"top-tier", "middle-tier", "lower-tier"}:
                contact["kind"] = "lies-on"

    (group,) = option(dancer(lay_loose), "crushed-tiers", PACK).work

    assert not group.one_after_another
    assert "loose" in group.in_words


def test_good_results_and_barriers_make_the_pack_accepted(dancer: Callable[..., Answer]) -> None:
    answer = dancer(lining_tested("good"), SEQUINS, BRAID)
    pack = option(answer, "crushed-tiers", PACK)

    assert pack.verdict == "accepted"
    assert pack.meets_aim
    assert answered(pack.reasons)


def answered(reason: Reason) -> bool:
    """Whether the tree shows an objection that a barrier in place answers."""
    return any(
        r.stance == "although" and any("barrier in place" in a.text for a in r.reasons)
        for r in reason.reasons
    )


def test_a_good_water_test_clears_vapour_too(dancer: Callable[..., Answer]) -> None:
    """Table F of the permission rules: no transfer in water permits vapour (common practice)."""
    answer = dancer(lining_tested("good", "colourfastness-water"), SEQUINS, BRAID)

    assert option(answer, "crushed-tiers", PACK).verdict == "accepted"


@pytest.mark.parametrize("test", ["colourfastness-vapour", "colourfastness-water"])
def test_a_bad_result_defeats_the_pack_and_names_the_neighbour(
    dancer: Callable[..., Answer], test: str
) -> None:
    pack = option(dancer(lining_tested("bad", test), SEQUINS, BRAID), "crushed-tiers", PACK)

    assert pack.verdict == "defeated"
    assert "lining of the skirt" in defeats(pack)
    assert "satin skirt" in defeats(pack)  # the way there


@pytest.mark.parametrize(
    "stop",
    [
        barrier({"lower-tier", "skirt"}),
        barrier({"skirt", "lining"}),
        parted({"skirt", "lining"}),
    ],
)
def test_a_barrier_or_a_parting_on_the_way_lifts_a_bad_result(
    dancer: Callable[..., Answer], stop: Callable[[dict[str, Any]], None]
) -> None:
    pack = option(dancer(lining_tested("bad"), SEQUINS, BRAID, stop), "crushed-tiers", PACK)

    assert pack.verdict == "accepted"


@pytest.mark.parametrize("technique", ["steam", "spray"])
def test_steam_and_spray_stay_defeated_by_the_gelatin_sequins(
    dancer: Callable[..., Answer], technique: str
) -> None:
    for answer in (dancer(), dancer(lining_tested("good"), SEQUINS, BRAID)):
        one = option(answer, "crushed-tiers", technique)

        assert one.verdict == "defeated"
        assert "gelatin sequins" in defeats(one)


def test_worn_fastenings_that_are_evidence_are_left_alone(dancer: Callable[..., Answer]) -> None:
    (damage,) = [d for d in dancer().damages if d.id == "worn-fastenings"]

    assert damage.options[0].verdict == "accepted"
    assert damage.options[0].burdens["axis:evidence-lost"] == 0


def test_floats_are_laid_back_by_hand_before_they_are_couched(
    adviser: Adviser, demo: Callable[[str], Case]
) -> None:
    answer = adviser.weigh(demo("furnishing-panel"))
    by_hand = option(answer, "loose-floats", "hand-realignment")
    couched = option(answer, "loose-floats", "laid-couching")

    assert by_hand.rank == 1
    assert by_hand.verdict == "accepted"
    assert by_hand.meets_aim
    assert by_hand.rank < couched.rank
    assert "tension" in text_of(by_hand.reasons)
    assert "tension" in " ".join(f.message for f in couched.findings)


def text_of(reason: Reason) -> str:
    return " ".join([reason.text, *(text_of(r) for r in reason.reasons)])


def test_floats_that_will_travel_are_not_settled_by_hand(
    adviser: Adviser, demo: Callable[[str], Case]
) -> None:
    def travel(data: dict[str, Any]) -> None:
        data["aim"] |= {"purpose": "loan", "travels": "yes"}

    answer = adviser.weigh(changed(demo("furnishing-panel"), adviser, travel))

    assert option(answer, "loose-floats", "hand-realignment").verdict == "undecided"


@pytest.mark.parametrize("field", ["travels", "mounting"])
def test_floats_are_not_settled_by_hand_while_the_record_is_silent(
    adviser: Adviser, demo: Callable[[str], Case], field: str
) -> None:
    def forget(data: dict[str, Any]) -> None:
        data["aim"][field] = "unknown"

    answer = adviser.weigh(changed(demo("furnishing-panel"), adviser, forget))

    assert option(answer, "loose-floats", "hand-realignment").verdict == "undecided"


def test_no_needle_goes_through_the_shattering_banner(
    adviser: Adviser, demo: Callable[[str], Case]
) -> None:
    answer = adviser.weigh(demo("guild-banner"))

    for technique in ("laid-couching", "brick-couching", "stitched-patch"):
        one = option(answer, "splits", technique)
        assert one.verdict == "defeated"
        assert "silk ground" in defeats(one)


@pytest.mark.parametrize("name", DEMOS)
def test_nothing_that_a_violation_forbids_is_ever_accepted(
    adviser: Adviser, demo: Callable[[str], Case], name: str
) -> None:
    for one in adviser.weigh(demo(name)).options():
        if any(f.severity == "Violation" for f in one.findings):
            assert one.verdict == "defeated", one.id
        elif any(f.effect == "leavesUndecided" for f in one.findings):
            assert one.verdict == "undecided", one.id
        else:
            assert one.verdict == "accepted", one.id


@pytest.mark.parametrize("name", DEMOS)
def test_leaving_alone_is_an_option_for_every_damage(
    adviser: Adviser, demo: Callable[[str], Case], name: str
) -> None:
    for damage in adviser.weigh(demo(name)).damages:
        (alone,) = [o for o in damage.options if o.is_baseline]
        assert alone.burden == 0
        assert alone.verdict == "accepted"


@pytest.mark.parametrize("name", DEMOS)
def test_the_same_case_twice_gives_the_same_bytes(
    adviser: Adviser, demo: Callable[[str], Case], name: str
) -> None:
    first = adviser.weigh(demo(name)).as_json()

    assert adviser.weigh(demo(name)).as_json() == first
    assert re.search(r'"knowledge": "[0-9a-f]{16}"', first)


@pytest.mark.parametrize("name", DEMOS)
def test_every_open_point_says_what_would_settle_it(
    adviser: Adviser, demo: Callable[[str], Case], name: str
) -> None:
    for one in adviser.weigh(demo(name)).options():
        for finding in one.findings:
            if finding.effect == "leavesUndecided":
                assert finding.mends, f"{one.id}: {finding.rule} on {finding.part}"


@pytest.mark.parametrize("name", DEMOS)
def test_every_cited_claim_and_source_is_in_the_answer(
    adviser: Adviser, demo: Callable[[str], Case], name: str
) -> None:
    answer = adviser.weigh(demo(name))

    for claim in answer.claims.values():
        assert claim.statement
        assert claim.basis in ("read", "memory", "practice")
        assert claim.basis == "practice" or claim.source in answer.sources
