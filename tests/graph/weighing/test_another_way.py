"""Where an object can't be shown as asked, the answer names the ways in which it could be."""

from __future__ import annotations

from collections.abc import Callable

import pytest

from leastwise.graph import Adviser, Case
from leastwise.graph.case.record import Tri
from tests.conftest import DEMOS


def too_weak_to_hang(case: Case) -> Case:
    """Return a case whose cloth bears neither handling nor a needle, to be hung."""
    weak = {"bears_handling": Tri.NO, "bears_needle": Tri.NO, "lies_flat": Tri.YES}
    parts = [p.model_copy(update=weak) for p in case.parts]
    aim = case.aim.model_copy(update={"purpose": "display", "mounting": "hung"})
    return case.model_copy(update={"parts": parts, "damages": [], "aim": aim})


def test_what_can_not_hang_is_said_to_be_shown_lying(
    adviser: Adviser, demo: Callable[[str], Case]
) -> None:
    case = too_weak_to_hang(demo("festival-dancer"))
    answer = adviser.weigh(case)
    assert answer.headline.serves == "no"
    assert "Lying flat" in answer.headline.in_words
    assert answer.headline.in_words.endswith("weigh it that way too.")

    flat = case.aim.model_copy(update={"mounting": "flat"})
    assert adviser.weigh(case.model_copy(update={"aim": flat})).headline.serves != "no"


@pytest.mark.parametrize("name", DEMOS)
def test_only_a_no_names_other_ways(
    name: str, adviser: Adviser, demo: Callable[[str], Case]
) -> None:
    headline = adviser.weigh(demo(name)).headline
    if headline.serves != "no":
        assert "weigh it that way too" not in headline.in_words


def test_a_flat_textile_is_not_sent_to_a_figure(
    adviser: Adviser, demo: Callable[[str], Case]
) -> None:
    case = too_weak_to_hang(demo("festival-dancer"))
    flat = case.model_copy(
        update={"object": case.object.model_copy(update={"kind": "flat-textile"})}
    )
    assert "on a figure" not in adviser.weigh(flat).headline.in_words


def test_a_part_that_forbids_what_answers_its_neighbour_is_said_to_be_recorded_apart(
    make_case: Callable[..., Case], adviser: Adviser
) -> None:
    undyed = {"is": "undyed", "identified": "certain"}
    may = {"lies_flat": "yes", "reverse_reachable": "yes", "bears_handling": "yes"}
    parts = [
        {"id": one, "name": one, "fibre": [{"is": "silk", "identified": "certain"}],
         "colour": [undyed], "finish": "none",
         "structure": [{"is": weave, "identified": "certain"}], **may}
        for one, weave in (("chiffon", "chiffon"), ("slip", "crepe"))
    ]  # fmt: skip
    creased = {"id": "crushed", "damage": "crease", "parts": ["chiffon", "slip"], "evidence": "no"}
    means = {"hours": 120, "skill": "specialist", "equipment": ["membrane", "humidity-chamber"]}
    made = {"leastwise_case": 2, "parts": parts, "damages": [creased], "means": means,
            "object": {"name": "dress"},
            "aim": {"purpose": "display", "mounting": "on-figure"}}  # fmt: skip

    assert (
        "Taken part by part, crease (crushed) could be answered on the chiffon"
        in adviser.weigh(make_case(**made)).headline.in_words
    )
    alone = made | {"parts": parts[:1], "damages": [creased | {"parts": ["chiffon"]}]}
    assert "part by part" not in adviser.weigh(make_case(**alone)).headline.in_words
