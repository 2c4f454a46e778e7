"""Places of a list: options that go the same way share one, led by the best of them."""

from __future__ import annotations

from collections.abc import Callable

import pytest

from leastwise.graph import Adviser, Case
from leastwise.graph.answer import DamageAnswer
from leastwise.graph.weighing.ways import ways_of
from tests.conftest import DEMOS


@pytest.fixture(params=DEMOS)
def damages(
    adviser: Adviser, demo: Callable[[str], Case], request: pytest.FixtureRequest
) -> list[DamageAnswer]:
    return adviser.weigh(demo(request.param)).damages


def test_what_shares_a_place_goes_one_way_and_stands_behind_its_leader(
    adviser: Adviser, damages: list[DamageAnswer]
) -> None:
    ways = ways_of(adviser.knowledge)
    for damage in damages:
        options = {o.id: o for o in damage.options}
        for place in damage.places:
            mine = [options[one] for one in place.options]
            assert [o.rank for o in mine] == sorted(o.rank for o in mine)
            assert all(o.heading in ("meets-aim", "helps") for o in mine[1:])
            if place.beside:
                assert all(place.way in ways[o.technique] for o in mine)
                assert place.choice == ways[mine[0].technique][place.way].choice
            else:
                assert (place.way, place.choice) == ("", "")


def test_no_option_has_two_places_and_no_way_is_told_twice(damages: list[DamageAnswer]) -> None:
    for damage in damages:
        named = [one for place in damage.places for one in place.options]
        assert len(named) == len(set(named))
        assert len(damage.places) <= 7
        options = {o.id: o for o in damage.options}
        led = [place.way for place in damage.places if place.way]
        assert len(led) == len(set(led))
        assert any(options[place.leads].is_baseline for place in damage.places)


def test_what_meets_the_aim_first_leads_the_first_place(damages: list[DamageAnswer]) -> None:
    for damage in damages:
        meeting = [o.id for o in damage.options if o.heading == "meets-aim"]
        assert not meeting or damage.places[0].leads == meeting[0]


def test_an_overlay_of_net_stands_beside_one_of_crepeline(adviser: Adviser) -> None:
    ways = ways_of(adviser.knowledge)
    net, silk = ways["technique:net-overlay"], ways["technique:crepeline-overlay"]
    assert net.keys() & silk.keys() == {"sheer layer over it"}
    assert not ways["technique:stitched-patch"].keys() & net.keys()


def test_every_technique_of_a_way_is_known(adviser: Adviser) -> None:
    assert ways_of(adviser.knowledge).keys() <= adviser.catalogue.techniques.keys()
