"""A display worked out: five invented garments, a hanging of 3 m, panels on a slope."""

from __future__ import annotations

from collections.abc import Callable

import pytest

from leastwise.graph.case.record import Case
from leastwise.graph.display.values import WorkedDisplay
from leastwise.graph.display.worked import bench_rows, work_out
from leastwise.graph.weighing.advise import Adviser
from tests.graph.display import garments

Work = Callable[[Case], WorkedDisplay]


@pytest.fixture
def work(adviser: Adviser) -> Work:
    return lambda case: work_out(case, adviser.catalogue)


@pytest.fixture
def five(adviser: Adviser) -> dict[str, Case]:
    return garments.five(adviser.knowledge)


def test_padding_fills_what_the_bare_figure_lacks(work: Work, five: dict[str, Case]) -> None:
    figure = work(five["corded"]).figure
    assert figure is not None
    waist, hip = (next(one for one in figure.levels if one.key == key) for key in ("waist", "hip"))

    # garment - ease of 1 to 2 cm; (form - bare) / 2 pi, arithmetic; the ease is practice
    assert waist.form_cm == (60, 61)
    assert waist.padding_cm == pytest.approx(((60 - 58) / 6.2832, (61 - 58) / 6.2832), abs=1e-3)
    assert hip.padding_cm == pytest.approx(((99 - 84) / 6.2832, (102 - 84) / 6.2832), abs=1e-3)
    heights = [one.below_nape_cm for one in figure.slices]
    assert heights == sorted(heights)
    assert heights[0] == 0
    assert all(one.padding_cm is not None and one.padding_cm > 0 for one in figure.slices)


def test_a_load_over_its_limit_is_told_with_its_mend(work: Work, five: dict[str, Case]) -> None:
    figure = work(five["corded"]).figure
    assert figure is not None
    dressed = figure.helps[0]
    shoulders = next(one for one in dressed.loads if "shoulder" in one.where)

    # 3.4 kg x 9.81 = 33.35 N; shares 0.7 to 1.0; seams 38 - 35 / pi = 26.86 cm
    assert shoulders.per_cm == pytest.approx((0.7 * 33.354 / 26.859, 33.354 / 26.859), rel=1e-3)
    assert dressed.state == "too much"
    assert figure.helps[figure.chosen].state == "holds"
    assert "too much" in figure.mend
    assert "tapes inside" in figure.mend


def test_a_waist_band_carries_a_heavy_crepe_dress(work: Work, five: dict[str, Case]) -> None:
    worked = work(five["crepe"])
    figure = worked.figure
    assert figure is not None

    assert (figure.helps[0].state, figure.chosen) == ("in doubt", 1)
    assert "carried at the waist by a band" in figure.mend
    assert {row.what for row in figure.train} == {
        "Train board",
        "Taken off the waist by the board",
    }
    assert "Puffed sleeve" in {row.what for row in figure.sleeves}


def test_light_cloth_under_beads_is_never_said_to_hold(work: Work, five: dict[str, Case]) -> None:
    figure = work(five["beaded"]).figure
    assert figure is not None

    assert figure.helps[0].state == "too much"
    assert all(one.state != "holds" for one in figure.helps)
    assert "lying flat" in figure.mend


def test_a_garment_does_not_close_on_a_figure_too_large(work: Work, five: dict[str, Case]) -> None:
    figure = work(five["cotton"]).figure
    assert figure is not None
    waist = next(one for one in figure.levels if one.key == "waist")

    assert (waist.closing, waist.gap_cm, waist.padding_cm) == ("does not close", -3, None)
    assert "take a smaller figure" in figure.closing


def test_a_coat_of_sound_cloth_holds_as_dressed(work: Work, five: dict[str, Case]) -> None:
    figure = work(five["coat"]).figure
    assert figure is not None

    assert (figure.kind, figure.chosen, figure.helps[0].state) == ("coat", 0, "holds")
    assert figure.underskirt is None


@pytest.mark.parametrize(
    ("name", "layers"), [("cotton", 2), ("corded", 3), ("crepe", 5), ("beaded", 1)]
)
def test_wide_and_heavy_skirts_take_more_layers(
    work: Work, five: dict[str, Case], name: str, layers: int
) -> None:
    figure = work(five[name]).figure

    assert figure is not None
    assert figure.underskirt is not None
    assert figure.underskirt.layers == layers


def test_what_a_girth_would_tell_is_asked_for(work: Work, adviser: Adviser) -> None:
    cloth = garments.part("dress of silk", "silk")
    worked = work(garments.on_figure(adviser.knowledge, [cloth], girths_cm={"bust": 88}))

    said = " ".join(worked.unknown)
    assert "weigh it" in said
    assert "shoulder width" in said
    assert worked.figure is not None
    assert worked.figure.helps == ()


def test_a_hanging_of_three_metres_has_its_heading(work: Work, adviser: Adviser) -> None:
    cloth = garments.part("wool hanging", "wool", **garments.heavy(600))
    size = {"width_cm": 240, "length_cm": 300, "weight_g": 4400}
    found = work(garments.hanging(adviser.knowledge, cloth, **size)).hung
    assert found is not None

    # 4.4 kg x 9.81 / 240 cm = 0.18 N/cm, up to half as much again where it is held unevenly
    assert found.load.per_cm == pytest.approx((0.17985, 0.26978), rel=1e-3)
    assert next(h.label for h in found.headings if h.key == found.chosen).startswith(
        "cotton sleeve"
    )
    # 0.26978 x 100 x 10 / (7.5 N x 0.5) = 71.9
    assert found.stitches_per_m == 72


