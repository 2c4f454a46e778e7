"""What fills a garment from within: underskirt, sleeve supports, and the board under a train.

The slope of a skirt's side is atan((hem - hip)/2 pi / drop), as of a cone; how many gathered
layers hold it there is practice.
"""

from __future__ import annotations

import math
from collections.abc import Mapping

from leastwise.graph.display.book import Book
from leastwise.graph.display.values import Row, Underskirt
from leastwise.graph.physics.load import GRAVITY_M_S2

__all__ = ["side_slope_deg", "sleeves_of", "train_of", "underskirt_of"]

CM2_IN_M2 = 10_000.0
SHORTER_CM = 5.0  # the underskirt ends so far above the hem (practice)
SHORT_CM = 2.0  # an arm ends so far above the cuff (practice)
NARROWER = 0.95  # and its hem has this part of the skirt's (practice)
TRAIN_WIDTH = 0.4  # of the hem lies on the train board (practice)
PRACTICE = "common practice"


def side_slope_deg(top_cm: float, hem_cm: float, drop_cm: float) -> float:
    """Return the slope of a skirt's side from the vertical in degrees, as of a cone.

    >>> round(side_slope_deg(100, 300, 80), 1)
    21.7
    """
    return math.degrees(math.atan2((hem_cm - top_cm) / (2 * math.pi), drop_cm))


def underskirt_of(
    measures: Mapping[str, float], weight_g_m2: float | None, book: Book
) -> Underskirt | None:
    """Return the layers that hold a skirt out; None where hem, length or waist is not recorded.

    A heavy skirt presses its petticoat flat and has one layer more.
    """
    length, hem = measures.get("skirt-length"), measures.get("hem")
    hip, waist = measures.get("hip"), measures.get("waist")
    top = hip or waist
    if length is None or hem is None or top is None:
        return None
    depth = book.figure("hip-depth").range.middle if hip else 0.0
    slope = max(0.0, side_slope_deg(top, hem, max(1.0, length - depth)))
    step = next((s for s in book.underskirts() if slope <= s.slope_up_to), book.underskirts()[-1])
    heavy = weight_g_m2 is not None and weight_g_m2 >= book.figure("heavy-skirt").range.low
    layers = step.layers + heavy
    foot, drop = NARROWER * hem, max(1.0, length - SHORTER_CM)
    mean = (top + foot) / 2
    full = book.figure("net-fullness").range
    net = [round(layers * f * mean * drop / CM2_IN_M2, 1) for f in (full.low, full.high)]
    return Underskirt(
        slope_deg=slope,
        layers=layers,
        hem_cm=foot,
        length_cm=drop,
        net_m2=(net[0], net[1]),
        says=_says(slope, layers, step.because, heavy=heavy),
    )


def _says(slope: float, layers: int, because: str, *, heavy: bool) -> str:
    many = (
        f"{layers} gathered layer{'s' if layers > 1 else ''} of net" if layers else "a plain tube"
    )
    said = f"The side of the skirt slopes {slope:.0f}°: {many}, under a smooth top skirt."
    more = " One layer is for the weight of the skirt." if heavy else ""
    return f"{said}{more} {because}".strip()


def sleeves_of(measures: Mapping[str, float], book: Book, cloth: str) -> tuple[Row, ...]:
    """Return the supports of the sleeves, from their girth and length."""
    girth, length = measures.get("upper-arm"), measures.get("sleeve-length")
    eased = book.ease("upper-arm", cloth)
    if girth is None or eased is None:
        return ()
    puffed = book.figure("puffed-sleeve").range.low
    arm = [min(girth, puffed) - e for e in (eased.range.high, eased.range.low)]
    long = f", {length - SHORT_CM:g} cm long" if length and length > SHORT_CM else ""
    basis = f"{PRACTICE}; sleeve {girth:g} cm less {eased.range.low:g} to {eased.range.high:g} cm"
    rows = [Row("Padded arm", f"{arm[0]:g} to {arm[1]:g} cm round{long}", basis, eased.claims)]
    if girth > puffed:
        rows.append(_puff(girth, puffed))
    return tuple(rows)


def _puff(girth: float, puffed: float) -> Row:
    stands = (girth - puffed) / (2 * math.pi)
    layers = max(1, math.ceil(stands / 3))
    value = f"{layers} gathered layer{'s' if layers > 1 else ''} of covered net on each arm"
    return Row(
        "Puffed sleeve", value, f"{PRACTICE}; stands {stands:.0f} cm off the arm, 3 cm a layer",
        ("claim:S-132",),
    )  # fmt: skip


def train_of(measures: Mapping[str, float], weight_g_m2: float | None) -> tuple[Row, ...]:
    """Return the board under a train, and the pull that it takes off the waist."""
    train, hem = measures.get("train"), measures.get("hem")
    if train is None:
        return ()
    wide = TRAIN_WIDTH * hem if hem else None
    size = f"{train + 10:.0f} cm long" + (f", {wide:.0f} cm wide" if wide else "")
    rows = [Row("Train board", size, f"{PRACTICE}: 10 cm longer than the train", ("claim:S-180",))]
    if weight_g_m2 is None or wide is None:
        says = "unknown: weight per area or hem is not recorded"
        return (*rows, Row("Taken off the waist by the board", says, ""))
    force = weight_g_m2 / 1000 * train * wide / CM2_IN_M2 * GRAVITY_M_S2
    basis = "computed: weight per area x train x width x g"
    return (*rows, Row("Taken off the waist by the board", f"{force:.1f} N", basis))
