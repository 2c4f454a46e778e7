"""Moisture: what is kept, what converges, and what the trade expects."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from leastwise.graph.physics.bounds import PhysicsInputError, Range
from leastwise.graph.physics.membranes import pierced_resistance_s_m
from leastwise.graph.physics.moisture import Humidification, Question, humidify, humidify_many
from leastwise.graph.physics.network import Accuracy
from leastwise.graph.physics.sorption import FIBRES, isotherm_of
from leastwise.graph.physics.stack import (
    Layer,
    Role,
    Stack,
    air_gap,
    bench_stack,
    blotter,
    film,
    membrane,
    textile,
)

pytestmark = pytest.mark.slow  # seconds of work in nearly every test

SILK = textile("silk", "silk", 60, 0.1)
WOOL = textile("wool", "wool", 300, 1.2)
STACK = bench_stack(SILK)
ASK = Question("silk")


def reached(answer: Humidification) -> float:
    """The time to target of a case in which it is reached."""
    assert answer.time_to_target_s is not None
    return answer.time_to_target_s


def drier(one: Stack, other: Stack, name: str = "silk", slack: float = 2e-3) -> bool:
    """Whether a layer is never damper in the one than in the other, and drier at some time."""
    a, b = (
        np.array(humidify(stack, Question(name)).layer(name).fibre_humidity)
        for stack in (one, other)
    )
    return bool(np.all(a <= b + slack) and np.any(a < b - slack))


@pytest.mark.parametrize(
    "stack",
    [
        STACK,
        STACK.without("cover"),
        STACK.without("barrier"),
        replace(STACK, edge_leak_s_m=500.0),
        bench_stack(WOOL, textile("lining", "cotton", 120, 0.3), water_load_g_m2=20),
    ],
)
def test_water_is_kept_to_a_millionth(stack: Stack) -> None:
    name = next(layer.name for layer in stack.layers if layer.role is Role.TEXTILE)
    answer = humidify(stack, Question(name))
    assert answer.mass_imbalance < 1e-6
    total = sum(layer.water_g_m2[-1] - layer.water_g_m2[0] for layer in answer.layers)
    # The layers' water leaves out the little that is in the air of their pores.
    assert total + answer.water_to_room_g_m2[-1] == pytest.approx(0, abs=0.05)


def test_answer_converges_with_cells_and_tolerance() -> None:
    stack = bench_stack(WOOL)
    ask = Question("wool")
    exact = reached(humidify(stack, ask, Accuracy(1e-8, 48)))
    by_cells = [abs(reached(humidify(stack, ask, Accuracy(1e-8, n))) - exact) for n in (2, 6, 24)]
    assert by_cells[0] > by_cells[1] > by_cells[2]
    fine = reached(humidify(stack, ask, Accuracy(1e-8, 3)))
    by_tolerance = [
        abs(reached(humidify(stack, ask, Accuracy(tol, 3))) - fine) for tol in (1e-2, 1e-4, 1e-6)
    ]
    assert by_tolerance[2] < by_tolerance[0]
    assert by_tolerance[1] < 0.01 * exact
    # What is used by default is within 1 % of the converged answer.
    assert reached(humidify(stack, ask)) == pytest.approx(exact, rel=0.01)


@settings(max_examples=25, deadline=None)
@given(st.floats(1, 300), st.floats(1.05, 3.0), st.sampled_from(["silk", "wool", "cotton"]))
def test_more_supply_is_never_drier(load: float, more: float, fibre: str) -> None:
    def run(water: float) -> Humidification:
        cloth = textile("cloth", fibre, 120, 0.3)
        return humidify(
            bench_stack(cloth, water_load_g_m2=water), Question("cloth"), Accuracy(1e-6)
        )

    less, wetter = run(load), run(load * more)
    for one, other in zip(less.layers, wetter.layers, strict=True):
        assert np.all(np.array(one.fibre_humidity) <= np.array(other.fibre_humidity) + 1e-3)
    assert less.water_drawn_g_m2[-1] <= wetter.water_drawn_g_m2[-1] + 1e-3


@settings(max_examples=15, deadline=None)
@given(st.floats(20, 400), st.floats(1.2, 5.0))
def test_a_tighter_membrane_is_never_faster(resistance: float, tighter: float) -> None:
    layer = STACK.layer("membrane")
    quick = humidify(STACK.with_layer(replace(layer, resistance_s_m=resistance)), ASK)
    slow = humidify(STACK.with_layer(replace(layer, resistance_s_m=resistance * tighter)), ASK)
    assert reached(slow) > reached(quick) * (1 - 1e-3)


@given(st.sampled_from(sorted(FIBRES)), st.floats(0.01, 0.99))
def test_isotherm_rises_and_can_be_turned_round(fibre: str, humidity: float) -> None:
    isotherm = isotherm_of(fibre)
    assert isotherm.regain(humidity + 0.01) > isotherm.regain(humidity)
    assert isotherm.humidity(isotherm.regain(humidity)) == pytest.approx(humidity, rel=1e-6)
    assert isotherm.humidity(isotherm.saturated * 1.1) == 1.0


@pytest.mark.parametrize("kind", ["felt laminate", "garment laminate", "spunbonded polyolefin"])
def test_a_pierced_membrane_is_faster(kind: str) -> None:
    """Common practice: a hole in the membrane lets moisture through faster."""
    sound = STACK.with_layer(membrane(kind=kind))
    pierced = STACK.with_layer(membrane(kind=kind, hole_fraction=0.2))
    assert reached(humidify(pierced, ASK)) < reached(humidify(sound, ASK))
    assert drier(sound, pierced, slack=1e-3)


def test_a_missing_barrier_wastes_water_into_the_support() -> None:
    """Common practice: without polyethylene the support takes the water meant for the textile."""
    open_below = humidify(STACK.without("barrier"), ASK)
    closed = humidify(STACK, ASK)
    assert open_below.water_drawn_g_m2[-1] > 3 * closed.water_drawn_g_m2[-1]
    assert open_below.layer("support").fibre_humidity[-1] > 0.9
    assert closed.layer("support").fibre_humidity[-1] < 0.52
    scant = bench_stack(SILK, water_load_g_m2=20)
    assert drier(scant.without("barrier"), scant)


def test_a_missing_cover_is_slower_and_drier() -> None:
    """Common practice: uncovered, the moisture goes into the room."""
    bare = STACK.without("cover")
    assert reached(humidify(bare, ASK)) > 1.1 * reached(humidify(STACK, ASK))
    assert drier(bare, STACK)
    assert humidify(bare, ASK).water_to_room_g_m2[-1] > 50


@pytest.mark.parametrize("factor", [1.5, 3, 10])
def test_a_thicker_textile_is_slower(factor: float) -> None:
    """Common practice: heavy wool takes far longer than thin silk (claim:W-061)."""
    thick = textile("silk", "silk", 60 * factor, 0.1 * factor)
    assert reached(humidify(bench_stack(thick), ASK)) > reached(humidify(STACK, ASK))
    assert reached(humidify(bench_stack(WOOL), Question("wool"))) > reached(humidify(STACK, ASK))


def test_a_warmer_pack_is_faster() -> None:
    """Common practice; warm air carries more water (claim:D-02)."""
    warm = bench_stack(WOOL)
    slow, fast = (humidify(replace(warm, temperature_c=t), Question("wool")) for t in (12, 28))
    assert reached(fast) < reached(slow)


def test_a_cold_plate_gets_dew_and_the_margin_says_how_cold_is_too_cold() -> None:
    """Common practice (claim:W-034): keep no wall colder than the air of the pack."""
    cover = STACK.layer("cover")
    cold = humidify(STACK.with_layer(replace(cover, colder_by_k=3.0)), ASK)
    assert cold.condensation == "condenses"
    assert cold.layer("cover").free_water_g_m2[-1] > 0.05
    even = humidify(STACK, ASK)
    assert even.condensation == "hazard"
    assert 0 <= even.condensation_margin_k < 0.1
    scant = humidify(bench_stack(SILK, water_load_g_m2=5), ASK)
    assert scant.condensation == "low"
    assert scant.condensation_margin_k > 3


def test_a_neighbour_farther_off_exceeds_its_limit_later() -> None:
    lining = textile("lining", "silk", 60, 0.1)
    ask = Question("wool", neighbour="lining", neighbour_limit=0.65)
    near = humidify(bench_stack(WOOL, lining), ask)
    far = humidify(bench_stack(WOOL, textile("pad", "wool", 300, 2.0), lining), ask)
    assert near.neighbour_limit_s is not None
    assert far.neighbour_limit_s is not None
    assert far.neighbour_limit_s > near.neighbour_limit_s
    air = humidify(bench_stack(WOOL, lining), replace(ask, neighbour_reads="air"))
    assert air.neighbour_limit_s is not None
    assert air.neighbour_limit_s < near.neighbour_limit_s


def test_a_target_out_of_reach_is_none() -> None:
    scant = humidify(bench_stack(WOOL, water_load_g_m2=2), Question("wool"))
    assert scant.time_to_target_s is None
    assert scant.time_above_target_s is None


def test_stacks_together_give_what_each_gives_alone() -> None:
    stacks = [STACK, STACK.with_layer(replace(SILK, lag_s=500.0))]
    together = humidify_many(stacks, ASK)
    for answer, stack in zip(together, stacks, strict=True):
        assert reached(answer) == pytest.approx(reached(humidify(stack, ASK)), rel=2e-3)


def test_any_order_of_layers_will_do() -> None:
    """claim:W-059 (practice): the usual stack with the source on top."""
    over = Stack(
        (
            film("barrier", Role.BARRIER),
            blotter("dry blotter", 0.0),
            SILK,
            air_gap(thickness_mm=0.2),
            membrane(),
            blotter(),
            film("cover", Role.COVER),
        )
    )
    answer = humidify(over, ASK)
    # The dry blotter below shares the water, so the silk lags behind the stack without it.
    assert reached(answer) > reached(humidify(over.without("dry blotter"), ASK))


def test_recalled_and_missing_figures_are_named_in_the_answer() -> None:
    answer = humidify(bench_stack(textile("silk", "weighted silk", 60, 0.1)), ASK)
    assert any("(memory)" in text for text in answer.rests_on)
    assert any("No source found for the regain of weighted silk" in text for text in answer.caveats)
    assert any("upright cup" in text for text in answer.caveats)
    faced = humidify(STACK.with_layer(membrane(face="felt up")), ASK)
    assert any("felt up" in text for text in faced.caveats)


def test_a_hole_never_makes_a_membrane_tighter() -> None:
    for share in (0.0, 0.1, 0.5, 1.0):
        assert pierced_resistance_s_m(20, share, 5) <= 20 + 1e-9


@pytest.mark.parametrize(
    ("call", "field"),
    [
        (lambda: textile("x", "asbestos", 60, 0.1), "fibre"),
        (lambda: textile("x", "silk", -1, 0.1), "x.areal_density_g_m2"),
        (lambda: textile("x", "silk", 60, 0), "x.thickness_mm"),
        (lambda: textile("x", "silk", 60, 0.1, "lace"), "x.weave"),
        (lambda: membrane(kind="sieve"), "membrane"),
        (lambda: membrane(face="up"), "membrane.face"),
        (lambda: film("x", Role.COVER, "glass wool"), "film"),
        (lambda: Layer("x", Role.TEXTILE, lag_s=0), "x.lag_s"),
        (lambda: Stack(()), "layers"),
        (lambda: Stack((SILK, SILK)), "layers"),
        (lambda: Stack((membrane(),)), "layers"),
        (lambda: replace(STACK, temperature_c=90), "temperature_c"),
        (lambda: replace(STACK, edge_leak_s_m=0), "edge_leak_s_m"),
        (lambda: STACK.without("nothing"), "layer"),
        (lambda: humidify(STACK, Question("nothing")), "layer"),
        (lambda: humidify(STACK, Question("silk", neighbour="nothing")), "layer"),
        (lambda: Question("silk", Range(70, 80)), "target.low"),
        (lambda: Question("silk", neighbour_reads="paint"), "neighbour_reads"),
        (lambda: Range(2, 1), "high"),
        (lambda: humidify(STACK, ASK, Accuracy(1.0)), "accuracy.tolerance"),
        (lambda: humidify_many([STACK, STACK.without("cover")], ASK), "stacks"),
    ],
)
def test_input_that_is_not_accepted_names_the_field(call: object, field: str) -> None:
    with pytest.raises(PhysicsInputError) as caught:
        call()  # type: ignore[operator]
    assert caught.value.field == field
