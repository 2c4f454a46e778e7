"""A chain of cells marched in time by a Rosenbrock method; chains of many stacks side by side.

Where each cell is joined only to the next (any stack in one dimension), the stores can be
eliminated from the linear system of a step cell by cell, and what is left is tridiagonal. One
sweep then solves all stacks of a band at once. The method is Rodas3 (Sandu and others 1997, as in
the Kinetic PreProcessor; recalled, memory): four stages, third order, stable for stiff systems.
The tests hold its order, and its answers against scipy's BDF.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Final

import numpy as np
import numpy.typing as npt

__all__ = ["Chain", "at_times", "march"]

Floats = npt.NDArray[np.float64]
Ints = npt.NDArray[np.int64]

GAMMA: Final = 0.5
#: Growth of a step at most, shrinking at most, and how far below the wanted error one aims.
GROW, SHRINK, SAFE = 5.0, 0.2, 0.9
MOST_STEPS: Final = 20_000
LEAST_S: Final = 1e-9  # of a first step


@dataclass(frozen=True, slots=True)
class Chain:
    """A system v' = L v + q + p a(n), n' = (v - a(n))/lag, and what the room gets.

    It has three cells at least. *below*, *own*, *above* are the diagonals of L; *activity* gives
    a(n) and da/dn; *out* is what each cell gives to the room's account of its member for each v,
    *out_constant* what the room brings. *member* is the stack that each cell belongs to.
    """

    below: Floats
    own: Floats
    above: Floats
    constant: Floats
    gain: Floats
    lag_s: Floats
    out: Floats
    out_constant: Floats
    member: Ints
    activity: Callable[[Floats], tuple[Floats, Floats]]

    @property
    def size(self) -> int:
        """The number of cells."""
        return len(self.own)

    def rate(self, state: Floats, activity: Floats) -> Floats:
        """Return the rate of change of v, n and the room's account."""
        v = state[: self.size]
        flow = self.own * v + self.constant + self.gain * activity
        flow[1:] += self.below * v[:-1]
        flow[:-1] += self.above * v[1:]
        account = self._to_room(v) + self.out_constant
        return np.concatenate([flow, (v - activity) / self.lag_s, account])

    def _to_room(self, v: Floats) -> Floats:
        given = np.bincount(self.member, self.out * v, minlength=len(self.out_constant))
        return np.asarray(given, dtype=np.float64)

    def solver(self, slope: Floats, step_s: float) -> Callable[[Floats], Floats]:
        """Return what solves (1/(gamma h) - J) k = r for a right-hand side r."""
        from scipy.linalg.lapack import dgttrf, dgttrs  # noqa: PLC0415 - slow to load

        size, inverse = self.size, 1.0 / (GAMMA * step_s)
        store = inverse + slope / self.lag_s
        pull = self.gain * slope / store
        diagonal = inverse - self.own - pull / self.lag_s
        lower, middle, upper, second, pivots, _ = dgttrf(-self.below, diagonal, -self.above)

        def solved(r: Floats) -> Floats:
            rv, rn = r[:size], r[size : 2 * size]
            kv, _ = dgttrs(lower, middle, upper, second, pivots, rv + pull * rn)
            kn = (rn + kv / self.lag_s) / store
            return np.concatenate([kv, kn, (r[2 * size :] + self._to_room(kv)) / inverse])

        return solved


