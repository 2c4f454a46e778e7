"""Supports chosen: no heavier than the cloth, of like fibre, and glued only as neighbours bear."""

from __future__ import annotations

from typing import Any

import pytest

from leastwise.graph.case.record import Case, Extent
from leastwise.graph.display.supports import Chooser, SupportAdvice, cut_area_cm2
from leastwise.graph.knowledge.knowledge import Knowledge
from leastwise.graph.weighing.advise import Adviser
from tests.graph.display import garments


def split(knowledge: Knowledge, *parts: dict[str, Any], **aim: Any) -> Case:
    """Return an invented piece whose first part has a split of 12 cm."""
    damage = {"id": "s", "damage": "split", "parts": [parts[0]["id"]],
              "extent": {"value": 12, "unit": "cm"}}  # fmt: skip
    return garments.record(knowledge, list(parts), {"mounting": "flat"} | aim, damages=[damage])


def advice(adviser: Adviser, case: Case, technique: str) -> SupportAdvice:
    found = Chooser(case, adviser.catalogue).advise(
        f"technique:{technique}", [case.parts[0].id], case.damages[0]
    )
    assert found is not None
    return found


def labels(found: SupportAdvice, use: str) -> list[str]:
    return [one.label for one in dict(found.choices).get(use, ())]


def test_silk_is_patched_with_silk_that_is_no_heavier(adviser: Adviser) -> None:
    silk = garments.part("silk skirt", "silk", **garments.heavy(60))
    found = advice(adviser, split(adviser.knowledge, silk), "stitched-patch")
    first = dict(found.choices)["patch"][0]

    assert first.label == "silk habotai"
    assert any("no heavier" in why for why in first.why)
    assert "of the same fibre" in first.why
    assert "washed linen or linen scrim" not in labels(found, "patch")
    assert "colourfastness to water" in first.tests


def test_heavy_wool_takes_a_heavier_support_than_light_silk(adviser: Adviser) -> None:
    wool = garments.part("wool hanging", "wool", **garments.heavy(700))
    found = advice(adviser, split(adviser.knowledge, wool), "full-stitched-support")
    first = dict(found.choices)["full"][0]

    assert first.weight_g_m2 is not None
    assert first.weight_g_m2[0] >= 60


def test_a_technique_named_for_its_cloth_takes_that_cloth(adviser: Adviser) -> None:
    silk = garments.part("silk skirt", "silk", **garments.heavy(60))
    case = split(adviser.knowledge, silk)

    assert labels(advice(adviser, case, "crepeline-overlay"), "overlay") == ["silk crepeline"]
    assert labels(advice(adviser, case, "net-overlay"), "overlay") == ["nylon net"]


def test_net_is_told_to_rub_where_the_piece_is_dressed(adviser: Adviser) -> None:
    silk = garments.part("silk skirt", "silk", **garments.heavy(60))
    case = split(adviser.knowledge, silk, mounting="on-figure")
    (net,) = dict(advice(adviser, case, "net-overlay").choices)["overlay"]

    assert any("rubs" in one for one in net.against)


def test_weak_cloth_takes_the_finest_needle(adviser: Adviser) -> None:
    silk = garments.part("silk skirt", "silk", **garments.heavy(300))
    found = advice(adviser, split(adviser.knowledge, silk), "laid-couching")

    assert labels(found, "needle") == ["finest sharp needle, size 12"]


def test_heat_is_held_against_what_lies_beside_it(adviser: Adviser) -> None:
    silk = garments.part("silk skirt", "silk", colour="none", finish="none",
                         **garments.heavy(60))  # fmt: skip
    wax = {"id": "wax", "name": "wax beads", "fibre": "none", "colour": "none", "finish": "none",
           "components": [{"is": "wax-filled-pearls", "identified": "certain"}]}  # fmt: skip
    case = split(adviser.knowledge, silk, wax)
    beside = case.model_copy(update={"contacts": [_touch(adviser.knowledge, silk, wax)]})

    def states(one: Case) -> set[str]:
        found = dict(advice(adviser, one, "adhesive-patch-heat").choices).get("adhesive", ())
        return {r.state for c in found for r in c.reactivations}

    assert states(case)
    assert "does not bear" not in states(case)
    assert states(beside) == set()


def _touch(knowledge: Knowledge, *parts: dict[str, Any]) -> Any:
    made = garments.record(knowledge, list(parts), {"mounting": "flat"})
    from leastwise.graph.case.record import Contact  # noqa: PLC0415 - for this test alone

    return Contact.model_validate({"between": [p.id for p in made.parts], "kind": "stitched"})


def test_an_unknown_dye_leaves_every_reactivation_open(adviser: Adviser) -> None:
    silk = garments.part("silk skirt", "silk", **garments.heavy(60))
    found = advice(adviser, split(adviser.knowledge, silk), "adhesive-patch-solvent")
    states = {r.state for c in dict(found.choices)["adhesive"] for r in c.reactivations}

    assert states == {"unknown"}


def test_no_web_that_must_not_be_used_is_chosen(adviser: Adviser) -> None:
    silk = garments.part("silk skirt", "silk", **garments.heavy(60))
    case = split(adviser.knowledge, silk)

    assert Chooser(case, adviser.catalogue).advise("technique:fusible-web", ["silk"]) is None


@pytest.mark.parametrize(
    ("extent", "area"),
    [
        ({"value": 100, "unit": "cm2"}, (10 + 5) ** 2 * 1.15),
        ({"value": 12, "unit": "cm"}, (12 + 5) * 5 * 1.15),
        ({"value": 3, "unit": "count"}, None),
    ],
)
def test_amounts_reach_over_the_damage_with_waste(
    extent: dict[str, Any], area: float | None
) -> None:
    found = cut_area_cm2(Extent.model_validate(extent), 2.5, 0.15)

    assert found == (None if area is None else pytest.approx(area, abs=0.06))


def test_what_is_chosen_says_how_it_is_known(adviser: Adviser) -> None:
    k = adviser.knowledge
    for one in k.instances("lw:SupportChoice"):
        basis = k.object(one, "lw:basis")
        assert basis in ("lw:read", "lw:memory", "lw:practice"), one
        assert basis != "lw:read" or k.objects(one, "lw:restsOn"), one
        material = k.object(one, "lw:ofMaterial")
        assert material is None or "material:support-material" in k.broader(material), one
