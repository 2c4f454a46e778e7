"""Regions of a sketch as text: points in per cent, as they are typed without a drawing."""

from __future__ import annotations

from collections.abc import Sequence

from leastwise.api.drawings.regions import area_of, points_of
from leastwise.api.drawings.svg import number

__all__ = ["parse_region", "region_text"]

Point = tuple[float, float]
MOST_POINTS = 400


def parse_region(text: str) -> tuple[list[list[float]], str]:
    """Return the points of a region typed in per cent, and what is wrong with it.

    Each point is *across,down*; spaces, line ends or semicolons stand between points.

    >>> parse_region("10,20 30,20 30,45.5")
    ([[0.1, 0.2], [0.3, 0.2], [0.3, 0.455]], '')
    >>> parse_region("10,20 30")[1]
    '30 is not a point; expected across,down in per cent, such as 10,20.'
    """
    points: list[list[float]] = []
    for word in text.replace(";", " ").split():
        try:
            across, down = (float(figure) for figure in word.split(","))
        except ValueError:
            shown = word[:24]
            return [], f"{shown} is not a point; expected across,down in per cent, such as 10,20."
        if not (0 <= across <= 100 and 0 <= down <= 100):
            return [], f"{word[:24]} lies outside; expected figures from 0 to 100."
        points.append([round(across / 100, 5), round(down / 100, 5)])
    wrong = _wrong_with([(x, y) for x, y in points]) if points else ""
    return ([], wrong) if wrong else (points, "")


def _wrong_with(points: Sequence[Point]) -> str:
    if len(points) < 3:
        return f"Got {len(points)} points; a region needs at least 3."
    if len(points) > MOST_POINTS:
        return f"Got {len(points)} points; expected at most {MOST_POINTS}."
    if abs(area_of(points)) < 1e-5:
        return "The points lie on one line; a region needs an area."
    return ""


def region_text(points: object) -> str:
    """Return the points of a stored region as text in per cent.

    >>> region_text([[0.1, 0.2], [0.3, 0.2], [0.3, 0.455]])
    '10,20 30,20 30,45.5'
    """
    return " ".join(f"{number(100 * x)},{number(100 * y)}" for x, y in points_of(points))
