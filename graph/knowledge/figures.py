"""Figures of the knowledge as numbers: regain and content, grey-scale grades, light limits."""

from __future__ import annotations

import json
from dataclasses import dataclass

from leastwise.graph.errors import LeastwiseError, NotFound
from leastwise.graph.knowledge.knowledge import Knowledge

__all__ = ["Figure", "figure", "grey_scale_grade", "moisture_content_percent", "regain_percent"]


@dataclass(frozen=True, slots=True)
class Figure:
    """A figure of one claim: value (a range if the two differ), unit, conditions, basis."""

    claim: str
    low: float
    high: float
    unit: str
    at: str
    basis: str
    series: tuple[tuple[str, float], ...] = ()


def figure(knowledge: Knowledge, claim: str) -> Figure:
    """Return the figure that a claim states.

    Raises:
        NotFound: the claim states no figure.

    """
    low = knowledge.number(claim, "lw:value")
    if low is None:
        raise NotFound("figure", claim, [])
    high = knowledge.number(claim, "lw:valueHigh")
    rows = json.loads(knowledge.text(claim, "lw:series", "[]"))
    return Figure(
        claim,
        low,
        low if high is None else high,
        knowledge.text(claim, "lw:unit"),
        knowledge.text(claim, "lw:at"),
        (knowledge.object(claim, "lw:basis") or "").removeprefix("lw:"),
        tuple((str(name), float(value)) for name, value in rows),
    )


def moisture_content_percent(regain: float) -> float:
    """Return moisture content M (% of the moist mass) from regain R (% of the dry mass).

    M = R / (1 + R/100), claim M-024.

    >>> round(moisture_content_percent(11.0), 2)
    9.91
    """
    if regain < 0:
        raise LeastwiseError(f"regain: got {regain}; expected 0 % or more.")
    return regain / (1 + regain / 100)


def regain_percent(water_g: float, dry_g: float) -> float:
    """Return regain R = 100 W/D from the mass of water and the oven-dry mass, claim M-023.

    >>> regain_percent(8.5, 100.0)
    8.5
    """
    if water_g < 0 or dry_g <= 0:
        raise LeastwiseError("masses: expected water of 0 g or more and dry mass above 0 g.")
    return 100 * water_g / dry_g


def grey_scale_grade(knowledge: Knowledge, colour_difference: float) -> str:
    """Return the ISO 105-A02 grade (5 no change to 1) nearest to a CIELAB difference, W-299.

    The scale is the one for change of colour; the one for staining has other steps.
    """
    steps = figure(knowledge, "claim:W-299").series
    return min(steps, key=lambda step: abs(step[1] - colour_difference))[0]