def test_cloth_in_doubt_at_its_top_edge_is_carried_by_a_lining(
    work: Work, adviser: Adviser
) -> None:
    cloth = garments.part("silk hanging", "silk", **garments.heavy(90))
    size = {"width_cm": 100, "length_cm": 300, "weight_g": 4500}
    found = work(garments.hanging(adviser.knowledge, cloth, **size)).hung
    assert found is not None
    chosen = next(h for h in found.headings if h.key == found.chosen)

    assert found.load.state == "in doubt"
    assert (chosen.rows, chosen.row_spacing_cm, chosen.load.state) == (2, 150, "holds")
    assert "lining" in found.mend


def test_a_wool_panel_holds_by_friction_on_nap(work: Work, adviser: Adviser) -> None:
    cloth = garments.part("wool panel", "wool", **garments.heavy(400))
    smooth, napped = work(garments.panel(adviser.knowledge, cloth, 60)).slants

    # 1.3 / tan 60 = 0.75 (claim:S-147, arithmetic, with a factor for vibration)
    assert napped.needed == pytest.approx(0.7506, rel=1e-3)
    assert (smooth.state, napped.state) == ("in doubt", "holds")
    assert napped.force_n is not None
    assert napped.force_n[1] == 0


def test_a_silk_panel_slides_and_is_told_how_flat_it_must_lie(work: Work, adviser: Adviser) -> None:
    cloth = garments.part("silk panel", "silk", **garments.heavy(90))
    found = work(garments.panel(adviser.knowledge, cloth, 30)).slants

    assert {one.state for one in found} == {"too much"}
    assert "Flatter" in found[1].mend
    assert found[1].holds_from_deg == pytest.approx(77.0, abs=0.1)  # atan(1.3 / 0.3)
    # what the least grip leaves: 0.9 kg x 9.81 x (cos 30 - 0.3 sin 30) / 80 cm
    assert found[1].edge_per_cm is not None
    assert found[1].edge_per_cm[1] == pytest.approx(8.829 * (0.8660 - 0.15) / 80, rel=1e-3)


def test_a_tilt_trial_takes_the_place_of_the_band(work: Work, adviser: Adviser) -> None:
    cloth = garments.part("silk panel", "silk", **garments.heavy(90))
    test = {"test": "tilt-trial", "part": "silk",
            "reading": {"value": 40, "unit": "° from the vertical"}}  # fmt: skip
    found = work(garments.panel(adviser.knowledge, cloth, 60, tests=[test])).slants

    assert [one.cover for one in found] == ["as tried"]
    assert found[0].friction == pytest.approx((0.9 * 1.1918, 1.1 * 1.1918), rel=1e-3)
    assert found[0].state == "holds"


@pytest.mark.parametrize("bears", ["unknown", "not-applicable"])
def test_cloth_that_nobody_has_tried_never_holds(work: Work, adviser: Adviser, bears: str) -> None:
    cloth = garments.part("cloth", "wool", **garments.heavy(900)) | {"bears_handling": bears}
    k = adviser.knowledge
    dress = work(garments.on_figure(k, [cloth], girths_cm=garments.DRESS, size={"weight_g": 10}))
    hung = work(garments.hanging(k, cloth, width_cm=500, length_cm=10, weight_g=5)).hung

    assert dress.figure is not None
    assert {one.state for one in dress.figure.helps} == {"unknown"}
    assert "handling trial" in dress.figure.mend
    assert hung is not None
    assert {h.state for h in hung.headings} == {"unknown"}
    assert hung.chosen == ""


def test_a_split_makes_cloth_weak_whatever_it_weighs(work: Work, adviser: Adviser) -> None:
    cloth = garments.part("cloth", "wool", **garments.heavy(900))
    split = [{"id": "s", "damage": "split", "parts": ["cloth"]}]
    case = garments.on_figure(
        adviser.knowledge, [cloth], girths_cm=garments.DRESS, size={"weight_g": 3400}, damages=split
    )
    figure = work(case).figure
    assert figure is not None

    assert {load.cloth.key for h in figure.helps for load in h.loads} == {"weak"}
    assert (figure.chosen, figure.helps[0].state) == (-1, "too much")
    assert "lying flat" in figure.mend


def test_a_strength_that_was_measured_goes_before_the_class(work: Work, adviser: Adviser) -> None:
    cloth = garments.part("cloth", "silk", bears_handling="unknown")
    test = {"test": "tensile-yarn", "part": "cloth", "reading": {"value": 10, "unit": "N/cm"}}
    case = garments.on_figure(
        adviser.knowledge, [cloth], girths_cm=garments.DRESS, size={"weight_g": 1000}, tests=[test]
    )
    figure = work(case).figure

    assert figure is not None
    assert figure.helps[0].loads[0].cloth.limit == (2, 2)
    assert figure.helps[0].state == "holds"


def test_every_line_says_what_it_rests_on(work: Work, five: dict[str, Case]) -> None:
    for case in five.values():
        assert all(row.basis for row in work(case).rows)


def test_a_mount_and_a_support_have_rows_and_other_work_has_none(
    adviser: Adviser, five: dict[str, Case]
) -> None:
    case = five["corded"]

    def rows(technique: str) -> list[str]:
        found = bench_rows(case, adviser.catalogue, f"technique:{technique}", ["skirt"])
        return [row.what for row in found]

    assert "Underskirt" in rows("padded-figure")
    assert rows("waist-tape")[-1] == "What carries it"
    assert rows("underskirt") == ["Underskirt", "Its size"]
    assert rows("stitched-patch")[0] == "Patch"
    assert rows("low-suction-vacuum") == []
