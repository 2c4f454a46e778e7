"""Exposures: doses, what claims say, and what tests on this very part have shown."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

import pytest

from leastwise.graph import Adviser, Case
from leastwise.graph.knowledge.concepts import Sensitivity
from leastwise.graph.weighing.exposure import Exposure, _state, expected_harm

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
    [(4, 4, 4), (4, 3, 4), (4, 2, 3), (4, 1, 2), (1, 1, 0), (0, 4, 0), (-1, 1, -1), (3, 9, 3)],
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
