"""A textile hung by its top edge: its heading, its load, and the stitches that hold it.

Load q = W / width, up to an uneven share of it at the worst places. Stitches on a metre:
n = q S / (F c), with the thread's strength F = tenacity x tex, c the part of it that a stitch
keeps, and S a safety factor (practice); thread strengths claim:DP-004, claim:DP-005 (read).
"""

from __future__ import annotations

import math

from leastwise.graph.case.parts import Size
from leastwise.graph.case.record import Case
from leastwise.graph.display.book import Book, HeadingKind
from leastwise.graph.display.cloth import Cloths, load_on, state_of
from leastwise.graph.display.values import HOLDS, Cloth, Heading, HungPlan, Load, worst
from leastwise.graph.physics.bounds import Range, within
from leastwise.graph.physics.load import GRAVITY_M_S2
from leastwise.graph.sentences import sentence_case

__all__ = ["drop_of", "hung", "stitches_per_metre", "thread_strength_n"]

CN_IN_N = 100.0
CM_IN_M = 100.0
MOST_ROWS = 40


def thread_strength_n(tenacity_cn_tex: float, tex: float) -> float:
    """Return the breaking strength of a thread in N, tenacity x tex.

    >>> thread_strength_n(25, 20)
    5.0
    """
    return tenacity_cn_tex * tex / CN_IN_N


def stitches_per_metre(
    load_n_cm: float, strength_n: float, kept: float, safety: float, least: float = 0.0
) -> int:
    """Return how many stitches a metre of heading needs, q S / (F c), at least *least*.

    >>> stitches_per_metre(0.5, 5.0, 0.5, 10, 50)
    200
    """
    strong = within("strength_n", strength_n, 1e-3, 1e4) * within("kept", kept, 0.01, 1)
    needed = load_n_cm * CM_IN_M * safety / strong
    return max(math.ceil(needed - 1e-9), math.ceil(least))


def hung(
    case: Case,
    book: Book,
    weight_n: float,
    thread: tuple[str, float, tuple[str, ...]] | None,
    technique: str = "",
) -> HungPlan | None:
    """Return a hanging worked out; None where its width is not recorded.

    *thread* is the label, strength in N and claims of the thread that the heading is sewn with;
    the heading that *technique* makes goes before the others where it holds.
    """
    size = case.object.size
    if isinstance(size.width_cm, str):
        return None
    width = float(size.width_cm)
    drop = drop_of(size)
    uneven = book.figure("uneven").range
    cloth = Cloths(case, book).at("heading")
    force = Range(weight_n * uneven.low, weight_n * uneven.high)
    load = load_on("Top edge", force, width, cloth)
    kinds = book.headings()
    asked = {kind.key for kind in kinds if technique in kind.techniques}
    headings = tuple(_heading(kind, load, cloth, drop) for kind in kinds)
    order = sorted(headings, key=lambda h: h.key not in asked)
    chosen = next((h for h in order if h.state == HOLDS), None)
    refused = [h for h in headings if h.key in asked and h.state != HOLDS]
    count, basis = _stitches(book, load, thread)
    return HungPlan(
        width_cm=width,
        drop_cm=drop,
        weight_n=weight_n,
        load=load,
        headings=headings,
        chosen=chosen.key if chosen else "",
        stitches_per_m=count,
        stitch_basis=basis,
        mend=_not_that(refused) + _mend(load, headings, chosen),
    )


def _heading(kind: HeadingKind, load: Load, cloth: Cloth, drop: float | None) -> Heading:
    """Return what a heading comes to; with rows, the cloth carries only what hangs between two."""
    per_cm = load.per_cm or (0.0, 0.0)
    high = per_cm[1]
    own = state_of(per_cm, (kind.limit.low, kind.limit.high))
    rows, spacing, borne = 0, None, load
    if kind.needs_rows and drop and cloth.limit and cloth.limit[0] > 0:
        rows = math.ceil(high / cloth.limit[0] - 1e-9)
        rows = max(1, rows)
        spacing = drop / rows
        share = Range(load.force_n[0] / rows, load.force_n[1] / rows)
        borne = load_on("Between two rows", share, load.length_cm, cloth)
    state = worst([own, borne.state]) if rows <= MOST_ROWS else "too much"
    carries = f"{kind.label} carries {kind.limit.low:g} to {kind.limit.high:g} N/cm: {own}"
    more = f"; {rows} rows, one every {spacing:.0f} cm" if spacing else ""
    return Heading(
        kind.key, kind.label, (kind.limit.low, kind.limit.high), borne, rows, spacing, state,
        f"{carries}{more}. The cloth: {borne.says}",
    )  # fmt: skip


def _stitches(
    book: Book, load: Load, thread: tuple[str, float, tuple[str, ...]] | None
) -> tuple[int | None, str]:
    if thread is None or load.per_cm is None:
        return None, "unknown: no thread with a known strength"
    safety, loop = book.figure("stitch-safety").range, book.figure("stitch-loop").range
    least = book.figure("stitches-least").range.low
    label, strength, _ = thread
    count = stitches_per_metre(load.per_cm[1], strength, loop.low, safety.high, least)
    basis = (
        f"{label} of {strength:.1f} N, of which a stitch keeps {loop.low:g}; {safety.high:g} "
        f"times the load (practice); at least {least:g}"
    )
    return count, basis


def _not_that(refused: list[Heading]) -> str:
    """Say what the heading that was asked for comes to where it does not surely hold."""
    return "".join(f"{sentence_case(h.label)}: {h.state}. " for h in refused[:1])


def _mend(load: Load, headings: tuple[Heading, ...], chosen: Heading | None) -> str:
    if chosen is not None and chosen.rows:
        return (
            f"By its top edge alone the load is {load.state}; it hangs on a {chosen.label}: "
            f"{chosen.rows} rows, each held by the lining and not by the row above."
        )
    if chosen is not None:
        return f"Hangs on a {chosen.label}."
    if load.cloth.limit is None:
        return "Whether it holds is unknown: a handling trial first; till then flat or on a slope."
    if all(one.state == "too much" for one in headings):
        return "Too much for every heading: lying flat, or on a slope that carries all of its back."
    return "In doubt with every heading: on a slope that carries all of its back, or lying flat."


def drop_of(size: Size) -> float | None:
    """Return how far a hanging reaches down, in cm: its length, or else its height."""
    ends = (size.length_cm, size.height_cm)
    return next((float(end) for end in ends if not isinstance(end, str)), None)


def drop_weight_n(case: Case, width_cm: float, drop_cm: float | None) -> float | None:
    """Return the weight by area of the heaviest part, where nobody has weighed the whole."""
    densest = max(
        (w for p in case.parts if (w := p.size.weight_per_area) is not None), default=None
    )
    if densest is None or drop_cm is None:
        return None
    return densest / 1000 * width_cm * drop_cm / 1e4 * GRAVITY_M_S2
