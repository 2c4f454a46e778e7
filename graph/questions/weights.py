"""Weights that nobody knows exactly: drawn uniformly from those that a policy's order allows."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from leastwise.graph.errors import KnowledgeError
from leastwise.graph.knowledge.concepts import Catalogue
from leastwise.graph.weighing.ranking import Policy

__all__ = ["draw_weights", "order_kept", "weight_order"]

Floats = NDArray[np.float64]


def weight_order(catalogue: Catalogue, policy: str) -> frozenset[tuple[int, int]]:
    """Return the pairs (i, j) of axes such that the policy weighs axis i at least as much as j.

    Raises:
        KnowledgeError: the statements run in a circle, or name what is no axis.

    """
    k, place = catalogue.knowledge, {axis: i for i, axis in enumerate(catalogue.axes)}
    pairs = set()
    for node in k.objects(policy, "lw:prefersOrder"):
        upper = k.object(node, "lw:axis") or ""
        for lower in k.objects(node, "lw:atLeastAsImportantAs"):
            if upper not in place or lower not in place:
                raise KnowledgeError(
                    policy, f"orders {upper or 'nothing'} before {lower}.", "Name two axes."
                )
            pairs.add((place[upper], place[lower]))
    order = frozenset(pairs)
    if not _linear_counts(order, len(place))[(1 << len(place)) - 1]:
        raise KnowledgeError(
            policy, "has statements of order that run in a circle.", "Take one of them out."
        )
    return order


def order_kept(catalogue: Catalogue, policy: Policy) -> frozenset[tuple[int, int]]:
    """Return the order of a policy's axes, without what the weights of a case go against."""
    weights = [policy.weights[axis] for axis in catalogue.axes]
    order = weight_order(catalogue, policy.id)
    return frozenset((i, j) for i, j in order if weights[i] >= weights[j])


def _may_lead(axis: int, left: int, order: frozenset[tuple[int, int]]) -> bool:
    """Return whether *axis* may weigh most of those *left* (a bit mask)."""
    return bool(left >> axis & 1) and not any(j == axis and left >> i & 1 for i, j in order)


def _linear_counts(order: frozenset[tuple[int, int]], number: int) -> dict[int, int]:
    """Return how many full orders of each set of axes agree with the statements."""
    counts = {0: 1}

    def count(left: int) -> int:
        if left not in counts:
            counts[left] = sum(
                count(left & ~(1 << a)) for a in range(number) if _may_lead(a, left, order)
            )
        return counts[left]

    count((1 << number) - 1)
    return counts


def draw_weights(
    number: int,
    draws: int,
    rng: np.random.Generator,
    order: frozenset[tuple[int, int]] = frozenset(),
) -> Floats:
    """Return weights drawn uniformly from the simplex, as far as *order* allows.

    The part of the simplex that agrees with a partial order falls into pieces of equal size, one
    for each full order that agrees with it; so a full order is drawn at random and the sorted
    weights are dealt out along it. That is exact and throws no draw away.
    """
    gaps = rng.exponential(size=(draws, number))
    weights: Floats = gaps / gaps.sum(axis=1, keepdims=True)
    if not order:
        return weights
    counts = _linear_counts(order, number)
    weights = -np.sort(-weights, axis=1)
    dealt = np.empty_like(weights)
    left = np.full(draws, (1 << number) - 1)
    for place, luck in enumerate(rng.random((number, draws))):
        chosen = np.empty(draws, dtype=np.int64)
        for state in np.unique(left).tolist():
            here = np.flatnonzero(left == state)
            lead = [a for a in range(number) if _may_lead(a, state, order)]
            odds = np.cumsum([counts[state & ~(1 << a)] / counts[state] for a in lead])
            found = np.searchsorted(odds, luck[here], side="right").clip(max=len(lead) - 1)
            chosen[here] = np.asarray(lead)[found]
        dealt[np.arange(draws), chosen] = weights[:, place]
        left &= ~(1 << chosen)
    return dealt
