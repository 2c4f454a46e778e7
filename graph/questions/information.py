"""What it is worth to find something out before choosing: Raiffa and Schlaifer's analysis."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray

__all__ = ["evpi", "evsi"]


def evpi(prior: ArrayLike, utility: ArrayLike) -> float:
    """Return the expected value of perfect information.

    Args:
        prior: probability of each state; sums to 1.
        utility: rows are options, columns states.

    >>> evpi([0.5, 0.3, 0.2], [[1500, 300, -800], [900, 600, -200], [500, 500, 500]])
    350.0

    Raises:
        ValueError: the shapes don't match, or the prior is no distribution.

    """
    p, u = _checked(prior, utility)
    return _tidy(float(p @ u.max(axis=0) - (u @ p).max()))


def evsi(prior: ArrayLike, utility: ArrayLike, likelihood: ArrayLike) -> float:
    """Return the expected value of a test that may err.

    Args:
        prior: probability of each state; sums to 1.
        utility: rows are options, columns states.
        likelihood: rows are results of the test, columns states; each column sums to 1.

    Raises:
        ValueError: the shapes don't match, or a column is no distribution.

    """
    p, u = _checked(prior, utility)
    chance = np.asarray(likelihood, dtype=float)
    if chance.ndim != 2 or chance.shape[1] != len(p) or not np.allclose(chance.sum(axis=0), 1.0):
        raise ValueError("likelihood: expected columns that sum to 1, one for each state")
    joint = chance * p  # results x states
    return _tidy(float((u @ joint.T).max(axis=0).sum() - (u @ p).max()))


def _checked(
    prior: ArrayLike, utility: ArrayLike
) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    p, u = np.asarray(prior, dtype=float), np.asarray(utility, dtype=float)
    if u.ndim != 2 or p.shape != (u.shape[1],) or (p < 0).any() or not np.isclose(p.sum(), 1.0):
        raise ValueError(
            "prior: expected one probability of at least 0 for each column of the utilities, "
            "summing to 1"
        )
    return p, u


def _tidy(value: float) -> float:
    """Take away the last bits of the arithmetic; information is never worth less than nothing."""
    return max(0.0, round(value, 9))
