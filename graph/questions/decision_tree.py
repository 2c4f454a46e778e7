"""The best order of tests that may each come out well or badly, exactly, by working backwards."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from functools import cache
from typing import Final, Literal

__all__ = ["BAD", "GOOD", "NOT_DONE", "Outcome", "Policy", "State", "after", "best_policy"]

NOT_DONE: Final = "not done"
GOOD: Final = "good"
BAD: Final = "bad"

#: What came of one test.
Outcome = Literal["not done", "good", "bad"]
#: The results so far, one a test, in the order of the tests.
State = tuple[Outcome, ...]


@dataclass(frozen=True, slots=True)
class Policy:
    """What is best in a state: the number of the test to do, or None to stop; and its value."""

    test: int | None
    value: float


def best_policy(
    values: Mapping[State, float], costs: Sequence[float], chances: Sequence[float]
) -> Callable[[State], Policy]:
    """Return the best policy by state.

    Args:
        values: what stopping is worth in each of the 3^n states of n tests.
        costs: what each test costs, in the same units.
        chances: the chance of a good result of each test, 0 to 1.

    Stopping is preferred to a test of no worth, an earlier test to a later one of the same worth.

    """

    @cache
    def policy(state: State) -> Policy:
        best = Policy(None, values[state])
        for number, result in enumerate(state):
            if result != NOT_DONE:
                continue
            good, bad = (policy(after(state, number, r)).value for r in (GOOD, BAD))
            chance = chances[number]
            value = chance * good + (1.0 - chance) * bad - costs[number]
            if value > best.value + 1e-9:
                best = Policy(number, value)
        return best

    return policy


def after(state: State, number: int, result: Outcome) -> State:
    """Return the state after a test, named by its number, came out with *result*."""
    return (*state[:number], result, *state[number + 1 :])