def march(chain: Chain, start: Floats, end_s: float, tolerance: float) -> tuple[Floats, Floats]:
    """Return the accepted times (T) and states (T by 2 cells + members), from 0 to *end_s*.

    The error of a step is judged for each stack by itself, and the worst of them counts, so that
    many stacks side by side are no less exact than one.

    Raises:
        ArithmeticError: the steps became too small or too many.

    """
    times, states = [0.0], [start]
    at, state = 0.0, start
    activity, slope = chain.activity(state[chain.size : 2 * chain.size])
    rate = chain.rate(state, activity)
    step = _first_step(chain, state, rate, tolerance, end_s)
    for _ in range(MOST_STEPS):
        step = min(step, end_s - at)
        trial, error = _stages(chain, state, rate, slope, step)
        size = _error(chain, state, trial, error, tolerance)
        if size <= 1.0:
            at = end_s if at + step >= end_s * (1 - 1e-12) else at + step
            state = trial
            activity, slope = chain.activity(state[chain.size : 2 * chain.size])
            rate = chain.rate(state, activity)
            times.append(at)
            states.append(state)
            if at >= end_s:
                return np.array(times), np.array(states)
        factor = SAFE * size ** (-1 / 3) if size > 0 else GROW
        step *= min(GROW, max(SHRINK, factor)) if np.isfinite(factor) else SHRINK
        if step < 1e-12 * max(at, 1e-3):
            raise ArithmeticError(f"steps became too small at {at:g} s")
    raise ArithmeticError(f"more than {MOST_STEPS} steps")


def _stages(
    chain: Chain, state: Floats, rate: Floats, slope: Floats, step: float
) -> tuple[Floats, Floats]:
    """Return the state after a step, and its error; four stages of Rodas3."""
    solved = chain.solver(slope, step)
    one = solved(rate)
    two = solved(rate + (4 / step) * one)
    middle = state + 2 * one
    three = solved(_rate_at(chain, middle) + (one - two) / step)
    last = middle + three
    four = solved(_rate_at(chain, last) + (one - two - (8 / 3) * three) / step)
    return last + four, four


def _rate_at(chain: Chain, state: Floats) -> Floats:
    return chain.rate(state, chain.activity(state[chain.size : 2 * chain.size])[0])


def _error(chain: Chain, old: Floats, new: Floats, error: Floats, tolerance: float) -> float:
    """Return the greatest error of any stack, as a share of what is allowed (root mean square)."""
    cells = 2 * chain.size
    allowed = tolerance * (1e-2 + np.maximum(np.abs(old[:cells]), np.abs(new[:cells])))
    squares = (error[:cells] / allowed) ** 2
    each = np.bincount(chain.member, squares[: chain.size] + squares[chain.size :])
    worst = np.max(each / (2 * np.bincount(chain.member)))
    return float(np.sqrt(worst)) if np.isfinite(worst) else float("inf")


def _first_step(chain: Chain, state: Floats, rate: Floats, tolerance: float, end_s: float) -> float:
    """Return a step that changes no stack by more than is small."""
    moved = _error(chain, state, state, rate, tolerance)
    return min(end_s, max(LEAST_S, 0.5 / moved if moved > 0 else end_s))


def at_times(times: Floats, states: Floats, wanted: Floats) -> Floats:
    """Return the states at wanted times, by cubics through the accepted ones.

    Slopes are taken from neighbouring points and not from the rates, which in stiff cells are
    small differences of large terms. All is linear in the states, so sums of water stay kept.

    >>> line = np.array([[0.0], [2.0], [4.0]])
    >>> at_times(np.array([0.0, 1.0, 2.0]), line, np.array([0.5, 1.5])).ravel().tolist()
    [1.0, 3.0]
    """
    if len(times) < 3:
        share = (wanted - times[0]) / (times[-1] - times[0])
        line: Floats = states[0] + share[:, None] * (states[-1] - states[0])
        return line
    slopes = np.gradient(states, times, axis=0, edge_order=2)
    k = np.clip(np.searchsorted(times, wanted, side="right") - 1, 0, len(times) - 2)
    step = (times[k + 1] - times[k])[:, None]
    s = (wanted - times[k])[:, None] / step
    left, right = (1 + 2 * s) * (1 - s) ** 2, s * s * (3 - 2 * s)
    value = left * states[k] + right * states[k + 1]
    bend = s * (1 - s) * step * ((1 - s) * slopes[k] - s * slopes[k + 1])
    found: Floats = value + bend
    return found
