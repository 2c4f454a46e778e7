"""Exposures: doses, what claims say, and what tests on this very part have shown."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

import pytest

from leastwise.graph import Adviser, Case
from leastwise.graph.case.record import TestDone
from leastwise.graph.knowledge.concepts import Sensitivity, Test
from leastwise.graph.meanings import TestState
from leastwise.graph.weighing.contacts import ContactNetwork
from leastwise.graph.weighing.exposure import (
    Exposure,
    ExposureTracer,
    _says,
    _state,
    expected_harm,
)

VAPOUR, WATER, KETONE = "agent:water-vapour", "agent:liquid-water", "agent:solvent-ketone"
PACK = "crushed/membrane-pack-flat"
BLOTTER = "crushed/damp-blotter"


def made_of(*materials: str, name: str = "collar", known: str = "certain") -> dict[str, Any]:
    return {
        "id": name,
        "name": name,
        "lies_flat": "yes",
        "materials": [{"material": one, "identified": known} for one in materials],
    }


@dataclass(frozen=True)
class Traced:
    """The exposures of one option of a small case."""

    adviser: Adviser
    make_case: Callable[..., Case]

    def __call__(self, option: str, **changes: Any) -> list[Exposure]:
        steps = self.adviser.steps(self.make_case(**changes), option)
        return [*steps.data.exposures[option]]

    def one(self, option: str, material: str, agent: str, **changes: Any) -> Exposure:
        found = self(option, **changes)
        (e,) = [e for e in found if e.material == f"material:{material}" and e.agent == agent]
        return e


@pytest.fixture
def traced(adviser: Adviser, make_case: Callable[..., Case]) -> Traced:
    return Traced(adviser, make_case)


def done(name: str, result: str, **more: str) -> dict[str, str]:
    return {"test": name, "part": "collar", "result": result} | more


@pytest.mark.parametrize(
    ("severity", "dose", "harm"),
    [
        (4, 4, 4),
        (4, 3, 4),
        (4, 2, 3),
        (4, 1, 2),
        (1, 1, 0),
        (0, 4, 0),
        (-1, 1, -1),
        (3, 9, 3),
        (3, 0, 1),
        (-1, 4, -1),
        (1, 2, 0),
        (1, 3, 1),
    ],
)
def test_a_small_dose_lowers_the_harm_and_unknown_stays_unknown(
    severity: int, dose: int, harm: int
) -> None:
    assert expected_harm(severity, dose) == harm


@pytest.mark.parametrize(
    ("direct", "inferred", "state"),
    [("good", "bad", "good"), ("bad", "good", "bad"), ("inconclusive", "good", "inconclusive")],
)
def test_a_test_of_the_agent_itself_outranks_one_that_speaks_of_it_by_inference(
    traced: Traced, direct: str, inferred: str, state: str
) -> None:
    """A vapour test shows vapour; a water test speaks of it only because water does more."""
    dyed = [made_of("silk", "madder")]
    tests = [done("colourfastness-vapour", direct), done("colourfastness-water", inferred)]

    for order in (tests, tests[::-1]):
        found = traced.one(PACK, "madder", VAPOUR, parts=dyed, tests=order)
        assert (found.test_state, found.tests_done) == (state, ("test:colourfastness-vapour",))


def test_a_trial_of_another_agent_is_not_among_the_tests_that_gave_a_state(traced: Traced) -> None:
    dyed = [made_of("silk", "madder")]
    tests = [done("colourfastness-vapour", "good"), done("hidden-spot-trial", "good", agent=KETONE)]

    found = traced.one(PACK, "madder", VAPOUR, parts=dyed, tests=tests)

    assert (found.test_state, found.tests_done) == ("good", ("test:colourfastness-vapour",))


def test_by_inference_a_water_test_tells_of_vapour(traced: Traced) -> None:
    dyed = [made_of("silk", "madder")]
    found = traced.one(
        PACK, "madder", VAPOUR, parts=dyed, tests=[done("colourfastness-water", "good")]
    )

    assert found.test_state == "good"


def test_a_good_vapour_test_says_nothing_of_water_and_a_bad_one_does(traced: Traced) -> None:
    dyed = [made_of("cotton", "madder")]

    def state(result: str) -> str:
        tests = [done("colourfastness-vapour", result)]
        return traced.one(BLOTTER, "madder", WATER, parts=dyed, tests=tests).test_state

    assert state("good") == "untested"
    assert state("bad") == "bad"


@pytest.mark.parametrize(
    ("named", "state"),
    [(None, "bad"), ("madder", "bad"), ("dye", "bad"), ("colourant", "bad"), ("silk", "untested")],
)
def test_a_test_counts_for_the_material_it_names_and_for_all_that_this_takes_in(
    traced: Traced, named: str | None, state: str
) -> None:
    dyed = [made_of("silk", "madder")]
    made = done("colourfastness-vapour", "bad") | ({"material": named} if named else {})

    assert traced.one(PACK, "madder", VAPOUR, parts=dyed, tests=[made]).test_state == state


def test_a_test_of_the_whole_part_counts_only_for_what_it_can_test(traced: Traced) -> None:
    tests = [done("colourfastness-vapour", "bad")]

    found = traced.one(PACK, "silk", VAPOUR, parts=[made_of("silk", "madder")], tests=tests)

    assert found.test_state == "untested"


def test_a_trial_of_one_agent_says_nothing_of_another(traced: Traced) -> None:
    trial = done("hidden-spot-trial", "good", agent="heat")

    assert traced.one(PACK, "silk", VAPOUR, tests=[trial]).test_state == "untested"
    trial = done("hidden-spot-trial", "good", agent="water vapour")
    assert traced.one(PACK, "silk", VAPOUR, tests=[trial]).test_state == "good"


@pytest.mark.parametrize(
    ("sensitivity", "unidentified", "state"),
    [
        (Sensitivity(3, ("claim:a", "claim:b"), contested=True), False, "contested"),
        (Sensitivity(3, ("claim:a",)), False, "known"),
        (Sensitivity(-1, ()), False, "unknown"),
        (Sensitivity(3, ("claim:a", "claim:b"), contested=True), True, "unknown"),
    ],
)
def test_sources_that_disagree_are_told_as_contested(
    sensitivity: Sensitivity, unidentified: bool, state: str
) -> None:
    assert _state(sensitivity, unidentified=unidentified) == state


@pytest.mark.parametrize("known", ["unknown", "certain"])
def test_what_nobody_identified_is_of_unknown_kind(traced: Traced, known: str) -> None:
    part = made_of("silk", known=known)
    found = traced.one(PACK, "silk", VAPOUR, parts=[part])

    assert (found.identification, found.state) == (
        known,
        "unknown" if known == "unknown" else "known",
    )


def test_an_entry_that_says_it_is_unidentified_is_so_whatever_the_record_says(
    traced: Traced,
) -> None:
    part = made_of("silk", "dye-unidentified")

    assert traced.one(PACK, "dye-unidentified", VAPOUR, parts=[part]).identification == "unknown"


@pytest.mark.parametrize(
    ("materials", "unnamed"),
    [
        (["net"], {"fibre-unidentified", "dye-unidentified"}),
        (["moire", "madder"], {"fibre-unidentified"}),
        (["silk"], {"dye-unidentified"}),
        (["silk", "undyed"], set()),
        (["silk", "madder"], set()),
        (["gelatin-sequins"], set()),
        (["animal-glue"], set()),
    ],
)
def test_cloth_without_a_named_fibre_or_colour_holds_an_unidentified_one(
    traced: Traced, materials: list[str], unnamed: set[str]
) -> None:
    found = traced(PACK, parts=[made_of(*materials)])
    unidentified = {e.material.partition(":")[2] for e in found if e.identification == "unknown"}

    assert unidentified == unnamed
    assert "material:undyed" not in {e.material for e in found}


def test_a_weight_means_nothing_to_a_dye(traced: Traced) -> None:
    found = traced("crushed/passive-weights", parts=[made_of("silk", "madder")])

    assert {e.material for e in found} == {"material:silk"}


def test_a_tent_reaches_a_part_of_which_no_contact_is_recorded_and_a_pack_may(
    traced: Traced,
) -> None:
    parts = [made_of("silk", "undyed"), made_of("gelatin-sequins", name="sequins")]
    tent = traced.one("crushed/humidity-chamber", "gelatin-sequins", VAPOUR, parts=parts)
    pack = traced.one(PACK, "gelatin-sequins", VAPOUR, parts=parts)

    assert (tent.reach.recorded, tent.dose, tent.on_target) == (True, 3, False)
    assert (pack.reach.recorded, pack.dose, pack.reach.stoppable) == (False, 3, "unknown")


SEQUINS = {
    "parts": [made_of("silk", "undyed"), made_of("gelatin-sequins", name="sequins")],
    "contacts": [{"between": ["sequins", "collar"], "kind": "stitched"}],
}


def a_test(*, clears: str = "", bars: str = "", one_agent_at_a_time: bool = False) -> Test:
    tried = [frozenset({one} - {""}) for one in (clears, bars)]
    nothing = frozenset[str]()
    return Test(
        "test:t", "t", "", 10, 0, nothing, *tried, nothing, nothing, nothing,
        one_agent_at_a_time, (),
    )  # fmt: skip


def result(kind: str, agent: str | None = None) -> TestDone:
    return TestDone(test="test:t", part="collar", result=kind, agent=agent)


@pytest.mark.parametrize(
    ("clears", "bars", "found", "says"),
    [
        (WATER, "", "good", "good"),
        ("", WATER, "good", "untested"),
        ("", WATER, "bad", "bad"),
        (WATER, "", "bad", "untested"),
        ("", "", "inconclusive", "inconclusive"),
        (WATER, WATER, "not-judged", "untested"),
    ],
)
def test_a_good_result_tells_what_it_clears_and_a_bad_one_what_it_bars(
    clears: str, bars: str, found: str, says: str
) -> None:
    assert _says(a_test(clears=clears, bars=bars), result(found), WATER) == says


@pytest.mark.parametrize(
    ("alone", "agent", "says"),
    [(False, None, "good"), (True, None, "untested"), (True, WATER, "good"),
     (False, WATER, "good"), (False, VAPOUR, "untested"), (True, VAPOUR, "untested")],
)  # fmt: skip
def test_a_test_of_one_agent_at_a_time_has_to_say_which(
    alone: bool, agent: str | None, says: str
) -> None:
    made = a_test(clears=WATER, bars=WATER, one_agent_at_a_time=alone)

    assert _says(made, result("good", agent), WATER) == says


def test_the_worst_result_counts() -> None:
    assert TestState.worst_of(["good", "inconclusive", "untested", "bad"]) == "bad"
    assert TestState.worst_of(["good", "inconclusive", "untested"]) == "inconclusive"
    assert TestState.worst_of(["untested", "good"]) == "good"
    assert TestState.worst_of(["untested"]) == TestState.worst_of([]) == "untested"


def test_exposures_are_numbered_from_nought_and_carry_their_option(traced: Traced) -> None:
    found = traced(PACK, **SEQUINS)

    assert [e.id for e in found] == [f"{PACK}/{n}" for n in range(len(found))]
    assert {(e.option, e.technique) for e in found} == {(PACK, "technique:membrane-pack-flat")}
    assert len({(e.agent, e.part, e.material) for e in found}) == len(found)


def test_what_keeps_an_agent_away_is_told(traced: Traced) -> None:
    closed = [SEQUINS["contacts"][0] | {"barrier": "in-place"}]
    found = traced.one(PACK, "gelatin-sequins", VAPOUR, **(SEQUINS | {"contacts": closed}))

    assert found.stopped == "barrier"
    assert traced.one(PACK, "gelatin-sequins", VAPOUR, **SEQUINS).stopped == ""


@pytest.fixture
def tracer(adviser: Adviser, make_case: Callable[..., Case]) -> Callable[..., ExposureTracer]:
    """Return a tracer of a case of silk and sequins, with doses that were computed for packs."""

    def make(doses: dict[tuple[str, str], dict[str, int]], **changes: Any) -> ExposureTracer:
        case = make_case(**(SEQUINS | changes))
        network = ContactNetwork.of(case, adviser.catalogue)
        return ExposureTracer(case, adviser.catalogue, network, doses)

    return make


def test_the_kinds_of_damage_are_gathered_by_part(tracer: Callable[..., ExposureTracer]) -> None:
    damages = [
        {"id": "one", "damage": "crease", "parts": ["collar", "sequins"]},
        {"id": "two", "damage": "dust", "parts": ["collar"]},
    ]
    part = made_of("wool", name="lining")
    found = tracer({}, damages=damages, parts=[*SEQUINS["parts"], part]).damage_on

    assert found == {
        "collar": {"damage:crease", "damage:dust"},
        "sequins": {"damage:crease"},
        "lining": frozenset(),
    }


@pytest.mark.parametrize(
    ("damage", "technique", "doses"),
    [
        ("crushed", "technique:membrane-pack-flat", {"collar": 3, "sequins": 1}),
        ("crushed", "technique:humidity-chamber", {"collar": 3, "sequins": 2}),
        ("other", "technique:membrane-pack-flat", {"collar": 3, "sequins": 2}),
    ],
)
def test_a_dose_that_was_computed_counts_on_neighbours_of_its_own_pack_alone(
    adviser: Adviser,
    tracer: Callable[..., ExposureTracer],
    damage: str,
    technique: str,
    doses: dict[str, int],
) -> None:
    made = tracer({(damage, technique): {"collar": 1, "sequins": 1}})
    (pack,) = adviser.steps(made.case, PACK).candidates
    found = [*made.trace(pack)]

    assert {e.part: e.dose for e in found if e.agent == VAPOUR} == doses
    harm = {e.part: e.harm for e in found if e.agent == VAPOUR and e.material.endswith("sequins")}
    assert harm == {"sequins": expected_harm(4, doses["sequins"])}


def test_the_doses_computed_for_one_pack_stay_with_it(
    adviser: Adviser, tracer: Callable[..., ExposureTracer]
) -> None:
    names = ("one", "two", "three")
    damages = [{"id": one, "damage": "crease", "parts": ["collar"]} for one in names]
    doses = {
        ("one", "technique:membrane-pack-flat"): {"sequins": 1},
        ("three", "technique:membrane-pack-flat"): {"sequins": 3},
    }
    made = tracer(doses, damages=damages)
    packs = [
        adviser.steps(made.case, f"{one}/membrane-pack-flat").candidates[0]
        for one in ("one", "two", "three", "one")
    ]
    found = [
        {e.dose for e in made.trace(pack) if e.part == "sequins" and e.agent == VAPOUR}
        for pack in packs
    ]

    assert found == [{1}, {2}, {3}, {1}]


def test_a_computed_dose_of_vapour_changes_no_other_agent(
    adviser: Adviser, tracer: Callable[..., ExposureTracer]
) -> None:
    computed = {("crushed", "technique:damp-blotter"): {"sequins": 4}}
    (blotter,) = adviser.steps(tracer({}).case, BLOTTER).candidates
    plain, made = ([*tracer(doses).trace(blotter)] for doses in ({}, computed))

    assert {e.agent for e in plain} > {VAPOUR}
    assert [e for e in made if e.agent != VAPOUR] == [e for e in plain if e.agent != VAPOUR]
    assert [e for e in made if e.agent == VAPOUR] != [e for e in plain if e.agent == VAPOUR]


def test_a_claim_that_holds_in_a_state_is_read_with_the_damage_of_the_part(traced: Traced) -> None:
    """Moisture brings brittle silk no ease, and sound silk no harm to speak of."""
    crushed = {"id": "crushed", "damage": "crease", "parts": ["collar"]}
    brittle = {"id": "d", "damage": "embrittlement", "parts": ["collar"]}
    sound = traced.one(PACK, "silk", VAPOUR, damages=[crushed])
    weak = traced.one(PACK, "silk", VAPOUR, damages=[crushed, brittle])

    assert "claim:M-048" in weak.sensitivity.claims
    assert "claim:M-048" not in sound.sensitivity.claims
    assert weak.harm > sound.harm
