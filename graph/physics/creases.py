"""Whether moisture lets a crease go: the glass transition of the fibre against its regain.

Water makes the disordered part of a fibre soft. Where its glass transition falls to the
temperature of the room the fibre can relax; how far a real crease opens also hangs on friction
between yarns, on the age of the fibre and on how the crease was set, which nothing here computes.
"""

from __future__ import annotations

from dataclasses import dataclass

from leastwise.graph.physics.bounds import Range, within
from leastwise.graph.physics.sorption import isotherm_of

__all__ = ["GLASS", "Glass", "Softening", "gordon_taylor_c", "softening", "softens_from"]

ZERO_C_IN_K = 273.15
#: Glass transition of water, degrees C (recalled, memory; as in claim:D-19).
WATER_C = -137.0


@dataclass(frozen=True, slots=True)
class Glass:
    """Glass transition of a dry fibre (degrees C), and what water does to it.

    *constant* is that of Gordon and Taylor over the one of Fox (dry over water, in kelvin); *soft*
    the share of the fibre that takes the water up.
    """

    dry_c: Range
    constant: Range
    soft: Range
    basis: tuple[str, ...]
    known: bool  # from text that was read


_WOOL = Glass(
    Range(160, 174), Range(1, 1), Range(1, 1),
    ("claim:W-166 (read): Fox equation, dry wool 174 °C", "claim:W-168 (read): near 160 °C"),
    known=True,
)  # fmt: skip
# 40 degrees C less at 2 % water asks for 2.15 times the constant of Fox; 140 less at high RH for
# about the constant of Fox itself: the source's two figures bound it. Film, not thread.
_SILK = Glass(
    Range(175, 178), Range(1, 2.15), Range(1, 1),
    ("claim:W-174 (read): regenerated fibroin falls by 40 °C at 2 % water, by up to 140 °C",
     "Nakamura, Magoshi and Magoshi 1993 (abstract read): random-coil fibroin 175 °C",
     "178 °C at the upper end: recalled (memory)"),
    known=True,
)  # fmt: skip
_CELLULOSE = "recalled (memory): dry cellulose 200 to 250 °C, water in the disordered part only"
_COTTON = Glass(Range(200, 250), Range(1, 1), Range(0.3, 0.5), (_CELLULOSE,), known=False)
_VISCOSE = Glass(Range(200, 250), Range(1, 1), Range(0.55, 0.75), (_CELLULOSE,), known=False)
GLASS = {
    "wool": _WOOL,
    "silk": _SILK,
    "cotton": _COTTON,
    "linen": _COTTON,
    "viscose": _VISCOSE,
}


def gordon_taylor_c(dry_c: float, water_share: float, over_fox: float = 1.0) -> float:
    """Return the glass transition at a mass share of water, by Gordon and Taylor, in degrees C.

    (w1 T1 + k w2 T2)/(w1 + k w2) in kelvin with k = *over_fox* T1/T2; at 1 it is the equation of
    Fox, 1/T = w1/T1 + w2/T2 (claim:W-166, read).

    >>> [round(gordon_taylor_c(174, r / (1 + r))) for r in (0, 0.1, 0.2, 0.3)]
    [174, 97, 51, 20]
    """
    dry, water = dry_c + ZERO_C_IN_K, WATER_C + ZERO_C_IN_K
    share = within("water_share", water_share, 0, 1)
    k = within("over_fox", over_fox, 0.1, 10) * dry / water
    mixed = (1 - share) * dry + k * share * water
    return mixed / (1 - share + k * share) - ZERO_C_IN_K


@dataclass(frozen=True, slots=True)
class Softening:
    """The glass transition of a fibre at an RH, against the temperature it is worked at."""

    fibre: str
    relative_humidity: float
    transition_c: Range | None  # None: nothing is known
    state: str  # soft, near, stiff, unknown
    says: str
    rests_on: tuple[str, ...]
    not_known: tuple[str, ...]


NOT_KNOWN = (
    "How far a crease opens at a given regain: no source with figures for aged, creased cloth was "
    "found; friction between yarns keeps a part of it (W-023, W-024).",
)


def _transition_c(glass: Glass, regain: float) -> Range:
    """Return the lowest and the highest transition over the ends of all figures of a fibre."""
    found = [
        gordon_taylor_c(dry, regain / (soft + regain), over)
        for dry in (glass.dry_c.low, glass.dry_c.high)
        for over in (glass.constant.low, glass.constant.high)
        for soft in (glass.soft.low, glass.soft.high)
    ]
    return Range(min(found), max(found))


def softening(
    fibre: str, relative_humidity: float, temperature_c: float = 20.0, *, desorbing: bool = False
) -> Softening:
    """Return whether a fibre is soft, near it, or stiff at an RH and a temperature.

    Soft means that the whole band of the transition lies under the temperature. *desorbing* stands
    for a cloth that was damper before: its regain is taken a tenth higher (hysteresis, practice).

    Raises:
        PhysicsInputError: an RH that isn't a fraction.

    """
    humidity = within("relative_humidity", relative_humidity, 0, 0.999)
    glass = GLASS.get(fibre)
    if glass is None:
        says = f"No figure was found for the glass transition of {fibre} with water."
        return Softening(fibre, humidity, None, "unknown", says, (), NOT_KNOWN)
    regain = isotherm_of(fibre).regain(humidity) * (1.1 if desorbing else 1.0)
    band = _transition_c(glass, regain)
    state = _state(band, temperature_c)
    basis = "" if glass.known else " This is recalled, not read."
    says = (
        f"{fibre.capitalize()} at {humidity:.0%} RH (regain {regain:.0%}): glass transition about "
        f"{band.low:.0f} to {band.high:.0f} °C, so at {temperature_c:g} °C it is {WORDS[state]}."
        f"{basis}"
    )
    return Softening(fibre, humidity, band, state, says, glass.basis, NOT_KNOWN)


def softens_from(fibre: str, temperature_c: float = 20.0) -> Range | None:
    """Return the RH from which a fibre may begin to soften, and from which it is soft for sure.

    Where it is not for sure soft below saturation, the upper end is 1; None where nothing is known
    of the fibre, or where it doesn't begin to soften below saturation.

    >>> softens_from("wool", 10.0) is None, 0.8 < softens_from("silk").low < 0.85
    (True, True)
    """
    if fibre not in GLASS:
        return None
    ends = [_first_humidity(fibre, temperature_c, wanted) for wanted in ("near", "soft")]
    begins, surely = ends
    return None if begins is None else Range(begins, 1.0 if surely is None else surely)


def _first_humidity(fibre: str, temperature_c: float, wanted: str) -> float | None:
    """Return the least RH at which a fibre is near softening, or soft; by halving."""
    order = ("stiff", "near", "soft")

    def reached(humidity: float) -> bool:
        state = softening(fibre, humidity, temperature_c).state
        return order.index(state) >= order.index(wanted)

    low, high = 0.0, DAMPEST
    if not reached(high):
        return None
    for _ in range(30):
        middle = (low + high) / 2
        low, high = (low, middle) if reached(middle) else (middle, high)
    return high


DAMPEST = 0.995

WORDS = {
    "soft": "soft and can relax within the dwell",
    "near": "about to soften: it relaxes, slowly",
    "stiff": "not yet soft all through: it relaxes slowly and in part, by swelling and creep",
}


def _state(band: Range, temperature_c: float) -> str:
    within("temperature_c", temperature_c, -20, 60)
    if temperature_c >= band.high:
        return "soft"
    return "near" if temperature_c >= band.low else "stiff"
