"""The padded form of a figure: girths by ease, padding by height, and whether the garment closes.

Form girth = garment girth - ease; padding = (form girth - bare girth) / 2 pi, as if round. The
form has to stay smaller than the inside of the garment (claim:DP-001, read); how much smaller is
practice. Between the measures girths are taken as changing evenly with height.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import replace
from itertools import pairwise

from leastwise.graph.display.book import Book
from leastwise.graph.display.values import Level, Slice
from leastwise.graph.physics.bounds import Range

__all__ = ["closing_of", "form_girth", "levels_of", "padding", "slices_of"]

#: Measures round the body, from the top down.
ROUND = ("neck", "bust", "waist", "hip")
EACH_CM = 5.0
CLOSES, TIGHT, OPEN = "closes", "tight", "does not close"


def form_girth(garment_cm: float, ease: Range) -> Range:
    """Return the girth of the padded form, garment - ease, never below nothing.

    >>> form_girth(92, Range(2, 4))
    Range(low=88, high=90)
    """
    return Range(max(0.0, garment_cm - ease.high), max(0.0, garment_cm - ease.low))


def padding(form_cm: float, bare_cm: float) -> float:
    """Return the thickness of padding all round in cm; below nothing the figure is too large.

    >>> round(padding(88, 82), 2)
    0.95
    """
    return (form_cm - bare_cm) / (2 * math.pi)


def levels_of(
    measures: Mapping[str, float], bare: Mapping[str, float], book: Book, cloth: str
) -> tuple[Level, ...]:
    """Return the measures round the body that the record gives, with form and padding."""
    heights = _heights(measures, book)
    labels = {key: words[0] for key, words in book.names("lw:Measure").items()}
    found = []
    for key in ROUND:
        eased = book.ease(key, cloth)
        if key in measures and eased is not None:
            level = _level(key, measures[key], eased.range, bare.get(key))
            placed = replace(level, label=labels[key], below_nape_cm=heights.get(key))
            says = _says(placed.label, placed.garment_cm, placed.form_cm, placed.bare_cm)
            found.append(replace(placed, says=says))
    return tuple(found)


def _level(key: str, garment: float, ease: Range, bare: float | None) -> Level:
    form = form_girth(garment, ease)
    gap = garment - max(form.high, bare or 0.0)
    state = CLOSES if bare is None or bare <= form.high else TIGHT if bare < garment else OPEN
    thick = None
    if bare is not None and state == CLOSES:
        thick = (max(0.0, padding(form.low, bare)), padding(form.high, bare))
    return Level(
        key=key,
        label=key,
        below_nape_cm=None,
        garment_cm=garment,
        ease_cm=(ease.low, ease.high),
        form_cm=(form.low, form.high),
        bare_cm=bare,
        padding_cm=thick,
        gap_cm=gap,
        closing=state,
        says="",
    )


def _says(label: str, garment: float, form: tuple[float, float], bare: float | None) -> str:
    span = f"{label}: garment {garment:g} cm, form {form[0]:g} to {form[1]:g} cm"
    if bare is None or bare <= form[1]:
        return f"{span}."
    if bare < garment:
        return f"{span}; the bare figure has {bare:g} cm, which leaves too little ease."
    return f"{span}; the bare figure has {bare:g} cm and the garment cannot close on it."


def _heights(measures: Mapping[str, float], book: Book) -> dict[str, float]:
    """Return how far below the nape each measure lies; empty without a back length."""
    back = measures.get("back-length")
    if back is None:
        return {}
    bust, hip = (book.figure(key).range.middle for key in ("bust-height", "hip-depth"))
    return {"neck": 0.0, "bust": bust * back, "waist": back, "hip": back + hip}


def slices_of(levels: Sequence[Level], each_cm: float = EACH_CM) -> tuple[Slice, ...]:
    """Return the form every few centimetres from the highest measure to the lowest."""
    placed = [one for one in levels if one.below_nape_cm is not None]
    found: list[Slice] = []
    for upper, lower in pairwise(placed):
        top, foot = upper.below_nape_cm or 0.0, lower.below_nape_cm or 0.0
        for n in range(max(1, math.ceil((foot - top) / each_cm))):
            found.append(_slice(upper, lower, n * each_cm / (foot - top)))
    if placed:
        found.append(_slice(placed[-1], placed[-1], 0.0))
    return tuple(found)


def _slice(upper: Level, lower: Level, way: float) -> Slice:
    def between(a: float | None, b: float | None) -> float | None:
        return None if a is None or b is None else a + (b - a) * way

    form = between(sum(upper.form_cm) / 2, sum(lower.form_cm) / 2) or 0.0
    bare = between(upper.bare_cm, lower.bare_cm)
    return Slice(
        below_nape_cm=between(upper.below_nape_cm, lower.below_nape_cm) or 0.0,
        form_cm=form,
        bare_cm=bare,
        padding_cm=None if bare is None else padding(form, bare),
    )


def closing_of(levels: Sequence[Level]) -> str:
    """Return whether the garment closes without strain, and what to do where it doesn't."""
    if not levels:
        return "Whether it closes is unknown: no girth is recorded."
    tight = [one.label for one in levels if one.closing != CLOSES]
    if not tight:
        least = min(levels, key=lambda one: one.gap_cm)
        if all(one.bare_cm is None for one in levels):
            return (
                f"Closes without strain on a form padded as the table says: at least "
                f"{least.gap_cm:g} cm of ease at the {least.label}. The bare figure must be "
                "smaller than the form everywhere."
            )
        return f"Closes without strain: at least {least.gap_cm:g} cm of ease at the {least.label}."
    return (
        f"Does not close without strain on this figure ({', '.join(tight)}): take a smaller "
        "figure; it is never the garment that gives. Else leave it open over a false front."
    )
