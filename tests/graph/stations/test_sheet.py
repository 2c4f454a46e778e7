"""Humidification worked out: sections, stations, packs, neighbours; times as the physics says."""

from __future__ import annotations

from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from leastwise.graph import Adviser, Case
from leastwise.graph.case.parts import Part
from leastwise.graph.case.reading import case_from_data
from leastwise.graph.case.record import Tri
from leastwise.graph.physics.membranes import film_resistance_s_m
from leastwise.graph.setups.answers import answer_moisture
from leastwise.graph.setups.dose import dose_scale
from leastwise.graph.stations.sections import sections_of, stations_of, vapour_harms
from leastwise.graph.stations.sheet import HumidificationSheet, humidification_sheet

TIERS = ("upper", "middle", "lower")
PACK = "crush/membrane-pack-suspended"


def tier(name: str, **more: Any) -> dict[str, Any]:
    return {
        "id": name,
        "name": f"{name} tier",
        "fibre": [{"is": "silk", "identified": "certain"}],
        "colour": "none",
        "finish": "none",
        "structure": [{"is": "net", "identified": "certain"},
                      {"is": "gathers", "identified": "certain"}],
        "components": "none",
        "lies_flat": "no",
        "reverse_reachable": "yes",
        "bears_handling": "yes",
        "size": {"length_cm": 22, "width_cm": 240, "weight_g": 16},
        **more,
    }  # fmt: skip


def skirt(adviser: Adviser, *, sewn: bool, **more: Any) -> Case:
    """An invented layered skirt of three gathered net tiers, with sequins on the upper one."""
    contacts = [{"between": ["sequins", "upper"], "kind": "sewn-through",
                 "barrier": "possible", "parting": "impossible"}]  # fmt: skip
    if sewn:
        contacts += [
            {"between": list(pair), "kind": "stitched", "barrier": "possible",
             "parting": "impossible"}
            for pair in (TIERS[:2], TIERS[1:])
        ]  # fmt: skip
    data = {
        "leastwise_case": 2,
        "id": "layered-skirt",
        "title": "A layered skirt (invented)",
        "demo": True,
        "object": {"name": "layered skirt", "kind": "costume", "form": "garment"},
        "parts": [
            *(tier(name) for name in TIERS),
            {"id": "sequins", "name": "sequins",
             "components": [{"is": "gelatin sequins", "identified": "certain"}]},
        ],
        "contacts": contacts,
        "damages": [{"id": "crush", "damage": "crease", "parts": list(TIERS),
                     "extent": {"value": 60, "unit": "percent"}, "evidence": "no"}],
        "aim": {"purpose": "display", "mounting": "on-figure"},
        "significance": {"statement": "x", "curator_agrees": "yes"},
    }  # fmt: skip
    return case_from_data({**data, **more}, adviser.knowledge)


@pytest.fixture(scope="module")
def sewn(adviser: Adviser) -> HumidificationSheet:
    case = skirt(adviser, sewn=True)
    made = humidification_sheet(adviser, case, adviser.weigh(case), PACK)
    assert made is not None
    return made


def test_tiers_that_are_sewn_together_are_done_one_by_one(sewn: HumidificationSheet) -> None:
    assert [one.parts for one in sewn.sections] == [("lower",), ("middle",), ("upper",)]
    assert not any(one.together for one in sewn.sections)
    assert all("alone with a film between" in one.because for one in sewn.sections)


def test_the_same_tiers_loose_are_a_group_but_for_the_one_with_sequins(adviser: Adviser) -> None:
    case = skirt(adviser, sewn=False)

    found = sections_of(case, TIERS, adviser.catalogue)

    assert {frozenset(one.parts) for one in found} == {frozenset(TIERS)}
    assert found[0].together


def test_neighbours_are_over_what_they_bear_without_a_film_and_within_it_behind_one(
    sewn: HumidificationSheet,
) -> None:
    beside = {n.part: n for one in sewn.sections if one.parts == ("upper",) for n in one.neighbours}

    assert set(beside) == {"sequins", "middle"}
    for one in beside.values():
        assert (one.bare, one.behind) == (Tri.NO, Tri.YES), one
    assert "slit to each thread" in beside["sequins"].film


def test_times_are_those_of_moisture_for_the_same_pack(
    sewn: HumidificationSheet, adviser: Adviser
) -> None:
    for one in sewn.sections:
        assert one.stack is not None
        found = answer_moisture(one.stack, scale=dose_scale(adviser.knowledge))
        band = found.band.time_to_target
        assert one.to_target_s == (band.low_s, band.high_s)
        assert band.low_s is not None
        stop = next(t for t in one.times if t.what == "Stop at the latest")
        assert stop.basis == "computed"


