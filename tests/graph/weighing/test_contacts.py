"""What an agent reaches through touching parts."""

from __future__ import annotations

from collections.abc import Iterator

import pytest
from hypothesis import given
from hypothesis import strategies as st

from leastwise.api.drawings.network import KINDS as DRAWN
from leastwise.graph import Adviser
from leastwise.graph.case.record import Case
from leastwise.graph.knowledge.concepts import Agent, ContactKind
from leastwise.graph.questions.exposure_values import COMES, TOUCH
from leastwise.graph.weighing.contacts import ContactNetwork, Reach

BOTH = frozenset({"lw:Barrier", "lw:Parting"})
VAPOUR = Agent("agent:water-vapour", "vapour", "byContact", graded=True, stopped_by=BOTH)
WEIGHT = Agent("agent:pressure", "weight", "downward", graded=True, stopped_by=BOTH)
COLD = Agent("agent:freezing", "cold", "wholeObject", graded=True, stopped_by=frozenset())
GLUE = Agent("agent:adhesive", "glue", "onlyAtPlace", graded=True, stopped_by=frozenset())
NEEDLE = Agent("agent:needle", "needle", "throughLayers", graded=True, stopped_by=BOTH)
BRUSH = Agent("agent:abrasion", "brush", "overSurface", graded=True, stopped_by=BOTH)
HEAT = Agent("agent:heat", "heat", "byHeat", graded=True, stopped_by=frozenset({"lw:Parting"}))
NAMES = ("a", "b", "c", "d", "e")


@pytest.fixture(scope="module", autouse=True)
def shipped(adviser: Adviser) -> Iterator[None]:
    """Let the networks of this module stand on the kinds of contact that are shipped."""
    KINDS.update(adviser.catalogue.contact_kinds)
    yield
    KINDS.clear()


KINDS: dict[str, ContactKind] = {}
#: Each joins the parts beside it, so that no test meets a contact that isn't recorded.
CHAIN = [("a", "b"), ("b", "c"), ("c", "d"), ("d", "e")]


