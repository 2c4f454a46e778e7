"""What an agent reaches through touching parts."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from leastwise.graph.case.record import Case
from leastwise.graph.knowledge.concepts import Agent, ContactKind
from leastwise.graph.weighing.contacts import ContactNetwork

BOTH = frozenset({"lw:Barrier", "lw:Parting"})
VAPOUR = Agent("agent:water-vapour", "vapour", "byContact", graded=True, stopped_by=BOTH)
WEIGHT = Agent("agent:pressure", "weight", "downward", graded=True, stopped_by=BOTH)
COLD = Agent("agent:freezing", "cold", "wholeObject", graded=True, stopped_by=frozenset())
BRUSH = Agent("agent:abrasion", "brush", "onlyAtPlace", graded=True, stopped_by=frozenset())
KINDS = {
    "sewn-through": ContactKind("contact:sewn-through", "", 0, sewn=True, layered=True),
    "stitched": ContactKind("contact:stitched", "", 1, sewn=True, layered=True),
    "lies-on": ContactKind("contact:lies-on", "", 1, sewn=False, layered=True),
    "hangs-from": ContactKind("contact:hangs-from", "", 2, sewn=False, layered=False),
}
NAMES = ("a", "b", "c", "d", "e")


def network(*contacts: dict[str, object]) -> ContactNetwork:
    case = Case.model_validate(
        {
            "leastwise_case": 1,
            "id": "x",
            "title": "x",
            "object": {"name": "x"},
            "parts": [{"id": n, "name": n, "materials": [{"material": "silk"}]} for n in NAMES],
            "contacts": list(contacts),
            "aim": {"purpose": "study"},
        }
    )
    return ContactNetwork(case, KINDS)


def contact(a: str, b: str, kind: str = "stitched", **more: str) -> dict[str, object]:
    return {"between": [a, b], "kind": kind} | more


def reached(net: ContactNetwork, agent: Agent = VAPOUR, *, dose: int = 3, confined: bool = True):  # type: ignore[no-untyped-def]
    return {r.part: r for r in net.reached(("a",), agent, dose, confined=confined)}


def test_vapour_loses_a_grade_at_each_seam() -> None:
    found = reached(network(contact("a", "b"), contact("b", "c"), contact("c", "d")))

    assert {p: r.dose for p, r in found.items()} == {"a": 3, "b": 2, "c": 1}


def test_what_is_sewn_through_shares_the_dose() -> None:
    assert reached(network(contact("a", "b", "sewn-through")))["b"].dose == 3


def test_a_barrier_in_place_stops_a_confined_agent_and_is_named() -> None:
    found = reached(network(contact("a", "b", barrier="in-place")))

    assert found["b"].stopped == "barrier"


def test_a_barrier_does_not_stop_a_cloud() -> None:
    found = reached(network(contact("a", "b", barrier="in-place")), confined=False)

    assert found["b"].stopped == ""


def test_parting_stops_a_cloud_too() -> None:
    found = reached(network(contact("a", "b", parting="done")), confined=False)

    assert found["b"].stopped == "parting"


@pytest.mark.parametrize(
    ("barrier", "parting", "stoppable"),
    [
        ("possible", "impossible", "yes"),
        ("impossible", "possible", "yes"),
        ("unknown", "impossible", "unknown"),
        ("impossible", "impossible", "no"),
    ],
)
def test_stoppable_follows_the_record(barrier: str, parting: str, stoppable: str) -> None:
    found = reached(network(contact("a", "b", barrier=barrier, parting=parting)))

    assert found["b"].stoppable == stoppable


def test_a_second_way_round_a_possible_barrier_makes_it_useless() -> None:
    found = reached(
        network(
            contact("a", "b", barrier="possible", parting="impossible"),
            contact("a", "b", "lies-on", barrier="impossible", parting="impossible"),
        )
    )

    assert found["b"].stoppable == "no"


def test_weight_goes_down_and_not_up() -> None:
    net = network(contact("a", "b", "lies-on"), contact("c", "a", "lies-on"))

    assert set(reached(net, WEIGHT)) == {"a", "b"}


def test_cold_reaches_the_whole_object() -> None:
    assert set(reached(network(), COLD)) == set(NAMES)


def test_a_brush_stays_where_it_is_put() -> None:
    assert set(reached(network(contact("a", "b", "sewn-through")), BRUSH)) == {"a"}


def test_a_cycle_of_contacts_is_walked_once() -> None:
    ring = network(contact("a", "b"), contact("b", "c"), contact("c", "a"))

    assert {p: r.dose for p, r in reached(ring).items()} == {"a": 3, "b": 2, "c": 2}


contacts = st.lists(
    st.builds(
        lambda pair, kind, barrier: contact(*pair, kind, barrier=barrier),
        st.lists(st.sampled_from(NAMES), min_size=2, max_size=2, unique=True),
        st.sampled_from(sorted(KINDS)),
        st.sampled_from(["in-place", "possible", "impossible", "unknown"]),
    ),
    max_size=8,
)


@given(contacts, st.data())
def test_a_barrier_never_widens_what_is_reached(
    found: list[dict[str, object]], data: st.DataObject
) -> None:
    before = {p for p, r in reached(network(*found)).items() if not r.stopped}
    if found:
        number = data.draw(st.integers(0, len(found) - 1))
        found[number] = found[number] | {"barrier": "in-place"}

    after = {p for p, r in reached(network(*found)).items() if not r.stopped}

    assert after <= before


@given(contacts)
def test_a_gentler_dose_reaches_no_further(found: list[dict[str, object]]) -> None:
    net = network(*found)
    strong, gentle = reached(net, dose=4), reached(net, dose=2)

    arriving = {part for part, reach in gentle.items() if not reach.stopped}

    assert set(gentle) <= set(strong)
    assert not any(strong[part].stopped for part in arriving)
    assert all(gentle[part].dose <= strong[part].dose for part in arriving)
