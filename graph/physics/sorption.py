"""Regain of fibres against RH: recalled shapes, fitted by Hailwood-Horrobin, set at 65 % RH.

No numeric isotherm and no parameters for textile fibres were found in the sources. The shapes
below are recalled tables (claims M-316 to M-321, memory, at about 24 C); their heights are set so
that the regain at 65 % RH is the published one (claims M-001 to M-017, read). What is uncertain
is carried as a range of the regain at 65 % RH, wide enough to hold the recalled tables as well
(also claim:W-181, memory). The model is claim:M-029 (read): Hailwood-Horrobin fits cotton, flax
and other bast fibres well.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache

import numpy as np

from leastwise.graph.physics.bounds import PhysicsInputError, Range, joined, within

__all__ = [
    "FIBRES",
    "FibreSorption",
    "Isotherm",
    "fibre_sorption",
    "fit_isotherm",
    "isotherm_of",
    "moisture_content",
]

HUMIDITIES = (0.1, 0.2, 0.3, 0.4, 0.5, 0.6, 0.7, 0.8, 0.9)
#: Recalled regains in % at 10 to 90 % RH; claims M-316 to M-321 (memory).
COTTON = (2.5, 3.7, 4.6, 5.5, 6.6, 7.9, 9.5, 11.5, 14.1)
WOOL = (4.7, 7.0, 8.9, 10.8, 12.8, 14.9, 17.2, 19.9, 23.4)
SILK = (3.2, 5.5, 6.9, 8.0, 8.9, 10.2, 11.9, 14.3, 18.8)
LINEN = (1.9, 2.9, 3.6, 4.3, 5.1, 6.1, 7.0, 8.4, 10.2)
VISCOSE = (4.0, 5.7, 6.8, 7.9, 9.2, 10.8, 12.4, 14.2, 16.0)
ACETATE = (0.8, 1.1, 1.4, 1.9, 2.4, 3.0, 3.6, 4.3, 5.3)


@dataclass(frozen=True, slots=True)
class Isotherm:
    """Hailwood-Horrobin regain h/(A + B h - C h^2), h and regain as fractions."""

    a: float
    b: float
    c: float

    def regain(self, relative_humidity: float) -> float:
        """Return the regain at an RH.

        >>> round(isotherm_of("silk").regain(0.65), 3)
        0.1
        """
        h = within("relative_humidity", relative_humidity, 0, 1)
        return h / (self.a + self.b * h - self.c * h * h)

    def humidity(self, regain: float) -> float:
        """Return the RH in equilibrium with a regain; 1 where the fibre holds free water.

        >>> silk = isotherm_of("silk")
        >>> round(silk.humidity(silk.regain(0.8)), 6), silk.humidity(0.9)
        (0.8, 1.0)
        """
        m = within("regain", regain, 0, 100)
        if m >= self.saturated:
            return 1.0
        linear = 1 - self.b * m
        return 2 * self.a * m / (linear + float(np.sqrt(linear**2 + 4 * self.a * self.c * m * m)))

    @property
    def saturated(self) -> float:
        """The regain at 100 % RH, beyond which water is free; extrapolated from 90 %."""
        return 1 / (self.a + self.b - self.c)


def moisture_content(regain: float) -> float:
    """Return water per wet mass from water per dry mass, R/(1 + R) (claim:M-024, read).

    >>> round(100 * moisture_content(0.085), 2), round(100 * moisture_content(0.11), 2)
    (7.83, 9.91)
    """
    value = within("regain", regain, 0, 100)
    return value / (1 + value)


@dataclass(frozen=True, slots=True)
class FibreSorption:
    """What is known of a fibre's regain: shape, regain at 65 % RH, its range and its sources."""

    name: str
    shape_percent: tuple[float, ...]
    regain_at_65: float
    published: Range | None
    believed: Range
    rests_on: tuple[str, ...]
    caveats: tuple[str, ...]


NO_SHAPE = "No isotherm was found in the sources; the shape is borrowed from {}."

