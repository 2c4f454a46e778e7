"""What a load does at a seam, what beads add to it, and what holds a waist tape by friction.

Figures are bands of practice or recalled (seed_data/display.ttl); nothing of this makes a cloth
sound that nobody has tried.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping

from leastwise.graph.case.record import Case, Part
from leastwise.graph.display.book import Book
from leastwise.graph.display.cloth import span
from leastwise.graph.display.values import Load, Row
from leastwise.graph.physics.bounds import Range
from leastwise.graph.physics.load import GRAVITY_M_S2, waist_tape
from leastwise.graph.physics.seam import at_stitch, stretch

__all__ = ["bead_rows", "grip_row", "seam_rows"]

THROUGH = ("sewn-through", "threaded-through")
TAPE_CM = 2.5
#: From this multiple of the cloth's own weight on, what is sewn on governs (practice).
HEAVY = 1.0


def seam_rows(loads: tuple[Load, ...], book: Book) -> Iterator[Row]:
    """Yield what each seam's stitches carry, and how far the cloth beside them gives."""
    spacing, grip = book.figure("seam-spacing"), book.figure("seam-grip")
    stiff = book.figure("cloth-stiffness")
    for load in loads:
        if load.per_cm is None or load.per_cm[1] <= 0:
            continue
        pull = Range(*load.per_cm)
        found = at_stitch(pull, spacing.range, grip.range)
        gives = stretch(found.beside_n_cm, stiff.range)
        value = (
            f"{_span(found.each_n)} N a stitch; {_span(found.beside_n_cm)} N/cm on the yarns "
            f"beside it; sound cloth stretches by {_span(gives, 100)} %"
        )
        basis = (
            f"computed; stitches {_span(spacing.range)} mm apart grip {_span(grip.range)} mm "
            "(practice); stiffness recalled"
        )
        yield Row(f"At the stitches, {load.where[:1].lower()}{load.where[1:]}", value, basis,
                  ("claim:DP-012",))  # fmt: skip


def bead_rows(case: Case) -> Iterator[Row]:
    """Yield what is sewn on beside the weight of the cloth that carries it."""
    parts = {part.id: part for part in case.parts}
    for contact in case.contacts:
        if contact.kind not in THROUGH:
            continue
        ends = [parts[p] for p in contact.between if p in parts]
        sewn = [p for p in ends if p.fibre == "none" or not list(p.under("fibre"))]
        cloth = [p for p in ends if p not in sewn]
        if len(sewn) == len(cloth) == 1:
            yield from _beads(sewn[0], cloth[0])


def _beads(sewn: Part, cloth: Part) -> Iterator[Row]:
    grams, area, own = sewn.size.weight_g, cloth.size.area, cloth.size.weight_per_area
    if isinstance(grams, str):
        return
    if not area:
        yield Row(f"Weight of the {sewn.name}", f"{grams:g} g", "recorded")
        return
    each = grams / area * 1e4
    value = f"{grams:g} g on {area:.0f} cm² of the {cloth.name}, {each:.0f} g/m²"
    if own:
        value += f", {each / own:.2g} times the weight of the cloth itself"
    if own and each / own >= HEAVY:
        value += (
            ": they pull the cloth down between the stitches; carry them on a net behind, and "
            "never let it hang by the cloth alone"
        )
    yield Row(f"Weight of the {sewn.name}", value, "computed from the sizes recorded")


def grip_row(
    measures: Mapping[str, float], weight_n: float | None, share: Range, book: Book
) -> Iterator[Row]:
    """Yield how tight a waist tape would have to be if friction alone held it up."""
    waist = measures.get("waist")
    if weight_n is None or waist is None or share.high <= 0:
        return
    friction = book.figure("tape-friction").range
    found = waist_tape(weight_n / GRAVITY_M_S2, share, friction, waist, TAPE_CM)
    pull, press = found.tape_tension_n, found.tape_pressure_pa
    value = (
        f"{span((pull.low, pull.high))} N of tension if friction alone held it "
        f"({span((press.low / 1000, press.high / 1000))} kPa under {TAPE_CM:g} cm); on "
        "padded hips it rests"
    )
    basis = f"computed; friction {_span(friction)} (practice)"
    yield Row("Waist tape", value, basis, ("claim:S-181", "claim:DP-011"))


def _span(band: Range, times: float = 1.0) -> str:
    return span((band.low * times, band.high * times))
