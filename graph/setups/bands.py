"""Bands of humidity over a stack, of which the newest are kept: pages and sheets ask the same."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from functools import lru_cache
from typing import TYPE_CHECKING

if TYPE_CHECKING:  # the solver is slow to load
    from leastwise.graph.physics import HumidityBand, Question, Sampling, Stack, Uncertain

__all__ = ["band_of"]

#: A case has a few sections, each with a few neighbours, bare and behind a film.
MOST = 64


def band_of(
    stack: Stack,
    question: Question,
    uncertain: Sequence[Uncertain] | None,
    sampling: Sampling,
    progress: Callable[[int, int], None] | None = None,
) -> HumidityBand:
    """Return the band of a stack as :func:`leastwise.graph.physics.humidity_band` computes it.

    With *progress* it is computed anew, and told of.

    Raises:
        PhysicsInputError: a property, range or layer that isn't accepted.
        SolverError: an integration stopped early.

    """
    if progress is None:
        return _kept(stack, question, None if uncertain is None else tuple(uncertain), sampling)
    from leastwise.graph.physics import humidity_band  # noqa: PLC0415 - loads the solver

    return humidity_band(stack, question, uncertain, sampling, progress)


@lru_cache(maxsize=MOST)
def _kept(
    stack: Stack, question: Question, uncertain: tuple[Uncertain, ...] | None, sampling: Sampling
) -> HumidityBand:
    from leastwise.graph.physics import humidity_band  # noqa: PLC0415 - loads the solver

    return humidity_band(stack, question, uncertain, sampling)
