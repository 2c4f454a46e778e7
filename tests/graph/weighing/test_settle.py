"""What would settle a finding: the gentlest test that tells, a stop, an entry."""

from __future__ import annotations

from collections.abc import Callable
from itertools import pairwise
from typing import Any

import pytest

from leastwise.graph import Adviser, Case
from leastwise.graph.weighing.exposure import Exposure
from leastwise.graph.weighing.settle import Mend, Settler, _cost

VAPOUR = "agent:water-vapour"
PACK = "crushed/membrane-pack-flat"
TEST = "test:hidden-spot-trial"


def part(name: str, *materials: str, known: str = "certain") -> dict[str, Any]:
    made = [{"material": one, "identified": known} for one in materials]
    return {"id": name, "name": name, "lies_flat": "yes", "materials": made}


def touching(**more: str) -> dict[str, Any]:
    return {"between": ["sequins", "collar"], "kind": "lies-on"} | more


@pytest.fixture
def settled(adviser: Adviser, make_case: Callable[..., Case]) -> Callable[..., list[Mend]]:
    """Return the mends of one exposure of the pack."""

    def of(material: str, *lifted_by: str, **changes: Any) -> list[Mend]:
        steps = adviser.steps(make_case(**changes), PACK)
        settler = Settler(steps.case, adviser.catalogue, steps.setting.reader)
        found: list[Exposure] = [*steps.setting.tracer.trace(steps.candidates[0])]
        (e,) = [e for e in found if e.material == f"material:{material}" and e.agent == VAPOUR]
        return settler.of_exposure(e, lifted_by)

    return of


def test_what_costs_the_object_less_comes_before_what_takes_less_time(adviser: Adviser) -> None:
    tests = adviser.catalogue.tests.values()
    kinds = sorted(tests, key=_cost)

    assert [t.material_lost for t in kinds] == sorted(t.material_lost for t in tests)
    for a, b in pairwise(kinds):
        assert a.material_lost < b.material_lost or a.minutes <= b.minutes


def test_a_colour_waits_for_the_gentlest_test_that_tries_the_agent(
    settled: Callable[..., list[Mend]],
) -> None:
    found = settled("madder", TEST, parts=[part("collar", "silk", "madder")])

    assert found == [Mend("test", "test:colourfastness-vapour", "collar", "material:madder")]


def test_what_nobody_identified_waits_for_its_identification(
    settled: Callable[..., list[Mend]],
) -> None:
    parts = [part("collar", "silk", "undyed"), part("sequins", "sequins-unidentified")]
    found = settled("sequins-unidentified", TEST, parts=parts, contacts=[touching()])

    assert {mend.kind for mend in found} == {"identity"}
    assert len(found) == 2


@pytest.mark.parametrize(
    ("barrier", "parting", "kinds"),
    [
        ("possible", "impossible", ["barrier"]),
        ("unknown", "possible", ["barrier", "parting"]),
        ("impossible", "impossible", []),
        ("impossible", "unknown", ["parting"]),
    ],
)
def test_stops_that_the_record_rules_out_are_not_offered(
    settled: Callable[..., list[Mend]], barrier: str, parting: str, kinds: list[str]
) -> None:
    parts = [part("collar", "silk", "undyed"), part("sequins", "gelatin-sequins")]
    contacts = [touching(barrier=barrier, parting=parting)]
    found = settled("gelatin-sequins", "lw:Barrier", "lw:Parting", parts=parts, contacts=contacts)

    assert [mend.kind for mend in found] == kinds
    assert {mend.what for mend in found} <= {"collar and sequins"}


def test_only_the_stops_that_a_rule_names_lift_it(settled: Callable[..., list[Mend]]) -> None:
    parts = [part("collar", "silk", "undyed"), part("sequins", "gelatin-sequins")]
    contacts = [touching(barrier="possible", parting="possible")]

    found = settled("gelatin-sequins", "lw:Parting", parts=parts, contacts=contacts)

    assert [mend.kind for mend in found] == ["parting"]


def test_where_no_contact_is_recorded_the_record_is_what_settles_it(
    settled: Callable[..., list[Mend]],
) -> None:
    parts = [part("collar", "silk", "undyed"), part("sequins", "gelatin-sequins")]

    found = settled("gelatin-sequins", TEST, "lw:Barrier", parts=parts)

    assert found == [Mend("record", "lw:hasContact", "sequins")]


def test_a_test_that_looks_at_the_part_is_named_as_the_rule_names_it(
    settled: Callable[..., list[Mend]],
) -> None:
    """X-ray fluorescence tries no agent: it is what the rule asks for, and no trial replaces it."""
    found = settled("silk", "test:xrf-elements", parts=[part("collar", "silk", "undyed")])

    assert found == [Mend("test", "test:xrf-elements", "collar", "material:silk")]


def test_of_the_tests_that_a_rule_names_the_one_that_tries_the_agent_is_asked_for(
    settled: Callable[..., list[Mend]],
) -> None:
    named = ("test:finish-drop-tests", "test:tack-watch")
    found = settled("silk", *named, parts=[part("collar", "silk", "undyed")])

    assert [mend.what for mend in found] == ["test:tack-watch"]


def test_a_bad_result_is_not_settled_by_the_same_test_again(
    settled: Callable[..., list[Mend]],
) -> None:
    bad = {"test": "colourfastness-vapour", "part": "collar", "result": "bad"}
    parts = [part("collar", "silk", "madder")]

    assert settled("madder", "test:colourfastness-vapour", parts=parts, tests=[bad]) == []


def test_the_agreement_of_the_curator_is_asked_for_only_where_it_is_lacking(
    settled: Callable[..., list[Mend]],
) -> None:
    agrees = "condition:curator-agrees"
    parts = [part("collar", "silk", "undyed")]
    silent = {"statement": "x", "curator_agrees": "unknown"}

    assert settled("silk", agrees, parts=parts) == []
    assert settled("silk", agrees, parts=parts, significance=silent) == [
        Mend("record", agrees, "collar")
    ]


def test_a_test_is_asked_for_on_a_part_on_which_it_means_something(
    adviser: Adviser, make_case: Callable[..., Case]
) -> None:
    """Diphenylamine tells of plastic, so it is the buckle that waits for it and not the silk."""
    parts = [part("collar", "silk", "undyed"), part("buckle", "cellulose-nitrate")]
    steps = adviser.steps(make_case(parts=parts), PACK)
    settler = steps.settler

    found = settler.of_option(steps.candidates[0], ("test:diphenylamine", "test:vapour-trial"))

    assert [(mend.what, mend.part) for mend in found] == [
        ("test:diphenylamine", "buckle"),
        ("test:vapour-trial", "collar"),
    ]
