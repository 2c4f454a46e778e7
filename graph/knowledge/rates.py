"""Rates of work: how long a unit of extent takes, and what goes into getting ready."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from leastwise.graph.knowledge.knowledge import Knowledge

__all__ = ["CM2_IN_M2", "Rate", "rates_of", "set_up_of", "set_up_shares"]

CM2_IN_M2 = 10_000.0
SMALL_RATE = 0.01  # h a cm2; below it a rate is told for a hundred
UNITS = ("cm2", "cm", "count")
IN_WORDS = {"cm2": "cm²", "cm": "cm", "count": "piece"}


@dataclass(frozen=True, slots=True)
class Rate:
    """Working time for one unit of extent, in hours: cm2, cm or count.

    *over* is empty where it is counted over the extent of the damage, else part, width or
    perimeter.
    """

    low: float
    high: float
    per: str
    over: str = ""

    @property
    def in_words(self) -> str:
        """The rate in words; a small one is told for a hundred square centimetres.

        >>> Rate(0.02, 0.08, "cm2").in_words, Rate(0.0001, 0.0005, "cm2").in_words
        ('0.02 to 0.08 h a cm²', '0.01 to 0.05 h per 100 cm²')
        """
        if self.per == "cm2" and self.high < SMALL_RATE:
            return f"{100 * self.low:.3g} to {100 * self.high:.3g} h per 100 cm²"
        return f"{self.low:.3g} to {self.high:.3g} h a {IN_WORDS[self.per]}"


def rates_of(k: Knowledge, technique: str) -> tuple[Rate, ...]:
    """Return the rates of a technique, by area before by length before by number."""
    # a copy of a shipped file laid over the knowledge says each rate once more
    rates = {_rate(k, node) for node in k.objects(technique, "lw:rate")}
    return tuple(sorted(rates, key=lambda rate: (UNITS.index(rate.per), rate.over)))


def _rate(k: Knowledge, node: str) -> Rate:
    """Return a rate; what is given for a square metre is carried over to square centimetres."""
    per = k.text(node, "lw:per")
    share, unit = (CM2_IN_M2, "cm2") if per == "m2" else (1.0, per)
    low, high = ((k.number(node, end) or 0.0) / share for end in ("lw:least", "lw:most"))
    return Rate(low, high, unit, k.text(node, "lw:over"))


def set_up_shares(k: Knowledge) -> dict[str, float]:
    """Return the part of the hours that is set-up, by technique or group; "" for the others."""
    found: dict[str, float] = {}
    for one in k.instances("lw:SetUpShare"):
        for named in k.objects(one, "lw:for") or [""]:
            found[named] = k.number(one, "lw:share") or 0.0
    return found


def set_up_of(k: Knowledge, technique: str, shares: Mapping[str, float]) -> tuple[float, float]:
    """Return the hours that getting ready and putting away take, by the nearest share."""
    hours = k.object(technique, "lw:hours") or ""
    near = (shares[up] for up in k.broader(technique) if up in shares)
    share = next(near, shares.get("", 0.0))
    low, high = (k.number(hours, end) or 0.0 for end in ("lw:least", "lw:most"))
    return round(low * share, 4), round(high * share, 4)
