"""A seam under load: what each stitch carries, how the load crowds at it, and how the cloth gives.

What a seam holds is estimated as stitches on a length x thread strength x a factor of 1.5 for the
loop of a lockstitch (claim:DP-012, read; made for new cloth and machine stitches). Load crowds at a
stitch, since only the yarns that it grips pull: the load there is that of the seam times the stitch
spacing over the width gripped.
"""

from __future__ import annotations

from dataclasses import dataclass

from leastwise.graph.physics.bounds import Range, within, within_range

__all__ = ["AtStitch", "at_stitch", "seam_strength", "stretch"]

LOCKSTITCH = 1.5


def seam_strength(stitches: float, thread_strength: float, loop: float = LOCKSTITCH) -> float:
    """Return what a seam holds on a unit of length, stitches x strength x loop factor.

    Units go through: stitches on an inch and pounds give pounds an inch, on a cm and N give N/cm.

    >>> seam_strength(10, 4.0)
    60.0
    """
    within("stitches", stitches, 0, 1000)
    within("thread_strength", thread_strength, 0, 1e4)
    return stitches * thread_strength * within("loop", loop, 0.1, 3)


@dataclass(frozen=True, slots=True)
class AtStitch:
    """What one stitch carries (N), and the load on the yarns beside it (N/cm), as ranges."""

    each_n: Range
    beside_n_cm: Range
    crowding: Range


def at_stitch(load_n_cm: Range, spacing_mm: Range, gripped_mm: Range) -> AtStitch:
    """Return the load of one stitch, q s, and beside it, q s/g, for a spacing and a gripped width.

    Where the gripped widths meet (g >= s) the load is even, and nothing crowds.

    >>> found = at_stitch(Range(0.5, 0.5), Range(4, 4), Range(1, 1))
    >>> found.each_n.high, found.beside_n_cm.high, found.crowding.high
    (0.2, 2.0, 4.0)
    """
    within_range("load_n_cm", load_n_cm, 0, 1e4)
    within_range("spacing_mm", spacing_mm, 0.1, 200)
    within_range("gripped_mm", gripped_mm, 0.05, 200)
    crowding = Range(
        max(1.0, spacing_mm.low / gripped_mm.high), max(1.0, spacing_mm.high / gripped_mm.low)
    )
    return AtStitch(
        each_n=Range(load_n_cm.low * spacing_mm.low / 10, load_n_cm.high * spacing_mm.high / 10),
        beside_n_cm=Range(load_n_cm.low * crowding.low, load_n_cm.high * crowding.high),
        crowding=crowding,
    )


def stretch(load_n_cm: Range, stiffness_n_cm: Range) -> Range:
    """Return how much cloth stretches under a load, q/E, as a share; E in N/cm for a stretch of 1.

    >>> stretch(Range(0.1, 0.5), Range(50, 250))
    Range(low=0.0004, high=0.01)
    """
    within_range("stiffness_n_cm", stiffness_n_cm, 0.1, 1e6)
    return Range(load_n_cm.low / stiffness_n_cm.high, load_n_cm.high / stiffness_n_cm.low)
