"""What the cloth at a place bears: by its class, or by a strength that was measured.

Silk that looks sound may be weak (claim:S-241), and no limit for historic costume has been
published (claim:S-182). So only a handling trial or a measured strength makes cloth sound here;
without either it is unknown, which is never taken for safe.
"""

from __future__ import annotations

from dataclasses import dataclass

from leastwise.graph.case.record import Case, Part
from leastwise.graph.display.book import Book, ClothClass
from leastwise.graph.display.values import HOLDS, Cloth, Load
from leastwise.graph.physics.bounds import Range

__all__ = ["Cloths", "load_on", "span", "state_of"]

PER_CM = "N/cm"
#: Measured strength over load: an allowance for creep, fatigue and uneven load (practice).
MEASURED_OVER_LOAD = 5.0


def load_on(
    where: str, force: Range, length_cm: float | None, cloth: Cloth, least_cm: float = 0.1
) -> Load:
    """Return a force shared over a length of cloth, q = F/l in N/cm, against what it bears.

    It holds if the highest load is within the lowest limit, is too much if the lowest load is
    over the highest limit, and is in doubt between. What nobody can tell is unknown.
    """
    ends = (force.low, force.high)
    if length_cm is None or length_cm < least_cm:
        says = "the length that carries is not recorded."
        return Load(where, ends, None, None, cloth, "unknown", says)
    per_cm = (force.low / length_cm, force.high / length_cm)
    told = f"{span(per_cm)} {PER_CM} on {length_cm:.0f} cm"
    if cloth.limit is None:
        return Load(where, ends, length_cm, per_cm, cloth, "unknown", f"{told}. {cloth.says}")
    state = state_of(per_cm, cloth.limit)
    bears = f"{cloth.part} ({cloth.label}) bears {span(cloth.limit)} {PER_CM}"
    return Load(where, ends, length_cm, per_cm, cloth, state, f"{told}; {bears}: {state}.")


def state_of(per_cm: tuple[float, float], limit: tuple[float, float]) -> str:
    """Return whether a load in N/cm, from least to most, stays within a limit of two ends.

    >>> state_of((0.1, 0.3), (0.4, 0.8)), state_of((0.3, 0.5), (0.4, 0.8))
    ('holds', 'in doubt')
    >>> state_of((0.9, 1.2), (0.4, 0.8))
    'too much'
    """
    if per_cm[1] <= limit[0]:
        return HOLDS
    return "too much" if per_cm[0] > limit[1] else "in doubt"


def span(ends: tuple[float, float]) -> str:
    """Return two ends in words, with two figures each; one where both read alike."""
    low, high = (f"{end:.2g}" for end in ends)
    return low if low == high else f"{low} to {high}"


@dataclass(frozen=True)
class Cloths:
    """The cloth of a case, part by part."""

    case: Case
    book: Book

    def at(self, place: str) -> Cloth:
        """Return the weakest cloth of the parts that lie at a place; of all, if none is named so.

        Cloth that nobody can judge counts before any that is known to bear something.
        """
        cloth = [part for part in self.case.parts if part.fibre != "none"]
        words = self.book.names("lw:Place").get(place, ())
        there = [p for p in cloth if any(w in p.name.casefold() for w in words)] or cloth
        found = [self.of(part) for part in there]
        return min(found, key=_bears, default=_unknown("", "No part is cloth."))

    def of(self, part: Part) -> Cloth:
        """Return what the cloth of a part bears."""
        measured = self._measured(part)
        if measured is not None:
            return measured
        classes = self.book.classes()
        weak = next(c for c in classes if c.damages)
        harmed = self._harmed(part, weak)
        if harmed or part.bears_handling == "no":
            why = harmed or "did not bear a handling trial"
            return _cloth(weak, part, f"{part.name} {why}.")
        if part.bears_handling != "yes":
            return _unknown(
                part.name,
                f"Unknown what {part.name} bears: sound looks say little; a handling trial or a "
                "measured strength would tell.",
            )
        return self._by_kind(part, classes)

    def _by_kind(self, part: Part, classes: tuple[ClothClass, ...]) -> Cloth:
        structures = {u for m in part.named for u in self.book.knowledge.broader(m.material)}
        for one in classes:
            if one.structures & structures:
                return _cloth(one, part, f"{part.name} bore a handling trial.")
        weight = part.size.weight_per_area
        if weight is None:
            return _unknown(
                part.name,
                f"Unknown what {part.name} bears: it bore a handling trial, but its weight per "
                "area is not recorded.",
            )
        one = next(c for c in classes if c.weighs_from is not None and c.weighs_from <= weight)
        return _cloth(one, part, f"{part.name} bore a handling trial and weighs {weight:.0f} g/m².")

    def _harmed(self, part: Part, weak: ClothClass) -> str:
        for found in self.case.damages:
            kinds = set(self.book.knowledge.broader(found.damage))
            if part.id in found.parts and kinds & weak.damages:
                return f"has {self.book.knowledge.label(found.damage)}"
        return ""

    def _measured(self, part: Part) -> Cloth | None:
        """Return the limit by a strength that was read in N/cm on the part."""
        for test in self.case.tests:
            reading = test.reading
            if test.part != part.id or reading is None or isinstance(reading, str):
                continue
            if reading.unit.replace(" ", "").casefold() != PER_CM.casefold():
                continue
            off = 0.0 if isinstance(reading.plus_minus, str) else reading.plus_minus
            ends = (max(0.0, reading.value - off), max(0.0, reading.value + off))
            limit = (ends[0] / MEASURED_OVER_LOAD, ends[1] / MEASURED_OVER_LOAD)
            says = f"{part.name} broke at {reading.value:g} N/cm; a fifth of that is allowed."
            return Cloth("measured", "strength measured", limit, part.name, says, ())
        return None


def _bears(cloth: Cloth) -> tuple[bool, float]:
    weak = cloth.limit is not None and cloth.key == "weak"
    return (not weak, -1.0 if cloth.limit is None else cloth.limit[0])


def _cloth(kind: ClothClass, part: Part, says: str) -> Cloth:
    limit = (kind.limit.low, kind.limit.high)
    return Cloth(kind.key, kind.label, limit, part.name, says, kind.claims)


def _unknown(part: str, says: str) -> Cloth:
    return Cloth("unknown", "unknown", None, part, says, ("claim:S-182", "claim:S-241"))