def test_layers_bear_the_names_of_the_parts_and_the_film_is_laid(
    sewn: HumidificationSheet,
) -> None:
    for one in sewn.sections:
        assert one.stack is not None
        names = [layer.called for layer in one.stack.layers]
        assert one.names[0] in names
        assert one.stack.treat.layer == one.names[0]
        film = "film slit round the threads" if one.parts == ("upper",) else "film"
        assert names.index(one.names[0]) < names.index(film) < names.index(one.neighbours[0].name)


def test_what_is_slit_round_threads_holds_less_than_a_whole_film(
    sewn: HumidificationSheet,
) -> None:
    found = {layer.called: layer for one in sewn.sections if one.stack
             for layer in one.stack.layers if layer.role == "barrier"}  # fmt: skip
    slit = found["film slit round the threads"].resistance_s_m

    assert slit is not None
    whole = film_resistance_s_m("LDPE", 50.0)
    assert 0 < slit.low < slit.high < whole.low
    # 1 % open at 34.8 s/m for a hole of 1 mm: 3480 s/m, with the film beside it a little less.
    assert 3000 < slit.low < 3480


def test_drying_weights_and_holes_are_told(sewn: HumidificationSheet) -> None:
    told = {one.parts[0]: " ".join(one.physics) for one in sewn.sections}

    assert all("Drying to 60% RH" in words for words in told.values())
    assert all("The pack weighs" in words for words in told.values())  # nothing here lies flat
    assert "over a hole of 1 mm" in told["upper"]
    assert "hole" not in told["middle"]
    assert all("Gentler is a blotter" in words for words in told.values())  # net of 30 g/m2
    assert {row.what for row in sewn.amounts} >= {"Dry blotter", "Water for it"}


def test_a_hung_pack_gapes_at_its_upper_side_and_dries_by_it(sewn: HumidificationSheet) -> None:
    stack = sewn.sections[0].stack
    assert stack is not None
    # 5 mm on one side of 20 cm leaks as 1 mm all round 20 by 30 cm.
    assert stack.patch.slit_mm == pytest.approx(1.0)
    damp = []
    for slit in (0.0, 1.0, 20.0):
        patch = stack.patch.model_copy(update={"slit_mm": slit})
        band = answer_moisture(stack.model_copy(update={"patch": patch})).band
        damp.append(band.treated_humidity.middle[-1])
    assert damp[0] > damp[1] > damp[2]


def test_gathered_tiers_bear_no_weights(sewn: HumidificationSheet) -> None:
    assert all("no weights" in one.reshaping for one in sewn.sections)


def test_what_is_loose_and_what_is_open_come_before_the_first_station(adviser: Adviser) -> None:
    loose = [
        {"id": "crush", "damage": "crease", "parts": list(TIERS), "evidence": "no"},
        {"id": "loose", "damage": "loose-attachment", "parts": ["sequins"], "evidence": "no"},
    ]
    case = skirt(adviser, sewn=True, damages=loose)
    sheet = humidification_sheet(adviser, case, adviser.weigh(case), PACK)

    assert sheet is not None
    assert any(line.startswith("Secure what is loose on the sequins") for line in sheet.first)
    assert [s.number for one in sheet.sections for s in one.stations] == [9, 9, 9]


def test_what_was_tested_stands_before_the_first_station_with_its_result(adviser: Adviser) -> None:
    """Tested, open, and what to do when the first station goes wrong, each in its line."""
    colour = {"test": "test:colourfastness-vapour", "part": "upper", "result": "good"}
    case = skirt(adviser, sewn=True, tests=[colour])
    sheets = [
        humidification_sheet(adviser, one, adviser.weigh(one), PACK)
        for one in (case, skirt(adviser, sewn=True))
    ]

    assert all(sheets)
    tested, untested = (sheet.first for sheet in sheets if sheet)
    assert tested[0] == "Tested so far: colourfastness to vapour on the upper tier: good."
    assert "nothing here or beside it" in untested[0]
    assert all("first station goes wrong" in first[-1] for first in (tested, untested))


def test_a_colour_that_nobody_tested_is_no_colour_that_bears_vapour(adviser: Adviser) -> None:
    data = skirt(adviser, sewn=True).model_dump(mode="json")
    data["parts"].append(
        {"id": "lining", "name": "lining",
         "colour": [{"is": "dye-unidentified", "identified": "unknown"}],
         "fibre": [{"is": "cotton", "identified": "certain"}]}
    )  # fmt: skip
    data["contacts"].append({"between": ["lower", "lining"], "kind": "stitched"})
    case = case_from_data(data, adviser.knowledge)

    sheet = humidification_sheet(adviser, case, adviser.weigh(case), PACK)
    assert sheet is not None
    found = next(n for one in sheet.sections for n in one.neighbours if n.part == "lining")

    assert sheet.sections[-1].parts != ("middle",)  # the middle tier touches tiers alone
    assert sheet.sections[0].parts == ("middle",)
    assert found.bare is not Tri.YES
    assert "look first" in found.film


