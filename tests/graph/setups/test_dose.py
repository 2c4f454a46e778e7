"""The dose on a neighbour: graded by a stated scale, and less behind a barrier."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from leastwise.graph import Adviser, physics
from leastwise.graph.case.packs import PackRecord
from leastwise.graph.errors import KnowledgeError
from leastwise.graph.knowledge.knowledge import load_knowledge
from leastwise.graph.setups.dose import (
    computed_reason,
    decided_dose,
    dose_scale,
    minutes_above,
    neighbour_dose,
    pack_doses,
    shipped_scale,
)
from leastwise.graph.setups.stack_file import lay, read_stack
from leastwise.graph.weighing.exposure import expected_harm

SCALE = shipped_scale()
SILK = physics.textile("silk", "silk", 60, 0.1)
LINING = physics.textile("lining", "cotton", 110, 0.25)
STACK = physics.bench_stack(SILK, LINING)
ASK = physics.Question("silk", duration_s=3600, neighbour="lining")


def test_the_shipped_scale_is_in_the_knowledge_and_rests_on_its_claims(adviser: Adviser) -> None:
    assert dose_scale(adviser.knowledge) == SCALE
    assert SCALE.basis == "practice"
    assert SCALE.claims
    assert all(claim in adviser.knowledge for claim in SCALE.claims)
    assert {step.grade for step in SCALE.steps} == {1, 2, 3, 4}


def test_the_steps_of_the_scale_grow_with_damp_and_with_time() -> None:
    for one in SCALE.steps:
        for two in SCALE.steps:
            if one.from_humidity >= two.from_humidity and one.for_minutes >= two.for_minutes:
                assert one.grade >= two.grade


@given(
    humidity=st.lists(st.floats(0.5, 1.0), min_size=2, max_size=8),
    more=st.floats(0.0, 0.3),
)
@settings(max_examples=60, deadline=None)
def test_a_damper_series_never_gets_a_lesser_grade(humidity: list[float], more: float) -> None:
    times = [600.0 * k for k in range(len(humidity) + 1)]
    low = [0.5, *humidity]
    high = [0.5, *(min(1.0, h + more) for h in humidity)]

    assert SCALE.grade(times, high) >= SCALE.grade(times, low)
    assert 0 <= SCALE.grade(times, low) <= 4


def test_time_above_a_level_is_counted_between_the_points() -> None:
    times, humidity = [0.0, 100.0, 200.0, 300.0], [0.5, 0.7, 0.7, 0.5]

    assert minutes_above(times, humidity, 0.6) == pytest.approx(200 / 60)
    assert minutes_above(times, humidity, 0.5) == pytest.approx(5)
    assert minutes_above(times, humidity, 0.8) == 0


def test_damp_that_was_there_before_is_not_brought_by_the_pack() -> None:
    assert SCALE.grade([0, 7200], [0.64, 0.65]) == 0
    assert SCALE.grade([0, 60, 7200], [0.64, 0.70, 0.70]) == 2


@pytest.mark.parametrize("reads", ["fibres", "air"])
def test_a_barrier_lowers_the_graded_dose_on_the_neighbour(reads: str) -> None:
    dose = neighbour_dose(STACK, replace(ASK, neighbour_reads=reads), samples=16)

    assert dose.behind is not None
    assert dose.bare.low >= 3
    assert dose.behind.counts < dose.bare.low
    assert dose.behind.highest_humidity[2] < dose.bare.highest_humidity[0]
    assert dose.as_laid == dose.bare
    assert not dose.screened


def test_a_film_that_lies_there_is_taken_out_for_the_bare_dose() -> None:
    laid = lay(read_stack("demo:wool-collar-screened"))

    dose = neighbour_dose(laid.stack, laid.questions[0], laid.uncertain, samples=16)

    assert dose.screened
    assert dose.as_laid == dose.behind
    assert dose.behind is not None
    assert dose.behind.counts < dose.bare.counts


def test_less_time_is_no_greater_dose_and_a_band_known_before_is_used() -> None:
    grades = [
        neighbour_dose(STACK, replace(ASK, duration_s=60.0 * minutes), samples=8).bare.counts
        for minutes in (2, 10, 60)
    ]
    band = physics.humidity_band(STACK, ASK, sampling=physics.Sampling(8))

    assert grades == sorted(grades)
    assert grades[0] < grades[-1]
    assert neighbour_dose(STACK, ASK, samples=8, as_laid=band) == neighbour_dose(
        STACK, ASK, samples=8
    )


def test_a_neighbour_on_the_way_of_the_vapour_cannot_be_screened() -> None:
    between = physics.bench_stack(LINING, SILK)

    dose = neighbour_dose(between, ASK, samples=8)

    assert dose.behind is None
    assert "No barrier can screen lining" in " ".join(dose.says)


def test_without_a_neighbour_there_is_nothing_to_grade() -> None:
    with pytest.raises(physics.PhysicsInputError, match="neighbour"):
        neighbour_dose(STACK, physics.Question("silk"))


def test_a_planned_pack_gives_the_doses_of_the_parts_of_the_case() -> None:
    pack = PackRecord(
        damage="crushed-tiers",
        technique="technique:membrane-pack-flat",
        stack=read_stack("demo:silk-over-lining"),
    )

    doses = pack_doses(pack, samples=8)

    assert set(doses) == {"lining"}
    assert doses["lining"].part == "lining"


def test_a_computed_dose_decides_where_a_threshold_stands() -> None:
    """A severity of 3 at dose 4 stays 3; behind the film of the stack it falls to 1."""
    laid = lay(read_stack("demo:wool-collar-screened"))
    screened = neighbour_dose(laid.stack, laid.questions[0], laid.uncertain, samples=8)
    bare = neighbour_dose(STACK, ASK, samples=8)

    assert expected_harm(3, decided_dose(2, "agent:water-vapour", bare)) == 3
    assert decided_dose(2, "agent:water-vapour", screened) == 1
    assert expected_harm(3, decided_dose(2, "agent:water-vapour", screened)) == 1
    assert decided_dose(2, "agent:pressure", screened) == 2


def test_the_reason_names_the_command_and_the_claims(adviser: Adviser) -> None:
    reason = computed_reason([neighbour_dose(STACK, ASK, samples=8)], "demo:silk-over-lining")

    assert "see leastwise moisture demo:silk-over-lining" in reason.text
    assert reason.claims
    assert all(claim in adviser.knowledge for claim in reason.claims)


def test_a_scale_that_lacks_a_value_is_refused(tmp_path: Path) -> None:
    good = (Path(__file__).parents[3] / "seed_data" / "doses.ttl").read_text("utf-8")
    path = tmp_path / "own.ttl"

    path.write_text(good.replace("lw:forMinutes 30.0", "", 1), "utf-8")
    with pytest.raises(KnowledgeError, match="lacks a value"):
        dose_scale(load_knowledge(files=[path]))
    path.write_text(good.replace("lw:isDefault true ;", ""), "utf-8")
    with pytest.raises(KnowledgeError, match="none grades"):
        dose_scale(load_knowledge(files=[path]))
