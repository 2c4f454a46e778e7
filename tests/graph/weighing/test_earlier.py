"""Work of another course that comes first: what it makes possible stays to be proved."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import pytest

from leastwise.graph import Adviser, Answer, Case
from leastwise.graph.answer import OptionAnswer

EARLIER = "lw:EarlierWork"
MEANS = {"skill": "specialist", "hours": 400, "equipment": "unknown"}
FIGURE = "need-carried-on-figure/padded-figure"

Weigh = Callable[..., Answer]


def part(name: str, fibre: str, **fields: Any) -> dict[str, Any]:
    """Return a part of an undyed fibre."""
    made = [{"material": one, "identified": "certain"} for one in (fibre, "undyed")]
    return {"id": name, "name": name, "materials": made, **fields}


@pytest.fixture
def gown(adviser: Adviser, make_case: Callable[..., Case]) -> Weigh:
    """Weigh a gown for a figure, its bodice of shattered silk or as the test says."""

    def weigh(damage: str = "shattering", **fields: Any) -> Answer:
        bodice = part("bodice", "silk", sound_surroundings="yes", **fields)
        found = {"id": "hurt", "damage": damage, "parts": ["bodice"], "severity": "severe"}
        return adviser.weigh(
            make_case(
                object={"name": "gown", "kind": "costume"},
                parts=[bodice],
                damages=[found],
                aim={"purpose": "display", "mounting": "on-figure"},
                means=MEANS,
            )
        )

    return weigh


def option(answer: Answer, name: str) -> OptionAnswer:
    return next(o for o in answer.options() if o.id == name)


def test_a_figure_for_a_shattered_gown_waits_for_its_support(gown: Weigh) -> None:
    figure = option(gown(), FIGURE)

    assert figure.verdict == "undecided"
    (act,) = figure.acts
    assert (act.technique, act.supplies, act.where) == (
        "technique:support-first", EARLIER, ("bodice",),
    )  # fmt: skip
    waits = [f for f in figure.findings if f.rule == "rule:earlier-work-to-prove"]
    assert {m.what for f in waits for m in f.mends} >= {"test:handling-strength"}


def test_a_failed_handling_trial_is_to_be_made_again_once_the_cloth_is_supported(
    gown: Weigh,
) -> None:
    assert option(gown(bears_handling="no"), FIGURE).verdict == "undecided"


def test_where_nothing_supports_the_cloth_the_figure_stays_barred(gown: Weigh) -> None:
    def barred(answer: Answer) -> bool:
        figure = option(answer, FIGURE)
        return figure.verdict == "defeated" and figure.acts == ()

    # soil is no weakness that a support takes away
    assert barred(gown(damage="ingrained-soil", bears_handling="no"))


def test_a_sound_gown_waits_for_no_earlier_work(gown: Weigh) -> None:
    figure = option(gown(damage="stain", bears_handling="yes"), FIGURE)

    assert [act for act in figure.acts if act.supplies == EARLIER] == []


def test_soot_comes_off_dry_before_a_bath(adviser: Adviser, make_case: Callable[..., Case]) -> None:
    cloth = part("cloth", "linen", bears_handling="yes", lies_flat="yes")
    damages = [
        {"id": "soot", "damage": "soot", "parts": ["cloth"], "severity": "slight"},
        {"id": "soil", "damage": "ingrained-soil", "parts": ["cloth"], "severity": "severe"},
    ]
    answer = adviser.weigh(make_case(parts=[cloth], damages=damages, means=MEANS))
    bath = option(answer, "soil/immersion-washing")

    assert bath.verdict == "undecided"
    assert "technique:soot-off-first" in {act.technique for act in bath.acts}
    assert "rule:no-moisture-on-soot" not in {f.rule for f in bath.findings}


def test_nothing_that_waits_for_earlier_work_is_accepted_in_the_demo_cases(
    adviser: Adviser, demo: Callable[[str], Case]
) -> None:
    found = 0
    for name in ("festival-dancer", "guild-banner", "furnishing-panel"):
        for one in adviser.weigh(demo(name)).options():
            if any(act.supplies == EARLIER for act in one.acts):
                found += 1
                assert one.verdict == "undecided"
    assert found
