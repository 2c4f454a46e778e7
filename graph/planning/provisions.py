"""What a plan needs besides the options: shared set-ups, materials by extent, limits to use.

All of it is data (seed_data/planning.ttl); here it is read, and put beside a case.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from leastwise.graph.case.record import Case, DamageFound, Extent, Part
from leastwise.graph.knowledge.concepts import Catalogue, Technique
from leastwise.graph.knowledge.knowledge import Knowledge
from leastwise.graph.planning.values import Material, UseLimit
from leastwise.graph.weighing.working_time import share_of_area

__all__ = ["Provisions"]

LIGHT_DOSE, ILLUMINANCE, HUMIDITY = "light dose a year", "illuminance", "relative humidity"
#: Usual museum light, to tell a limit in days where the aim doesn't say how it is lit.
USUAL_LUX, USUAL_HOURS = 50.0, 8.0
CM2_PER_M2 = 10_000.0
PULL_ON_A_SLOPE = "claim:S-146"


@dataclass(frozen=True)
class Provisions:
    """Set-up shares, consumptions and limits of a knowledge."""

    catalogue: Catalogue

    @property
    def _k(self) -> Knowledge:
        return self.catalogue.knowledge

    def family_of(self, technique: Technique) -> str:
        """Return the technique or group whose set-up is spent once.

        Work on the whole object is done once for all damages it answers: all of it is shared.
        """
        if technique.hours_per == "object":
            return technique.id
        shares = self.catalogue.set_up_shares
        return next((up for up in (technique.id, *technique.groups) if up in shares), technique.id)

    def materials(
        self, technique: str, damage: DamageFound, parts: Sequence[Part] = ()
    ) -> list[Material]:
        """Return what a technique uses on a damage, with amounts where the extent gives them.

        A share of *parts* whose sizes are recorded is an area.
        """
        damage = _in_area(damage, parts)
        rows = [
            one
            for one in self._k.instances("lw:Consumption")
            if not set(self._k.broader(technique)).isdisjoint(self._k.objects(one, "lw:for"))
        ]
        fitting = [one for one in rows if self._is_for(one, damage)]
        if fitting:
            return [self._amount(one, damage) for one in fitting]
        items = dict.fromkeys(self._k.text(one, "lw:item") for one in rows)
        return [Material(item, (), "", _no_amount(damage), ()) for item in items]

    def _is_for(self, one: str, damage: DamageFound) -> bool:
        extent = damage.extent
        return not isinstance(extent, str) and extent.unit == self._k.text(one, "lw:from")

    def _amount(self, one: str, damage: DamageFound) -> Material:
        k, extent = self._k, damage.extent
        assert not isinstance(extent, str)  # noqa: S101 - _is_for has seen to it
        amounts = [(k.number(one, end) or 0.0) * extent.value for end in ("lw:least", "lw:most")]
        basis = f"{extent.value:g} {extent.unit} recorded"
        return Material(
            k.text(one, "lw:item"),
            *_to_buy(amounts, k.text(one, "lw:unit")),
            f"{k.text(one, 'lw:because')} ({basis}; common practice)",
            tuple(k.objects(one, "lw:restsOn")),
        )

    def light_limits(self, case: Case) -> list[UseLimit]:
        """Return how much light the object may have, by its most sensitive part: lux, then dose."""
        lit = self._by_entry(case)
        strictest: dict[str, str] = {}
        for one in sorted(lit, key=self._top, reverse=True):
            strictest[self._k.text(one, "lw:quantity")] = one
        names = [strictest[name] for name in (ILLUMINANCE, LIGHT_DOSE) if name in strictest]
        return [self._limit(one, lit[one], case) for one in names]

    def use_limits(self, case: Case) -> list[UseLimit]:
        """Return the limits within which the object may serve its aim, strictest for each part."""
        parts_of = self._by_entry(case)
        limits = [self._limit(one, parts_of[one], case) for one in sorted(parts_of)]
        return [*limits, *_slope(case)]

    def _by_entry(self, case: Case) -> dict[str, list[str]]:
        """Return the limits that hold here, each with the parts of which it is the strictest."""
        k, aim = self._k, f"aim:{case.aim.purpose}"
        strictest: dict[tuple[str, str], str] = {}
        for one in k.instances("lw:UseLimit"):
            aims = k.objects(one, "lw:whenAim")
            if aims and aim not in aims:
                continue
            for part in self._parts_under(one, case):
                key = (k.text(one, "lw:quantity"), part.id)
                known = strictest.get(key)
                if known is None or self._top(one) < self._top(known):
                    strictest[key] = one
        parts_of: dict[str, list[str]] = {}
        for (_, part_id), one in strictest.items():
            parts_of.setdefault(one, []).append(part_id)
        return parts_of

    def _parts_under(self, one: str, case: Case) -> Iterator[Part]:
        named = set(self._k.objects(one, "lw:for"))
        for part in case.parts:
            materials = {up for m in part.materials for up in self._k.broader(m.material)}
            if not named or named & materials:
                yield part

    def _top(self, one: str) -> float:
        return self._k.number(one, "lw:most") or math.inf

    def _limit(self, one: str, parts: list[str], case: Case) -> UseLimit:
        k = self._k
        quantity, unit = k.text(one, "lw:quantity"), k.text(one, "lw:unit").replace("uW", "µW")
        low, high = k.number(one, "lw:least"), self._top(one)
        allowed = f"{_n(low)} to {_n(high)} {unit}" if low else f"at most {_n(high)} {unit}"
        planned, kept, says = _planned(quantity, high, case)
        basis = (k.object(one, "lw:basis") or "").removeprefix("lw:")
        order = {part.id: i for i, part in enumerate(case.parts)}
        return UseLimit(
            quantity,
            allowed,
            planned,
            kept,
            says,
            tuple(sorted(parts, key=order.__getitem__)),
            basis,
            tuple(k.objects(one, "lw:restsOn")),
        )


def _planned(quantity: str, high: float, case: Case) -> tuple[str, str, str]:
    """Return what the aim plans, whether that keeps the limit (yes, no, unknown), and a remark."""
    aim = case.aim
    if quantity == ILLUMINANCE and not isinstance(aim.lux, str):
        return f"{aim.lux:g} lx", "yes" if aim.lux <= high else "no", ""
    if quantity == LIGHT_DOSE:
        a_day = _product(aim.lux, aim.hours_per_day)
        dose = _product(aim.lux, aim.hours_per_day, aim.days_per_year)
        if a_day is None:
            assumed = min(366, math.floor(high / (USUAL_LUX * USUAL_HOURS)))
            remark = (
                f"At {_n(USUAL_LUX)} lx for {_n(USUAL_HOURS)} h a day that is {assumed} days a "
                "year; state lux, hours a day and days a year to have it for this show."
            )
            return "not recorded", "unknown", remark
        days = min(366, math.floor(high / a_day)) if a_day else 366
        remark = f"At {_n(a_day)} lx h a day that is {days} days a year."
        if dose is None:
            return "not recorded", "unknown", remark
        return f"{_n(dose)} lx h", "yes" if dose <= high else "no", remark
    if quantity == HUMIDITY:
        controlled = {"yes": "controlled, value not recorded", "no": "not controlled"}
        return (
            controlled.get(aim.rh_controlled, "not recorded"),
            "unknown" if aim.rh_controlled != "no" else "no",
            "",
        )
    return "not recorded", "unknown", ""


def _product(*factors: float | str) -> float | None:
    known = [f for f in factors if not isinstance(f, str)]
    return math.prod(known) if len(known) == len(factors) else None


def _slope(case: Case) -> Iterator[UseLimit]:
    aim = case.aim
    if aim.mounting != "slanted":
        return
    everything = [part.id for part in case.parts]
    if isinstance(aim.degrees_from_vertical, str):
        yield UseLimit(
            "slope", "in degrees from vertical", "not recorded", "unknown",
            "State the slope; it decides load and sliding.", tuple(everything), "practice",
            (PULL_ON_A_SLOPE,),
        )  # fmt: skip
        return
    angle = aim.degrees_from_vertical
    pull = math.cos(math.radians(angle))
    yield UseLimit(
        "slope", "as a tilt trial has shown", f"{angle:g}° from vertical", "unknown",
        f"Before any grip is counted, {pull:.2f} of the weight pulls along the board.",
        tuple(everything), "practice", (PULL_ON_A_SLOPE,),
    )  # fmt: skip


def _in_area(damage: DamageFound, parts: Sequence[Part]) -> DamageFound:
    """Return a damage whose share of parts of known size is carried over to an area."""
    extent = damage.extent
    if isinstance(extent, str) or extent.unit != "percent":
        return damage
    area = round(share_of_area(extent, parts), 1)
    if not area:
        return damage
    return damage.model_copy(update={"extent": Extent(value=area, unit="cm2")})


def _no_amount(damage: DamageFound) -> str:
    if isinstance(damage.extent, str):
        return "amount unknown, since the extent is not recorded"
    given = (
        f"{damage.extent.value:g} {damage.extent.unit.replace('percent', 'percent of the part')}"
    )
    return f"amount not computed: the extent is recorded as {given}; measure it"


def _n(figure: float | None) -> str:
    return f"{figure:,.0f}".replace(",", " ") if figure is not None else ""


def _to_buy(amounts: Sequence[float], unit: str) -> tuple[tuple[float, ...], str]:
    """Return amounts as one asks for them, rounded up to two figures, with their unit.

    What takes a square metre or more is told in square metres.
    """
    if unit == "cm2" and max(amounts) >= CM2_PER_M2:
        amounts, unit = [amount / CM2_PER_M2 for amount in amounts], "m2"
    return tuple(_rounded_up(amount) for amount in amounts), unit


def _rounded_up(amount: float) -> float:
    """Return a positive amount rounded up to two significant figures."""
    if amount <= 0:
        return 0.0
    digits = 1 - math.floor(math.log10(amount))
    scaled = round(amount * 10.0**digits, 6)  # so that 52.0000001 stays 52
    return round(math.ceil(scaled) / 10.0**digits, max(digits, 0))
