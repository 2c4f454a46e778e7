"""How long the questions beyond the answer take: rank shares, why, what would change, tests first.

Prints figures, asserts none. Run: python bench/weighing.py
"""

from __future__ import annotations

import time
from collections.abc import Callable

import numpy as np

from leastwise.graph import load_adviser, read_demo
from leastwise.graph.questions.acceptability import (
    Uncertain,
    case_shares,
    draw_scores,
    rank_shares,
    share_ranks,
)
from leastwise.graph.questions.weights import draw_weights


def best(work: Callable[[], object], times: int = 5) -> float:
    """Return the shortest of several runs in milliseconds."""
    spent = []
    for _ in range(times):
        start = time.perf_counter()
        work()
        spent.append(time.perf_counter() - start)
    return min(spent) * 1000


def invented(number: int, axes: int, width: float) -> list[Uncertain]:
    rng = np.random.default_rng(7)
    return [
        Uncertain(
            f"o{i}",
            tuple((max(0, g - width), g, min(4, g + width)) for g in rng.uniform(0, 4, axes)),
        )
        for i in range(number)
    ]


def shares(number: int, draws: int, width: float) -> None:
    options = invented(number, 7, width)
    order = frozenset({(2, 0), (2, 1), (2, 3), (0, 5), (1, 5), (5, 6)})

    def core() -> None:
        weights = draw_weights(7, draws, np.random.default_rng(1), order)
        grades, tiers = draw_scores(options, draws, 1)
        share_ranks(np.einsum("oda,da->do", grades, weights) / 4, tiers)

    def whole() -> None:
        rank_shares(options, draw_weights(7, draws, np.random.default_rng(1), order), 1)

    print(f"{draws} weightings x {number} options, scores +-{width}:")
    print(
        f"  rank shares {best(core):.0f} ms, "
        f"with central weights and confidence {best(whole):.0f} ms"
    )


def main() -> None:
    shares(100, 4096, 0.0)
    shares(100, 4096, 0.5)
    adviser = load_adviser()
    for name in ("festival-dancer", "furnishing-panel", "guild-banner"):
        case = read_demo(name, adviser.knowledge)
        adviser.weigh(case)
        print(f"{name}: weigh {best(lambda c=case: adviser.weigh(c)):.0f} ms, "  # type: ignore[misc]
              f"rank shares {best(lambda c=case: case_shares(adviser, c)):.0f} ms")  # type: ignore[misc]  # fmt: skip


if __name__ == "__main__":
    main()
