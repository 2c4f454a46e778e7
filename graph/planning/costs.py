"""What the work costs by a house's own rates: its price of an hour, and of what is used.

Both are data that a house lays over the knowledge (``lw:hourPrice`` and ``lw:currency`` of its
policy, ``lw:unitPrice`` of a consumption). Where a house gives none, nothing is reckoned.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from leastwise.graph.knowledge.knowledge import Knowledge
from leastwise.graph.planning.values import Material

__all__ = ["Cost", "cost_of"]


@dataclass(frozen=True, slots=True)
class Cost:
    """Costs at the least and at the most, in *currency*; *unpriced* is used and has no price."""

    work: tuple[float, float]
    materials: tuple[float, float]
    currency: str
    hour_price: float
    unpriced: tuple[str, ...]

    @property
    def in_words(self) -> str:
        """The cost in a sentence or two.

        >>> Cost((400.0, 960.0), (0.0, 0.0), "EUR", 40.0, ("nylon net",)).in_words
        'Work 400 to 960 EUR at 40 EUR an hour. Without a price: nylon net.'
        """
        words = (
            f"Work {self.work[0]:.0f} to {self.work[1]:.0f} {self.currency} "
            f"at {self.hour_price:g} {self.currency} an hour."
        )
        if self.materials[1]:
            span = f"{self.materials[0]:.0f} to {self.materials[1]:.0f} {self.currency}"
            words += f" Materials {span}."
        if self.unpriced:
            words += f" Without a price: {', '.join(self.unpriced)}."
        return words


def cost_of(
    k: Knowledge, policy: str, hours: Sequence[float], materials: Iterable[Material]
) -> Cost | None:
    """Return what hours and materials cost, or None where the house gives no price of an hour.

    *policy* is the id of the policy, *hours* the least and the most, *materials* what
    is used, with amounts where they are known.
    """
    price, currency = k.number(policy, "lw:hourPrice"), k.text(policy, "lw:currency")
    if price is None or not currency:
        return None
    prices = {
        k.text(one, "lw:item"): unit_price
        for one in k.instances("lw:Consumption")
        if (unit_price := k.number(one, "lw:unitPrice")) is not None
    }
    used = list(materials)
    priced = [m for m in used if m.amount and m.item in prices]
    low, high = (sum(m.amount[end] * prices[m.item] for m in priced) for end in (0, 1))
    return Cost(
        (price * hours[0], price * hours[1]),
        (low, high),
        currency,
        price,
        tuple(dict.fromkeys(m.item for m in used if m not in priced)),
    )
