"""Weights of one's own: read from the address, and the options put in order by them.

A weight is given in points from 0 to 100; what counts is the share of all points, rounded to six
places as a policy's weights are. The page's script (static/weights.js) works out the same order
from the same numbers. Weights put options in order; verdicts they never touch.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from itertools import pairwise
from typing import Final

from leastwise.graph.answer import Answer, DamageAnswer, OptionAnswer
from leastwise.graph.errors import LeastwiseError
from leastwise.graph.meanings import Verdict
from leastwise.graph.weighing.ranking import Score, in_order, weighted_burden

__all__ = [
    "FIELD",
    "MOST_POINTS",
    "Moved",
    "OwnWeights",
    "WrongWeights",
    "points_of",
    "read_weights",
    "reordered",
]

MOST_POINTS: Final = 100
PLACES: Final = 6
#: The form's field of an axis is this and the axis's name.
FIELD: Final = "w-"


class WrongWeights(LeastwiseError):  # noqa: N818 - reads as what happened
    """Weights that can't be used; *field* is the axis they were given for, or empty."""

    def __init__(self, field: str, given: str, accepted: str) -> None:
        self.field = field
        place = f"weights: {field}" if field else "weights"
        super().__init__(f"{place}: got {given}; expected {accepted}.")


@dataclass(frozen=True, slots=True)
class OwnWeights:
    """Points by axis as they were given, and the weights they come to."""

    points: Mapping[str, int]
    weights: Mapping[str, float]

    @property
    def text(self) -> str:
        """Return the points as the address carries them: ``exposure:20,penetration:17``."""
        return ",".join(f"{axis.partition(':')[2]}:{n}" for axis, n in self.points.items())


@dataclass(frozen=True, slots=True)
class Moved:
    """Two options of a damage that have changed places: *label* now comes before *before*."""

    damage: str
    label: str
    before: str


def points_of(weights: Mapping[str, float]) -> dict[str, int]:
    """Return a policy's weights in points, rounded to whole ones."""
    return {axis: round(MOST_POINTS * weight) for axis, weight in weights.items()}


def read_weights(given: Mapping[str, str], standard: Mapping[str, int]) -> OwnWeights | None:
    """Return the weights that the address gives, or None if it gives none.

    *given* holds the query: ``weights`` with all axes in one text, or a field for each axis as
    the form sends it. An axis that isn't named keeps the policy's points, *standard*.

    Raises:
        WrongWeights: no such axis, no whole number from 0 to 100, or nothing but zeros.
            Points that are the policy's own count as none given.

    """
    named = {axis.partition(":")[2]: axis for axis in standard}
    asked = _listed(given.get("weights", ""), named)
    asked |= {name: given[FIELD + name] for name in named if given.get(FIELD + name, "").strip()}
    if not asked:
        return None
    points = dict(standard)
    for name, text in asked.items():
        points[named[name]] = _points(name, text)
    if points == standard:
        return None
    total = sum(points.values())
    if not total:
        raise WrongWeights("", "0 for every axis", "more than 0 for at least one axis")
    return OwnWeights(points, {axis: round(n / total, PLACES) for axis, n in points.items()})


def _listed(text: str, named: Mapping[str, str]) -> dict[str, str]:
    found: dict[str, str] = {}
    for pair in filter(None, text.split(",")):
        name, colon, points = pair.strip().removeprefix("axis:").rpartition(":")
        if not colon or name not in named:
            raise WrongWeights("", repr(pair[:40]), f"AXIS:POINTS with one of {', '.join(named)}")
        found[name] = points
    return found


def _points(name: str, text: str) -> int:
    accepted = f"a whole number from 0 to {MOST_POINTS}"
    if not (text.strip().isascii() and text.strip().isdigit() and len(text.strip()) <= 3):
        raise WrongWeights(name, repr(text[:40]), accepted)
    if int(text) > MOST_POINTS:
        raise WrongWeights(name, text.strip(), accepted)
    return int(text)


def reordered(answer: Answer, weights: Mapping[str, float]) -> tuple[Answer, list[Moved]]:
    """Return the answer with its options in the order of *weights*, and what changed places.

    Verdicts, grades and whether the aim is met stay as they are.
    """
    damages, moved = [], []
    for damage in answer.damages:
        ordered = _in_order(damage.options, weights)
        damages.append(replace(damage, options=tuple(ordered)))
        moved += _moved(damage, ordered)
    policy = replace(answer.policy, weights=dict(weights))
    return replace(answer, damages=tuple(damages), policy=policy), moved


def _in_order(options: Sequence[OptionAnswer], weights: Mapping[str, float]) -> list[OptionAnswer]:
    by_id = {o.id: replace(o, burden=weighted_burden(o.burdens, weights)) for o in options}
    scores = [_score(o) for o in by_id.values()]
    order = in_order(scores, {o.id: o.verdict for o in options})
    return [replace(by_id[s.option], rank=rank) for rank, s in enumerate(order, 1)]


def _score(o: OptionAnswer) -> Score:
    low, high = o.hours
    return Score(
        o.id,
        o.burdens,
        o.burden,
        o.hindrance,
        o.efficacy,
        o.residual,
        o.meets_aim,
        (low, high),
        o.waiting,
    )


def _moved(damage: DamageAnswer, ordered: list[OptionAnswer]) -> list[Moved]:
    """Return who now stands directly before an option that stood before it, best first."""
    was = {o.id: o.rank for o in damage.options}
    return [
        Moved(damage.id, one.label, other.label)
        for one, other in pairwise(ordered)
        if was[one.id] > was[other.id] and other.verdict != Verdict.DEFEATED
    ]
