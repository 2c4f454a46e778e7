"""A display sheet carries light, case, handling and packing beside its mount, or says they lack."""

from __future__ import annotations

from leastwise.graph import Adviser
from leastwise.graph.case.demo import read_demo
from leastwise.graph.display.worked import carries_object
from leastwise.graph.planning.bench_sheet import bench_sheet


def test_the_sheet_of_a_mount_carries_light_case_handling_and_packing(adviser: Adviser) -> None:
    case = read_demo("furnishing-panel", adviser.knowledge)
    answer = adviser.weigh(case)
    sheet = bench_sheet(adviser, case, answer, "need-carried-slanted/slant-board")
    rows = {row.what: row for row in (*sheet.worked, *sheet.amounts)}

    assert "Slope, smooth cover" in rows
    assert rows["Light, illuminance"].value == "at most 50 lx; planned 50 lx: kept"
    assert "days a year" in rows["Light, light dose a year"].basis
    assert rows["Case"].value.startswith("case, barrier or distance from visitors")
    assert rows["Handling"].value
    # nothing in the record asks for a journey, and that is no packing worked out
    assert rows["Packing"].value == "not worked out"
    assert "packed for the journey" in rows["Packing"].basis


def test_what_is_no_mount_has_none_of_it(adviser: Adviser) -> None:
    case = read_demo("furnishing-panel", adviser.knowledge)
    answer = adviser.weigh(case)
    other = next(
        o.id
        for o in answer.options()
        if o.verdict != "defeated"
        and not o.is_baseline
        and not carries_object(adviser.catalogue, o.technique)
    )
    sheet = bench_sheet(adviser, case, answer, other)

    assert {"Case", "Handling", "Packing"}.isdisjoint(row.what for row in sheet.amounts)