def test_without_fibre_data_practice_stands_and_it_says_so(adviser: Adviser) -> None:
    parts = [
        tier("upper", fibre=[{"is": "fibre-unidentified", "identified": "unknown"}], size={}),
        *(tier(name) for name in TIERS[1:]),
    ]
    damage = {"id": "crush", "damage": "crease", "parts": ["upper"], "evidence": "no"}
    case = skirt(adviser, sewn=True, parts=parts, contacts=[], damages=[damage])

    sheet = humidification_sheet(adviser, case, adviser.weigh(case), PACK)
    assert sheet is not None
    (one,) = sheet.sections

    assert one.stack is None
    assert len(one.missing) == 3
    assert one.missing[2].startswith("No contact of the upper tier is recorded")
    assert all(t.basis != "computed" for t in one.times)


def test_other_techniques_have_no_stations(adviser: Adviser) -> None:
    case = skirt(adviser, sewn=True)
    answer = adviser.weigh(case)

    assert humidification_sheet(adviser, case, answer, "crush/leave-and-monitor") is None


@given(st.floats(10, 1e5), st.floats(1, 50), st.floats(0.01, 1))
def test_more_to_do_never_takes_fewer_stations(area: float, times: float, share: float) -> None:
    def number(area_cm2: float, of: float) -> int:
        part = Part.model_validate({"id": "p", "name": "p", "size": {"area_cm2": area_cm2}})
        return stations_of(part, of).number

    assert 1 <= number(area, share) <= number(area * times, share)
    assert number(area, share) <= number(area, 1.0)


def test_only_what_lays_a_pack_at_a_place_has_stations_and_only_a_membrane_is_computed(
    adviser: Adviser,
) -> None:
    case = skirt(adviser, sewn=True)
    answer = adviser.weigh(case)

    made = {o.technique: humidification_sheet(adviser, case, answer, o.id)
            for o in answer.options() if o.id.startswith("crush/")}  # fmt: skip

    assert made["technique:steam"] is made["technique:humidity-chamber"] is None
    blotter = made["technique:damp-blotter"]
    assert blotter is not None
    for one in blotter.sections:
        assert one.stack is None
        assert any("the model follows vapour" in line for line in one.missing)
        # 50 mm2/s at most: the square root of 50 x 60 s is 55 mm.
        assert any("5 to 55 mm in the first minute" in line for line in one.physics)
        assert {(n.bare, n.behind) for n in one.neighbours} == {(Tri.UNKNOWN, Tri.UNKNOWN)}


def test_a_need_that_vapour_answers_has_no_pack_and_is_no_fault(adviser: Adviser) -> None:
    case = skirt(adviser, sewn=True, needs=[{"need": "opened-out", "parts": ["upper"], "id": "o"}])
    answer = adviser.weigh(case)
    vapour = [o.id for o in answer.options() if o.technique == "technique:unfolding"]

    assert vapour
    assert humidification_sheet(adviser, case, answer, vapour[0]) is None


def test_what_nobody_recorded_is_no_lying_free(adviser: Adviser) -> None:
    silent = skirt(adviser, sewn=False)
    apart = [{"between": list(pair), "kind": "apart"}
             for pair in (TIERS[:2], TIERS[1:], (TIERS[0], TIERS[2]))]  # fmt: skip
    looked = skirt(adviser, sewn=False, contacts=apart)

    told = [sections_of(case, TIERS, adviser.catalogue)[0].because for case in (silent, looked)]

    assert "no contact between them is recorded" in told[0]
    assert told[1].startswith("Begun here")
    assert "Lie free of one another" in told[1]


def test_what_lies_near_counts_since_vapour_reaches_it(adviser: Adviser) -> None:
    near = [{"between": ["sequins", "upper"], "kind": "near"}]
    case = skirt(adviser, sewn=False, contacts=near)

    sheet = humidification_sheet(adviser, case, adviser.weigh(case), PACK)

    assert sheet is not None
    assert "sequins" in {n.part for one in sheet.sections for n in one.neighbours}


def test_metal_that_corrodes_bears_less_than_sound_metal(adviser: Adviser) -> None:
    braid = {"id": "braid", "name": "braid",
             "components": [{"is": "copper-thread", "identified": "certain"}]}  # fmt: skip
    crush = {"id": "crush", "damage": "crease", "parts": ["upper"], "evidence": "no"}
    green = {"id": "green", "damage": "metal-corrosion", "parts": ["braid"], "evidence": "no"}
    contacts = [{"between": ["braid", "upper"], "kind": "stitched", "barrier": "possible"}]
    sound, corroding = (
        skirt(adviser, sewn=False, parts=[tier("upper"), braid], contacts=contacts, damages=found)
        for found in ([crush], [crush, green])
    )

    one, other = (vapour_harms(case, "braid", adviser.catalogue) for case in (sound, corroding))

    assert max(other) > max(one)
    # claim:G-copper-thread-V-metal-corrosion grades it 3 (practice)
    assert max(other) == 3