#: Fibre: shape, regain at 65 %, published range (read), believed range (with memory), basis.
FIBRES: dict[str, FibreSorption] = {
    fibre.name: fibre
    for fibre in (
        FibreSorption(
            "cotton", COTTON, 0.075, Range(0.07, 0.08), Range(0.07, 0.087),
            ("claim:M-001 (read): 7-8 %", "claim:M-316, claim:W-181 (memory): shape; 8.7, 7.5 %"),
            (),
        ),
        FibreSorption(
            "linen", LINEN, 0.07, Range(0.07, 0.07), Range(0.065, 0.09),
            ("claim:M-003 (read): 7 %", "claim:M-319, claim:W-181 (memory): shape, 6.6 and 9 %"),
            ("The commercial 12 % for linen is a trade figure, not used here (M-022).",),
        ),
        FibreSorption(
            "silk", SILK, 0.10, Range(0.10, 0.10), Range(0.095, 0.11),
            ("claim:M-005 (read): 10 %", "claim:M-318, claim:W-181 (memory): shape, 11.1, 10.5 %"),
            (),
        ),
        FibreSorption(
            "wool", WOOL, 0.16, Range(0.14, 0.18), Range(0.14, 0.18),
            ("claim:M-007 (read): 14 and 16-18 %", "claim:M-317, claim:W-181 (memory): shape"),
            ("Wool takes water up in a non-Fickian way and may overshoot (W-162, W-163).",),
        ),
        FibreSorption(
            "viscose", VISCOSE, 0.12, Range(0.11, 0.13), Range(0.11, 0.14),
            ("claim:M-009, claim:M-010 (read): 11 and 13 %", "claim:M-320 (memory): shape"),
            (),
        ),
        FibreSorption(
            "acetate", ACETATE, 0.0625, Range(0.06, 0.065), Range(0.033, 0.065),
            ("claim:M-012, claim:M-013 (read): 6.5 and 6 %", "claim:M-321 (memory): shape, 3.3 %"),
            ("The recalled table for acetate gives half the published regain.",),
        ),
        FibreSorption(
            "nylon", ACETATE, 0.04, Range(0.04, 0.04), Range(0.035, 0.045),
            ("claim:M-015 (read): 4 %", "claim:M-016 (memory): 4.5 %"),
            (NO_SHAPE.format("acetate"),),
        ),
        FibreSorption(
            "polyester", ACETATE, 0.004, Range(0.004, 0.004), Range(0.002, 0.008),
            ("claim:M-017 (read): 0.4 %",),
            (NO_SHAPE.format("acetate"), "Its range is half to double; no source found."),
        ),
        FibreSorption(
            "weighted silk", SILK, 0.08, None, Range(0.03, 0.14),
            ("claim:M-021 (practice): unknown, not 10-11 %",),
            (
                "No source found for the regain of weighted silk: the answer is only as good as "
                "the wide range of 3-14 %.",
                NO_SHAPE.format("silk"),
            ),
        ),
        FibreSorption(
            "blotter", COTTON, 0.075, None, Range(0.06, 0.09),
            ("claim:W-158 (read): unsized rag or pulp", "claim:M-316 (memory): shape of cotton"),
            ("No source found for the isotherm of blotter; taken as cotton, 6-9 % at 65 % RH.",),
        ),
    )
}  # fmt: skip

SHAPE_CAVEATS = (
    "Isotherm shapes are recalled tables (memory), adsorption at about 24 C; hysteresis (M-025) "
    "and temperature are not in them.",
    "Above 90 % RH the isotherm is extrapolated.",
)


def fibre_sorption(fibre: str) -> FibreSorption:
    """Return what is known of a fibre.

    Raises:
        PhysicsInputError: no such fibre.

    >>> fibre_sorption("weighted silk").published is None
    True

    """
    if fibre not in FIBRES:
        raise PhysicsInputError("fibre", fibre, "one of " + ", ".join(FIBRES))
    return FIBRES[fibre]


def fibre_caveats(fibre: str) -> tuple[str, ...]:
    """Return the caveats of a fibre with those of all shapes."""
    return joined(fibre_sorption(fibre).caveats, SHAPE_CAVEATS)


@lru_cache(maxsize=64)
def fit_isotherm(regains_percent: tuple[float, ...]) -> Isotherm:
    """Fit h/R = A + B h - C h^2 to regains at 10 to 90 % RH, weighted for the error in R.

    >>> round(100 * fit_isotherm(COTTON).regain(0.9), 1)
    14.2
    """
    if len(regains_percent) != len(HUMIDITIES) or min(regains_percent) <= 0:
        raise PhysicsInputError("regains_percent", regains_percent, "nine regains above 0")
    h, regain = np.array(HUMIDITIES), np.array(regains_percent) / 100
    weight = regain**2 / h
    terms = np.stack([np.ones_like(h), h, -(h**2)], axis=1)
    a, b, c = np.linalg.lstsq(terms * weight[:, None], h / regain * weight, rcond=None)[0]
    return Isotherm(float(a), float(b), float(c))


def isotherm_of(fibre: str, regain_at_65: float | None = None) -> Isotherm:
    """Return a fibre's isotherm, set to a regain at 65 % RH (by default the published one).

    >>> round(isotherm_of("wool", 0.14).regain(0.65), 4)
    0.14
    """
    known = fibre_sorption(fibre)
    wanted = known.regain_at_65 if regain_at_65 is None else regain_at_65
    shape = fit_isotherm(known.shape_percent)
    factor = shape.regain(0.65) / within("regain_at_65", wanted, 1e-4, 0.5)
    return Isotherm(shape.a * factor, shape.b * factor, shape.c * factor)
