"""How far several reviewers agree on verdicts: Krippendorff's alpha, and the raw share beside it.

    alpha = 1 - observed disagreement / disagreement expected by chance

Source: Krippendorff, Computing Krippendorff's Alpha-Reliability; Hayes and Krippendorff 2007,
Communication Methods and Measures 1(1):77-89. Any number of reviewers, who may leave units out.
Nominal: two verdicts differ or they don't. Ordinal: the difference grows with how many ratings
lie between the two. Where one verdict prevails alpha can be low although most agree (from
memory), so that the raw share of agreeing pairs always stands beside it.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Hashable, Mapping, Sequence
from dataclasses import dataclass
from itertools import combinations, permutations
from typing import Literal

__all__ = ["Agreement", "agreement"]

Level = Literal["nominal", "ordinal"]


@dataclass(frozen=True, slots=True)
class Agreement:
    """Agreement on the units that two or more reviewers rated.

    *alpha* runs from 1 (all agree) over 0 (as by chance) below zero (worse than chance); None
    where it isn't defined: nothing was rated twice, or every rating is the same. *raw* is the
    share of pairs that agree, 0 to 1; *disputed* are the units on which not all agree.
    """

    alpha: float | None
    raw: float | None
    level: Level
    reviewers: int
    units: int
    ratings: int
    disputed: tuple[str, ...]
    in_words: str


def agreement(
    ratings: Mapping[str, Mapping[str, Hashable]],
    order: Sequence[Hashable] = (),
) -> Agreement:
    """Return the agreement on *ratings*, unit -> reviewer -> value.

    With *order* the values are taken as ordinal, lowest first; without it as nominal.

    >>> agreement({"a": {"x": 1, "y": 1}, "b": {"x": 2, "y": 2}}).alpha
    1.0

    Raises:
        ValueError: a value isn't in *order*.

    """
    level: Level = "ordinal" if order else "nominal"
    rated = {unit: list(by.values()) for unit, by in ratings.items() if len(by) >= 2}
    strange = {value for values in rated.values() for value in values} - set(order or ())
    if order and strange:
        raise ValueError(f"ratings {sorted(map(str, strange))}: expected {list(order)}")
    coincidences: defaultdict[tuple[Hashable, Hashable], float] = defaultdict(float)
    pairs = agreeing = 0
    for values in rated.values():
        share = 1.0 / (len(values) - 1)
        for one, other in permutations(values, 2):
            coincidences[one, other] += share
        for one, other in combinations(values, 2):
            pairs += 1
            agreeing += one == other
    alpha = _alpha(coincidences, order)
    reviewers = {name for by in ratings.values() for name in by}
    disputed = sorted(unit for unit, values in rated.items() if len(set(values)) > 1)
    raw = agreeing / pairs if pairs else None
    return Agreement(
        alpha,
        raw,
        level,
        len(reviewers),
        len(rated),
        sum(map(len, rated.values())),
        tuple(disputed),
        _words(alpha, raw, len(rated)),
    )


def _alpha(
    coincidences: Mapping[tuple[Hashable, Hashable], float], order: Sequence[Hashable]
) -> float | None:
    totals: dict[Hashable, float] = {}
    for (one, _), count in coincidences.items():
        totals[one] = totals.get(one, 0.0) + count
    number = sum(totals.values())
    distance = _ordinal(totals, order) if order else _nominal(totals)
    observed = sum(count * distance[pair] for pair, count in coincidences.items())
    expected = sum(
        totals[one] * totals[other] * distance[one, other] for one in totals for other in totals
    )
    if number <= 1 or expected == 0:
        return None
    return 1.0 - (number - 1) * observed / expected


def _nominal(totals: Mapping[Hashable, float]) -> dict[tuple[Hashable, Hashable], float]:
    return {(one, other): float(one != other) for one in totals for other in totals}


def _ordinal(
    totals: Mapping[Hashable, float], order: Sequence[Hashable]
) -> dict[tuple[Hashable, Hashable], float]:
    place = {value: i for i, value in enumerate(order)}
    found = {}
    for one in totals:
        for other in totals:
            low, high = sorted((place[one], place[other]))
            between = sum(totals.get(value, 0.0) for value in order[low : high + 1])
            found[one, other] = (between - (totals[one] + totals[other]) / 2) ** 2
    return found


def _words(alpha: float | None, raw: float | None, units: int) -> str:
    """Say what the figure allows; the bounds 0.8 and 0.667 are Krippendorff's (from memory)."""
    if raw is None:
        return "Nothing has been rated by two reviewers yet."
    share = f"{100 * raw:.0f} % of the pairs of ratings agree"
    if alpha is None:
        return f"{share}; alpha is not defined, since all ratings are the same."
    few = "; few units, so the figure is unsure" if units < 10 else ""
    if alpha >= 0.8:
        said = "reliable"
    elif alpha >= 0.667:
        said = "good enough for tentative conclusions"
    else:
        said = "too low to rely on; talk about the disputed options"
    return f"alpha {alpha:.2f}: {said}{few}. {share[0].upper()}{share[1:]}."
