"""A sheet with holes for what is sewn through it, and a pack that is open on one side."""

from __future__ import annotations

import math

from leastwise.graph.physics.air import diffusion_coefficient_m2_s
from leastwise.graph.physics.bounds import PhysicsInputError, within
from leastwise.graph.physics.packs import PackEdge, edge_leak_s_m

__all__ = ["crowded_hole_s_m", "pierced_sheet_s_m", "slit_of_open_side_mm"]


def crowded_hole_s_m(diameter_mm: float, depth_mm: float, temperature_c: float = 20.0) -> float:
    """Return the resistance of still air in a round hole with its two mouths, per area of hole.

    (L + pi d/4)/D: the depth L in line with the crowding at both mouths, pi d/8 each, which is
    Stefan's disc (flow D d dc through a thin hole), used by Brown and Escombe for stomata; recalled
    (memory), checked in its limits by the tests. In s/m.

    >>> round(crowded_hole_s_m(1.0, 0.05), 1)
    34.8
    """
    within("diameter_mm", diameter_mm, 0.01, 200)
    within("depth_mm", depth_mm, 0, 50)
    way_m = (depth_mm + math.pi * diameter_mm / 4) / 1000
    return way_m / diffusion_coefficient_m2_s(temperature_c)


def pierced_sheet_s_m(
    sheet_s_m: float,
    open_share: float,
    diameter_mm: float = 1.0,
    depth_mm: float = 0.05,
    temperature_c: float = 20.0,
) -> float:
    """Return the resistance of a sheet with holes: sheet and crowded holes side by side, in s/m.

    The holes must lie some diameters apart, else they crowd each other less and let more through.
    What a thread or the shank of a bead fills of a hole isn't counted, so the true resistance is
    higher; liquid water isn't counted either.

    >>> round(pierced_sheet_s_m(400_000, 0.0)), round(pierced_sheet_s_m(400_000, 0.001))
    (400000, 32036)
    """
    sheet = within("sheet_s_m", sheet_s_m, 0.1, 1e9)
    share = within("open_share", open_share, 0, 1)
    if share == 0:
        return sheet
    # A hole is never tighter than the sheet that it replaces.
    hole = min(sheet, crowded_hole_s_m(diameter_mm, depth_mm, temperature_c))
    return 1 / ((1 - share) / sheet + share / hole)


def slit_of_open_side_mm(edge: PackEdge, side_cm: float) -> float:
    """Return the slit all round that leaks as much as the edge's slit on one side alone, in mm.

    A slit leaks by its length times its height (`edge_leak_s_m`), so sides add up.

    Raises:
        PhysicsInputError: a side longer than the outline.

    >>> slit_of_open_side_mm(PackEdge(20, 15, 7.0), 20)
    2.0

    """
    outline = 2 * (edge.width_cm + edge.height_cm)
    if not 0 < side_cm <= outline:
        raise PhysicsInputError("side_cm", side_cm, f"more than 0 and at most {outline:g}")
    edge_leak_s_m(edge)  # refuses what can't be a slit
    return edge.slit_mm * side_cm / outline
