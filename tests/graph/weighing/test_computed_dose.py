"""A planned pack decides the dose on a neighbour, and with it the verdict."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import pytest

from leastwise.graph import Adviser, Case, CaseError
from leastwise.graph.answer import OptionAnswer
from tests.conftest import option

MEMBRANE = [
    {"role": "support", "name": "board"},
    {"role": "barrier", "name": "film below", "polymer": "LDPE", "thickness_um": 50},
    {"role": "blotter", "name": "damp blotter", "water_load_g_m2": 200},
    {"role": "membrane", "name": "laminate", "membrane": "felt laminate", "face": "felt down"},
]
SILK = {
    "role": "textile",
    "name": "silk",
    "fibre": "silk",
    "areal_density_g_m2": 60,
    "thickness_mm": 0.12,
    "part": "tier",
}
BRAID = {
    "role": "textile",
    "name": "ground of the braid",
    "fibre": "cotton",
    "areal_density_g_m2": 110,
    "thickness_mm": 0.25,
    "part": "braid",
}
FILM = {"role": "barrier", "name": "film between", "polymer": "LDPE", "thickness_um": 50}
COVER = {"role": "cover", "name": "film above", "polymer": "LDPE", "thickness_um": 50}


def pack(*between: dict[str, Any]) -> dict[str, Any]:
    return {
        "damage": "crushed",
        "technique": "membrane-pack-flat",
        "stack": {
            "leastwise_stack": 1,
            "layers": [*MEMBRANE, SILK, *between, BRAID, COVER],
            "treat": {"layer": "silk"},
            "neighbours": [{"layer": "ground of the braid"}],
            "minutes": 60,
            "samples": 16,
        },
    }


@pytest.fixture
def packed(adviser: Adviser, make_case: Callable[..., Case]) -> Callable[..., OptionAnswer]:
    """Return the flat pack on a silk tier over a braid of leaf on paper, with planned packs."""

    def answer(*packs: dict[str, Any]) -> OptionAnswer:
        sure = {"lies_flat": "yes", "bears_handling": "yes"}
        case = make_case(
            parts=[
                sure
                | {
                    "id": "tier",
                    "name": "tier",
                    "materials": [
                        {"material": "silk", "identified": "certain"},
                        {"material": "undyed", "identified": "certain"},
                    ],
                },
                sure
                | {
                    "id": "braid",
                    "name": "braid",
                    "materials": [{"material": "leaf-on-paper-thread", "identified": "certain"}],
                },
            ],
            contacts=[{"between": ["tier", "braid"], "kind": "lies-on", "parting": "impossible"}],
            damages=[{"id": "crushed", "damage": "crease", "parts": ["tier"], "evidence": "no"}],
            means={"skill": "specialist", "hours": 50, "equipment": ["membrane"]},
            packs=list(packs),
        )
        return option(adviser.weigh(case), "crushed", "membrane-pack-flat")

    return answer


def test_without_a_planned_pack_the_traced_dose_counts(
    packed: Callable[..., OptionAnswer],
) -> None:
    assert packed().verdict == "accepted"


def test_a_high_computed_dose_leaves_the_option_undecided(
    packed: Callable[..., OptionAnswer],
) -> None:
    """A neighbour without a film between comes near the treated layer (common practice)."""
    one = packed(pack())

    assert one.verdict == "undecided"
    assert any(f.rule == "rule:serious-harm" and f.part == "braid" for f in one.findings)


def test_a_film_in_the_pack_lowers_the_dose_and_the_option_stands(
    packed: Callable[..., OptionAnswer],
) -> None:
    """A film keeps vapour from the layer behind it (common practice)."""
    one = packed(pack(FILM))

    assert one.verdict == "accepted"
    assert not any(f.part == "braid" and f.effect != "records" for f in one.findings)


def test_the_explanation_says_that_the_dose_was_computed(
    packed: Callable[..., OptionAnswer],
) -> None:
    (reason,) = [r for r in packed(pack()).reasons.reasons if r.stance == "computed"]

    assert "Computed: see leastwise moisture" in reason.text
    assert reason.claims


@pytest.mark.parametrize(
    ("change", "path"),
    [
        ({"damage": "none"}, "packs[0].damage"),
        ({"technique": "no-such-pack"}, "packs[0].technique"),
        (
            {"stack": {"leastwise_stack": 1, "layers": [], "treat": {"layer": "x"}}},
            "packs[0].stack.layers",
        ),
    ],
)
def test_a_wrong_pack_is_named(
    make_case: Callable[..., Case], change: dict[str, Any], path: str
) -> None:
    with pytest.raises(CaseError) as caught:
        make_case(packs=[pack() | change])

    assert path in {p.path for p in caught.value.problems}