def network(*contacts: dict[str, object]) -> ContactNetwork:
    case = Case.model_validate(
        {
            "leastwise_case": 2,
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


def apart() -> list[dict[str, object]]:
    return [contact(first, second, "apart") for first, second in CHAIN]


def reached(
    net: ContactNetwork,
    agent: Agent = VAPOUR,
    *,
    dose: int = 3,
    confined: bool = True,
    whole: bool = False,
) -> dict[str, Reach]:
    found = net.reached(("a",), agent, dose, confined=confined, whole=whole)
    return {r.part: r for r in found if r.recorded}


def doses(net: ContactNetwork, agent: Agent = VAPOUR, *, dose: int = 3) -> dict[str, int]:
    return {part: reach.dose for part, reach in reached(net, agent, dose=dose).items()}


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


def test_glue_that_is_said_to_stay_stays_where_it_is_put() -> None:
    assert set(reached(network(contact("a", "b", "sewn-through")), GLUE)) == {"a"}


@pytest.mark.parametrize(
    ("agent", "kind", "there", "back"),
    [
        (BRUSH, "sewn-through", 3, 3),
        (BRUSH, "stitched", 0, 0),
        (BRUSH, "lies-on", 2, 2),
        (BRUSH, "hangs-from", 0, 2),
        (NEEDLE, "stitched", 0, 0),
        (NEEDLE, "lies-on", 3, 0),
        (NEEDLE, "layered-under", 0, 3),
        (WEIGHT, "lies-on", 2, 0),
        (WEIGHT, "layered-under", 0, 2),
        (WEIGHT, "stitched", 0, 0),
        (HEAT, "fastened", 2, 2),
        (VAPOUR, "fastened", 1, 1),
        (VAPOUR, "apart", 0, 0),
    ],
)
def test_what_passes_which_contact_and_which_way(
    agent: Agent, kind: str, there: int, back: int
) -> None:
    assert doses(network(contact("a", "b", kind)), agent).get("b", 0) == there
    assert doses(network(contact("b", "a", kind)), agent).get("b", 0) == back


def test_every_kind_of_contact_of_a_record_is_known_and_the_unknown_one_passes_all() -> None:
    manners = {manner for kind in KINDS.values() for manner in kind.passes}

    assert set(COMES) == set(TOUCH) == set(DRAWN) == set(KINDS)
    assert set(KINDS["unknown"].passes) == manners
    assert {passage.dose_loss for passage in KINDS["unknown"].passes.values()} == {0}


def test_a_contact_that_nobody_recorded_is_not_taken_for_absent() -> None:
    net = network(contact("a", "b", "stitched"), contact("c", "d", "stitched"))

    found = {r.part: r for r in net.reached(("a",), VAPOUR, 3, confined=True)}

    assert found["b"].recorded
    assert not any(found[part].recorded for part in ("c", "d", "e"))
    assert {found[part].dose for part in ("c", "d", "e")} == {3}


def test_where_the_parts_are_recorded_as_lying_apart_nothing_is_asked() -> None:
    net = network(*apart())

    assert {r.part for r in net.reached(("a",), VAPOUR, 3, confined=True)} == {"a"}


def test_a_tent_brings_its_full_dose_to_every_part_however_far_or_unrecorded() -> None:
    net = network(contact("a", "b", "stitched"), contact("b", "c", "hangs-from"))

    assert {p: r.dose for p, r in reached(net, whole=True).items()} == dict.fromkeys(NAMES, 3)


def test_no_sheet_keeps_a_part_out_of_a_tent() -> None:
    net = network(contact("a", "b", barrier="in-place", parting="impossible"))
    found = reached(net, whole=True)["b"]

    assert (found.stopped, found.stoppable) == ("", "no")


def test_what_is_taken_off_stays_out_of_the_tent_with_all_that_hangs_on_it() -> None:
    net = network(contact("a", "b", parting="done"), contact("b", "c", parting="impossible"))
    found = reached(net, whole=True)

    assert {part for part, reach in found.items() if reach.stopped == "parting"} == {"b", "c"}


def test_what_is_taken_off_at_one_contact_only_is_still_in_the_tent() -> None:
    net = network(contact("a", "b", parting="done"), contact("b", "a", parting="possible"))

    assert reached(net, whole=True)["b"].stopped == ""


@pytest.mark.parametrize(
    ("first", "second", "stoppable"),
    [
        ("possible", "possible", "yes"),
        ("possible", "done", "yes"),
        ("possible", "unknown", "unknown"),
        ("unknown", "impossible", "no"),
        ("possible", "impossible", "no"),
    ],
)
def test_whether_a_part_can_be_taken_off_follows_all_its_contacts(
    first: str, second: str, stoppable: str
) -> None:
    net = network(contact("a", "b", parting=first), contact("b", "a", parting=second))

    assert reached(net, whole=True)["b"].stoppable == stoppable


def test_of_a_part_without_a_recorded_contact_nobody_knows_whether_it_comes_off() -> None:
    assert reached(network(), whole=True)["b"].stoppable == "unknown"


def test_a_cycle_of_contacts_is_walked_once() -> None:
    ring = network(contact("a", "b"), contact("b", "c"), contact("c", "a"))

    assert {p: r.dose for p, r in reached(ring).items()} == {"a": 3, "b": 2, "c": 2}


contacts = st.lists(
    st.builds(
        lambda pair, kind, barrier: contact(*pair, kind, barrier=barrier),
        st.lists(st.sampled_from(NAMES), min_size=2, max_size=2, unique=True),
        st.sampled_from(sorted(DRAWN)),
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


def test_the_part_before_on_the_way_is_told() -> None:
    assert Reach("a", 3, ("a",)).via == ""
    assert Reach("b", 2, ("a", "b")).via == "a"
    assert Reach("c", 1, ("a", "b", "c")).via == "b"


def test_a_network_takes_its_kinds_of_contact_from_the_knowledge(adviser: Adviser) -> None:
    case = network(contact("a", "b")).case
    found = ContactNetwork.of(case, adviser.catalogue)

    assert (found.case, found.kinds) == (case, adviser.catalogue.contact_kinds)


@pytest.mark.parametrize(("agent", "confined"), [(HEAT, True), (VAPOUR, False)])
def test_a_sheet_that_could_be_laid_is_no_help_against_what_it_does_not_stop(
    agent: Agent, confined: bool
) -> None:
    """No sheet holds heat back, and none holds a cloud."""
    net = network(contact("a", "b", "sewn-through", barrier="possible", parting="impossible"))

    assert reached(net, agent, confined=confined)["b"].stoppable == "no"


def test_what_stops_is_named_by_the_contact_on_the_way_whichever_way_round_it_is_recorded() -> None:
    net = network(
        contact("c", "d", barrier="in-place"),
        contact("b", "a", parting="done", barrier="impossible"),
    )

    assert (reached(net)["b"].stopped, reached(net)["b"].dose) == ("parting", 2)


def test_a_shorter_way_found_later_is_taken_and_hides_nothing_behind_it() -> None:
    """From a to b straight costs a grade, by way of c nothing; d hangs on b."""
    net = network(
        contact("a", "b"),
        contact("a", "c", "sewn-through"),
        contact("c", "b", "sewn-through"),
        contact("b", "d"),
        contact("d", "e", "sewn-through"),
    )
    found = reached(net)

    assert {p: r.dose for p, r in found.items()} == {"a": 3, "b": 3, "c": 3, "d": 2, "e": 2}
    assert found["b"].way == ("a", "c", "b")
    assert found["e"].way == ("a", "c", "b", "d", "e")


def test_of_ways_of_equal_loss_the_one_recorded_first_is_taken() -> None:
    net = network(contact("a", "c"), contact("a", "b"), contact("b", "d"), contact("c", "d"))
    turned = network(contact("a", "b"), contact("a", "c"), contact("c", "d"), contact("b", "d"))

    assert reached(net)["d"].way == ("a", "c", "d")
    assert reached(turned)["d"].way == ("a", "b", "d")


def test_what_is_treated_is_reached_where_it_is_and_not_from_the_next_part() -> None:
    net = network(contact("a", "b", "sewn-through"), contact("b", "c"))
    found = {r.part: r for r in net.reached(("a", "b"), VAPOUR, 3, confined=True)}

    assert [*found] == ["a", "b", "c", "d", "e"]
    assert found["b"].way == ("b",)
    assert found["c"].way == ("b", "c")


def test_the_dose_of_what_is_treated_is_whole_and_what_falls_below_one_is_nothing() -> None:
    chain = network(*(contact(*pair) for pair in CHAIN))

    assert [doses(chain, dose=n) for n in (1, 2, 3)] == [
        {"a": 1}, {"a": 2, "b": 1}, {"a": 3, "b": 2, "c": 1},
    ]  # fmt: skip
