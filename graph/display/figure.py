"""A garment on a figure: who carries its weight, what exceeds its limit, and what mends that.

Weight W = m g; a place that carries the share s over a length l has the load s W / l. Shares are
assumed in bands (claim:DP-010, practice). Steps of help are tried in order, the least first.
"""

from __future__ import annotations

import math
from collections.abc import Mapping

from leastwise.graph.case.record import Case
from leastwise.graph.display.book import Book, Share
from leastwise.graph.display.cloth import Cloths, load_on
from leastwise.graph.display.form import closing_of, levels_of, slices_of
from leastwise.graph.display.underskirt import sleeves_of, train_of, underskirt_of
from leastwise.graph.display.values import HOLDS, Help, Load, OnFigure, worst
from leastwise.graph.physics.bounds import Range
from leastwise.graph.sentences import listed

__all__ = ["garment_kind", "helps_of", "on_figure", "shoulder_seams_cm"]

UNDER = "underpinning"
IN_DOUBT, TOO_MUCH = "in doubt", "too much"
FLAT = "show it lying flat, or support its cloth first and work it out again"


def garment_kind(measures: Mapping[str, float]) -> str:
    """Return dress, skirt or coat, as the measures tell.

    >>> garment_kind({"bust": 90, "skirt-length": 100}), garment_kind({"waist": 60, "hem": 300})
    ('dress', 'skirt')
    """
    above = measures.keys() & {"neck", "shoulder-width", "bust", "back-length"}
    if not above:
        return "skirt"
    return "dress" if "skirt-length" in measures else "coat"


def shoulder_seams_cm(measures: Mapping[str, float]) -> float | None:
    """Return the length of both shoulder seams together: shoulder width - neck girth / pi.

    >>> round(shoulder_seams_cm({"shoulder-width": 38, "neck": 34}), 1)
    27.2
    """
    width, neck = measures.get("shoulder-width"), measures.get("neck")
    if width is None or neck is None:
        return None
    return max(0.0, width - neck / math.pi)


def on_figure(case: Case, book: Book, weight_n: float | None) -> OnFigure:
    """Return a garment on a figure worked out from the girths and weights of its record."""
    measures = book.measures(case.object.girths_cm)
    cloths = Cloths(case, book)
    kind = garment_kind(measures)
    place = "waist" if kind == "skirt" else "shoulders"
    sound = cloths.at(place).key not in ("weak", "unknown")
    cloth = "sound" if sound else "weak"
    levels = levels_of(measures, book.measures(case.aim.figure_cm), book, cloth)
    helps = helps_of(kind, measures, weight_n, cloths)
    chosen = _chosen(helps)
    skirt = _skirt_weight(case, book)
    return OnFigure(
        kind=kind,
        levels=levels,
        slices=slices_of(levels),
        helps=helps,
        chosen=chosen,
        mend=_mend(helps, chosen),
        underskirt=underskirt_of(measures, skirt, book),
        sleeves=sleeves_of(measures, book, cloth),
        train=train_of(measures, skirt),
        closing=closing_of(levels),
        measures=measures,
    )


def _skirt_weight(case: Case, book: Book) -> float | None:
    """Return the weight per area of the skirt: of the heaviest part that is named so, or of all."""
    words = book.names("lw:Place").get("waist", ())
    named = [p for p in case.parts if any(w in p.name.casefold() for w in words)] or case.parts
    return max((w for p in named if (w := p.size.weight_per_area) is not None), default=None)


def helps_of(
    kind: str, measures: Mapping[str, float], weight_n: float | None, cloths: Cloths
) -> tuple[Help, ...]:
    """Return the loads with each step of help; none where the weight is not recorded."""
    if weight_n is None:
        return ()
    steps: dict[int, list[Share]] = {}
    for share in cloths.book.shares(kind):
        steps.setdefault(share.step, []).append(share)
    found = []
    for step, shares in steps.items():
        loads = tuple(_load(s, measures, weight_n, cloths) for s in shares if s.place != UNDER)
        claims = tuple(dict.fromkeys(c for s in shares for c in s.claims))
        state = worst([one.state for one in loads])
        found.append(Help(step, shares[0].words, loads, state, claims))
    return tuple(found)


def _load(share: Share, measures: Mapping[str, float], weight_n: float, cloths: Cloths) -> Load:
    at_shoulders = share.place == "shoulders"
    length = shoulder_seams_cm(measures) if at_shoulders else measures.get("waist")
    force = Range(share.range.low * weight_n, share.range.high * weight_n)
    where = "Both shoulder seams" if at_shoulders else "Waist"
    return load_on(where, force, length, cloths.at(share.place))


def _chosen(helps: tuple[Help, ...]) -> int:
    """Return the least help with which everything holds; else the most, unless it is too much."""
    holding = next((h.step for h in helps if h.state == HOLDS), None)
    if holding is not None:
        return holding
    return helps[-1].step if helps and helps[-1].state != TOO_MUCH else -1


def _mend(helps: tuple[Help, ...], chosen: int) -> str:
    """Say what carries it: as dressed, with which help, or not at all."""
    if not helps:
        return "The loads are unknown: weigh the garment."
    first = helps[0]
    over = listed([one.where.lower() for one in first.loads if one.state != HOLDS])
    says = f"As dressed on the padded figure it is {first.state} ({over})."
    if chosen < 0:
        return f"{says} It stays too much with every help: {FLAT}."
    planned = next(h for h in helps if h.step == chosen)
    if planned.state == "unknown":
        return (
            f"{says} So no weight is left to the cloth that can be taken off it: {planned.words}. "
            "A handling trial comes first; till then it lies flat."
        )
    if planned.state == IN_DOUBT:
        return f"{says} It is in doubt even with {planned.words}: a trial on the form, or {FLAT}."
    if chosen == first.step:
        return "It holds as dressed on the padded figure; nothing more has to carry it."
    return f"{says} It holds with {planned.words}."
