"""CCI Notes 13/14, Testing for Colourfastness, Introduction: what is never washed (W-224).

For a conservator the list is a flag that needs a trial, the curator's agreement and a written
reason: without them washing is never accepted there.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import pytest

from leastwise.graph import Adviser, Case
from tests.conftest import option

SOUND = {"material": "cotton", "identified": "certain"}


def washing(
    adviser: Adviser, make_case: Callable[..., Case], materials: list[str], **damage: Any
) -> str:
    part = {
        "id": "cloth",
        "name": "cloth",
        "lies_flat": "yes",
        "reverse_reachable": "yes",
        "bears_handling": "yes",
        "sound_surroundings": "yes",
        "materials": [{"material": m, "identified": "certain"} for m in materials],
    }
    tests = [
        {"test": name, "part": "cloth", "result": "good"}
        for name in (
            "colourfastness-water",
            "colourfastness-detergent",
            "soil-identification",
            "water-drop-silk",
        )
    ]
    damages = [{"id": "soil", "damage": "ingrained-soil", "parts": ["cloth"], "evidence": "no"}]
    for number, kind in enumerate(damage.get("also", [])):
        damages.append({"id": f"d{number}", "damage": kind, "parts": ["cloth"], "evidence": "no"})
    if damage.get("evidence"):
        damages[0]["evidence"] = damage["evidence"]
    answer = adviser.weigh(
        make_case(
            parts=[part],
            damages=damages,
            tests=tests,
            object={"name": "cloth", "past_treatment": damage.get("past", "washed often")},
            means={
                "hours": 500,
                "skill": "specialist",
                "equipment": ["wash-bath", "fume-extraction"],
            },
        )
    )
    return option(answer, "soil", "immersion-washing").verdict


def test_sound_plain_white_cotton_may_be_washed(
    adviser: Adviser, make_case: Callable[..., Case]
) -> None:
    """The kind of object that CCI does allow to be washed by hand (M-278)."""
    assert washing(adviser, make_case, ["cotton", "plain-weave"]) == "accepted"


@pytest.mark.parametrize(
    "material",
    [
        "wool",
        "early-rayon",
        "glazed-chintz",
        "quilted",
        "composite",
        "knit",
        "bias-cut",
        "gelatin-sequins",
        "beaded",
        "multi-layer",
    ],
)
def test_what_is_on_the_list_is_not_accepted(
    adviser: Adviser, make_case: Callable[..., Case], material: str
) -> None:
    assert washing(adviser, make_case, ["cotton", material]) != "accepted"


@pytest.mark.parametrize(
    ("damage", "verdict"),
    [("shattering", "undecided"), ("embrittlement", "undecided"), ("dye-bleed", "defeated")],
)
def test_what_is_very_fragile_waits_for_a_trial_and_what_bled_under_the_dye_is_defeated(
    adviser: Adviser, make_case: Callable[..., Case], damage: str, verdict: str
) -> None:
    assert washing(adviser, make_case, ["cotton", "direct-dye"], also=[damage]) == verdict


def test_soil_that_is_evidence_stays(adviser: Adviser, make_case: Callable[..., Case]) -> None:
    assert washing(adviser, make_case, ["cotton", "plain-weave"], evidence="yes") == "defeated"


def test_what_was_never_washed_before_is_flagged(
    adviser: Adviser, make_case: Callable[..., Case]
) -> None:
    assert washing(adviser, make_case, ["cotton", "plain-weave"], past="unknown") != "accepted"
