"""Regions of a sketch that are set off from the others, each with its number in a disc."""

from __future__ import annotations

from collections.abc import Sequence

from leastwise.api.drawings.svg import ACCENT, PAPER, QUIET, number

__all__ = ["closed_way", "lit_region", "quiet_outline"]

Point = tuple[float, float]


def closed_way(points: Sequence[Point]) -> str:
    """Return the way round a region, as the ``d`` of a path."""
    return "M" + "L".join(f"{number(x)} {number(y)}" for x, y in points) + "Z"


def lit_region(placed: Sequence[Point], count: int) -> str:
    """Return a tone over a region, and its number; *placed* is its anchor, then its points."""
    (x, y), d = placed[0], closed_way(placed[1:])
    return (
        f'<path d="{d}" fill="{ACCENT}" fill-opacity="0.28" stroke="{ACCENT}" stroke-width="3"/>'
        f'<circle cx="{number(x)}" cy="{number(y)}" r="13" fill="{ACCENT}" stroke="{PAPER}" '
        f'stroke-width="2"/><text x="{number(x)}" y="{number(y + 5)}" text-anchor="middle" '
        f'font-size="15" font-weight="bold" fill="{PAPER}">{count}</text>'
    )


def quiet_outline(placed: Sequence[Point]) -> str:
    """Return a region as a dotted outline, for what only lies beside the others."""
    d = closed_way(placed[1:])
    return (
        f'<path d="{d}" fill="none" stroke="{PAPER}" stroke-width="3"/>'
        f'<path d="{d}" fill="none" stroke="{QUIET}" stroke-width="1.2" stroke-dasharray="2 4"/>'
    )
