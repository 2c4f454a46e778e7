"""ISO 105-A02 / EN 20105-A02:1994, clause 2.4: colour difference of each grade (W-299)."""

from __future__ import annotations

import pytest

from leastwise.graph import Adviser
from leastwise.graph.knowledge.figures import figure, grey_scale_grade

PUBLISHED = [
    ("5", 0.0),
    ("4-5", 0.8),
    ("4", 1.7),
    ("3-4", 2.5),
    ("3", 3.4),
    ("2-3", 4.8),
    ("2", 6.8),
    ("1-2", 9.6),
    ("1", 13.6),
]


def test_the_nine_grades_are_the_published_ones(adviser: Adviser) -> None:
    assert list(figure(adviser.knowledge, "claim:W-299").series) == PUBLISHED


@pytest.mark.parametrize(
    ("difference", "grade"), [(0.1, "5"), (1.6, "4"), (1.732, "4"), (4.5, "2-3"), (20.0, "1")]
)
def test_a_colour_difference_takes_the_nearest_grade(
    adviser: Adviser, difference: float, grade: str
) -> None:
    """Arithmetic on the published steps."""
    assert grey_scale_grade(adviser.knowledge, difference) == grade


def test_the_staining_scale_is_another_scale_and_only_recalled(adviser: Adviser) -> None:
    """Grade 3 is 3.4 for change (A02, read) and 8.5 for staining (A03, from memory: W-300)."""
    staining = figure(adviser.knowledge, "claim:W-300")

    assert dict(staining.series)["3"] == 8.5
    assert staining.basis == "memory"
