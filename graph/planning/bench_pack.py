"""What a planned pack takes, as lines of a bench sheet: its size, water, and weights."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

from leastwise.graph.case.packs import PackRecord

if TYPE_CHECKING:
    from leastwise.graph.setups.answers import MoistureAnswer

__all__ = ["pack_amounts"]


def pack_amounts(p: MoistureAnswer, pack: PackRecord) -> Iterator[tuple[str, str, str]]:
    """Yield what a planned pack takes: what, how much, and computed or recorded."""
    plan, patch = p.protocol, pack.stack.patch
    area = patch.width_cm * patch.height_cm
    yield ("Pack", f"{patch.width_cm:g} by {patch.height_cm:g} cm", "recorded")
    for layer in pack.stack.layers:
        if layer.water_load_g_m2:
            grams = [round(end * area / 1e4, 1) for end in layer.water_load_g_m2]
            span = f"{grams[0]:g} to {grams[1]:g} g" if grams[1] > grams[0] else f"{grams[0]:g} g"
            yield (f"Water for {layer.called}", span, "recorded; over its dry mass")
    low, high = plan.dose.self_limiting_g.low, plan.dose.self_limiting_g.high
    yield (
        "Water that stops by itself",
        f"{low:.1f} to {high:.1f} g",
        "computed; a design idea, D-14",
    )
    weight = plan.weight
    plates = "plate" if weight.plates == 1 else "plates"
    yield (
        "Weight while drying",
        f"{weight.mass_g:.0f} g: {weight.plates} glass {plates}, "
        f"{weight.glass_thickness_mm:.0f} mm thick",
        f"{patch.pressure_g_cm2:g} g/cm² on {area:g} cm²",
    )
