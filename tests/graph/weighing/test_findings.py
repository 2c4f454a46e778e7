"""What the rules say of several cases at once is what they say of each alone."""

from __future__ import annotations

from collections.abc import Callable

from leastwise.graph import Adviser, Case
from leastwise.graph.weighing.findings import find, find_all
from tests.conftest import DEMOS


def test_a_batch_says_of_each_case_what_it_says_of_it_alone(
    adviser: Adviser, demo: Callable[[str], Case]
) -> None:
    batch = [adviser.steps(demo(name)).data for name in DEMOS]
    alone = [find(data, adviser.rules) for data in batch]
    assert all(found for found in alone)
    assert find_all(batch, adviser.rules) == alone
    assert find_all(batch[::-1], adviser.rules) == alone[::-1]


def test_a_case_without_options_takes_its_place_in_a_batch(
    adviser: Adviser, make_case: Callable[..., Case]
) -> None:
    empty = make_case(damages=[]).model_copy(update={"id": "undamaged"})
    batch = [adviser.steps(case).data for case in (make_case(), empty)]
    assert find_all(batch, adviser.rules) == [find(data, adviser.rules) for data in batch]


def test_no_case_makes_no_findings(adviser: Adviser) -> None:
    assert find_all([], adviser.rules) == []
