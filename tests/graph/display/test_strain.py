"""Seams, beads and tapes of a display: what a load does, by hand beside what is worked out."""

from __future__ import annotations

import math

from leastwise.graph.case.record import Contact
from leastwise.graph.display.book import Book
from leastwise.graph.display.strain import bead_rows, grip_row
from leastwise.graph.display.values import HungPlan
from leastwise.graph.display.worked import display_for, work_out
from leastwise.graph.physics.bounds import Range
from leastwise.graph.weighing.advise import Adviser
from tests.graph.display import garments

CLOTH = {"length_cm": 100, "width_cm": 100}


def test_beads_are_told_against_the_cloth_that_carries_them(adviser: Adviser) -> None:
    beads = {"id": "beads", "name": "beads", "fibre": "none", "size": {"weight_g": 150},
             "components": [{"is": "beads", "identified": "certain"}]}  # fmt: skip
    cloth = garments.part("dress of georgette", "silk", size={**CLOTH, "weight_per_area_g_m2": 60})
    sewn = {"between": ["beads", "dress"], "kind": "sewn-through"}
    case = garments.on_figure(adviser.knowledge, [cloth, beads])
    with_beads = case.model_copy(update={"contacts": [Contact.model_validate(sewn)]})

    (row,) = bead_rows(with_beads)

    # 150 g on 1 m2 of cloth of 60 g/m2: 2.5 times its own weight.
    assert "150 g/m²" in row.value
    assert "2.5 times" in row.value
    assert "never let it hang by the cloth alone" in row.value
    assert list(bead_rows(case)) == []


def test_a_tape_that_held_by_friction_alone_would_be_tight(adviser: Adviser) -> None:
    book = Book(adviser.knowledge)

    (row,) = grip_row({"waist": 62.0}, 30.0, Range(0.8, 0.8), book)

    # T = s W / (2 pi mu): 24 N at 0.5 to 0.3
    low, high = 24 / (2 * math.pi * 0.5), 24 / (2 * math.pi * 0.3)
    assert f"{low:.2g} to {high:.2g} N of tension" in row.value
    assert list(grip_row({}, 30.0, Range(0.8, 0.8), book)) == []
    assert list(grip_row({"waist": 62.0}, None, Range(0.8, 0.8), book)) == []


def test_the_seams_of_the_garments_are_worked_out_where_their_loads_are(adviser: Adviser) -> None:
    five = garments.five(adviser.knowledge)
    rows = {name: work_out(case, adviser.catalogue).rows for name, case in five.items()}

    corded = [row for row in rows["corded"] if row.what.startswith("At the stitches")]
    assert corded
    for row in corded:
        assert "N a stitch" in row.value
    for name, case in five.items():
        figure = work_out(case, adviser.catalogue).figure
        known = figure is not None and any(one.per_cm for h in figure.helps for one in h.loads)
        told = any(row.what.startswith("At the stitches") for row in rows[name])
        assert told == known, name


HEADINGS = ("technique:hook-and-loop-heading", "technique:sleeve-and-rod")


def hanging_on(adviser: Adviser, technique: str, grams: float) -> HungPlan:
    cloth = garments.part("woven hanging", "wool", **garments.heavy(900))
    size = {"length_cm": 300, "width_cm": 210, "weight_g": grams}
    case = garments.record(adviser.knowledge, [cloth], {"mounting": "hung"}, size=size)
    worked = display_for(case, adviser.catalogue, technique)
    assert worked is not None
    assert worked.hung is not None
    return worked.hung


def test_a_step_is_worked_out_for_the_heading_that_it_makes(adviser: Adviser) -> None:
    # 3 kg on 210 cm: 0.14 to 0.21 N/cm, which a sleeve (0.3 to 0.6) and a band carry.
    band, sleeve = (hanging_on(adviser, one, 3000) for one in HEADINGS)

    assert "hook-and-loop band" in band.mend
    assert "sleeve" in sleeve.mend


def test_a_heading_that_does_not_surely_hold_is_named_beside_one_that_does(
    adviser: Adviser,
) -> None:
    # 5.7 kg: 0.27 to 0.4 N/cm, of which the worst is over the least that a sleeve carries.
    sleeve = hanging_on(adviser, HEADINGS[1], 5700)

    assert sleeve.mend.startswith("Cotton sleeve with a sealed rod: in doubt. Hangs on a hook")


def test_a_seam_across_a_hanging_carries_at_most_what_the_top_edge_does(adviser: Adviser) -> None:
    """Below the heading hangs the whole weight: the yarns beside the stitches get all of it."""
    cloth = garments.part("wool hanging", "wool", **garments.heavy(600))
    size = {"width_cm": 240, "length_cm": 300, "weight_g": 4400}
    worked = work_out(garments.hanging(adviser.knowledge, cloth, **size), adviser.catalogue)
    (seam,) = [row for row in worked.rows if "seam across" in row.what]

    assert seam.value.endswith("%")
    assert "N a stitch" in seam.value
    assert seam.claims == ("claim:DP-012",)
