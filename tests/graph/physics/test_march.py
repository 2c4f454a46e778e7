"""The marching method for chains: its order, its answers against BDF, and water kept."""

from __future__ import annotations

import numpy as np
import pytest
from scipy.integrate import solve_ivp

from leastwise.graph.physics import Question, bench_stack, humidify, textile
from leastwise.graph.physics.columns import column_of, network_of
from leastwise.graph.physics.march import Chain, at_times, march
from leastwise.graph.physics.moisture import humidify_many, time_grid
from leastwise.graph.physics.network import Accuracy, Floats, Network, run_network
from leastwise.graph.physics.stack import Stack

SILK = bench_stack(textile("silk", "silk", 60, 0.1))
SOAKED = bench_stack(textile("silk", "silk", 60, 0.1), water_load_g_m2=400)
LINED = bench_stack(textile("silk", "wool", 300, 1.2), textile("lining", "silk", 60, 0.1))


def chain_of_three() -> Chain:
    """Three cells that feed one another, with stores whose a(n) is bent."""

    def activity(n: Floats) -> tuple[Floats, Floats]:
        return n / (1 + n) * 2, 2 / (1 + n) ** 2

    return Chain(
        below=np.array([0.5, 0.7]),
        own=np.array([-2.5, -2.7, -1.5]),
        above=np.array([0.5, 0.4]),
        constant=np.array([0.3, 0.0, 0.0]),
        gain=np.array([1.0, 1.0, 0.5]),
        lag_s=np.array([2.0, 3.0, 1.0]),
        out=np.array([0.0, 0.0, 0.1]),
        out_constant=np.array([-0.02]),
        member=np.array([0, 0, 0]),
        activity=activity,
    )


def test_the_method_is_of_third_order() -> None:
    chain, start = chain_of_three(), np.array([0.1, 0.4, 0.3, 0.2, 0.6, 0.5, 0.0])
    run = solve_ivp(
        lambda _, y: chain.rate(y, chain.activity(y[3:6])[0]), (0, 5), start, rtol=1e-11, atol=1e-13
    )
    found = [march(chain, start, 5.0, tolerance) for tolerance in (1e-4, 1e-7)]

    errors = [float(np.abs(states[-1] - run.y[:, -1]).max()) for _, states in found]
    steps = [len(times) - 1 for times, _ in found]
    order = np.log(errors[0] / errors[1]) / np.log(steps[1] / steps[0])

    assert errors[1] < 1e-7
    assert 2.6 < order < 3.8


def network(stack: Stack) -> Network:
    return network_of([column_of(stack, 5)], [stack], [1.0])


@pytest.mark.parametrize("stack", [SILK, SOAKED, LINED], ids=["silk", "soaked", "lined"])
def test_it_answers_as_bdf_does(stack: Stack) -> None:
    times = time_grid(14_400.0)
    exact = run_network(network(stack), times, Accuracy(1e-9))  # so fine that BDF does it

    found = run_network(network(stack), times, Accuracy(1e-4))

    assert np.abs(found.humidity - exact.humidity).max() < 1e-3
    assert np.abs(found.content - exact.content).max() < 1e-3
    assert found.imbalance < 1e-9


def test_many_stacks_side_by_side_are_as_exact_as_each_alone() -> None:
    ask = Question("silk")
    stacks = [bench_stack(textile("silk", "silk", w, 0.1)) for w in (20, 60, 200, 500)]

    together = humidify_many(stacks, ask)

    for stack, one in zip(stacks, together, strict=True):
        alone, exact = humidify(stack, ask), humidify(stack, ask, Accuracy(1e-8))
        assert one.time_to_target_s == pytest.approx(alone.time_to_target_s, rel=2e-3)
        assert one.time_to_target_s == pytest.approx(exact.time_to_target_s, rel=2e-3)


def test_a_chain_that_can_not_be_marched_says_so() -> None:
    chain, start = chain_of_three(), np.array([np.nan, 0.4, 0.3, 0.2, 0.6, 0.5, 0.0])

    with pytest.raises(ArithmeticError, match="small"):
        march(chain, start, 5.0, 1e-4)


def test_points_between_keep_sums_and_follow_a_parabola() -> None:
    times = np.array([0.0, 0.5, 2.0, 3.0])
    states = np.stack([times**2, 9 - times**2], axis=1)

    found = at_times(times, states, np.array([0.25, 1.0, 2.5]))

    assert found[:, 0] == pytest.approx([0.0625, 1.0, 6.25])
    assert found.sum(axis=1) == pytest.approx([9, 9, 9])
