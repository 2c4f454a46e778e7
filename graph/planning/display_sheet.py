"""What a display sheet carries besides its mount: case, light and days, handling, packing."""

from __future__ import annotations

from collections.abc import Iterator

from leastwise.graph.answer import Answer, DamageAnswer
from leastwise.graph.case.record import Case
from leastwise.graph.display.values import Row
from leastwise.graph.knowledge.concepts import Catalogue
from leastwise.graph.meanings import Verdict
from leastwise.graph.planning.provisions import Provisions

__all__ = ["display_rows"]

#: The needs that a line of the sheet is for; what answers them stands in steps of its own.
CARRIED = {
    "Case": ("need:dust-kept-off", "need:air-steady", "need:protected-from-touch"),
    "Handling": ("need:moved",),
    "Packing": ("need:packed", "need:housed"),
}


def display_rows(catalogue: Catalogue, case: Case, answer: Answer) -> tuple[Row, ...]:
    """Return how the object is lit, cased, moved and packed, each as its own step has it.

    A line that no need of the record asks for says so; nothing is taken for settled.
    """
    return (*_light(catalogue, case), *_needs(catalogue, answer))


def _light(catalogue: Catalogue, case: Case) -> Iterator[Row]:
    for one in Provisions(catalogue).light_limits(case):
        planned = "" if one.planned == "not recorded" else f"; planned {one.planned}"
        kept = {"no": ": too much", "yes": ": kept"}.get(one.kept, "") if planned else ""
        basis = f"{one.basis}. {one.remark}" if one.remark else one.basis
        yield Row(f"Light, {one.quantity}", f"{one.allowed}{planned}{kept}", basis)


def _needs(catalogue: Catalogue, answer: Answer) -> Iterator[Row]:
    found = {one.damage: one for one in answer.damages}
    for what, needs in CARRIED.items():
        asked = [found[need] for need in needs if need in found]
        led = dict.fromkeys(_leading(one) for one in asked)
        if led:
            yield Row(what, "; ".join(led), "as in its own step; its sheet says how")
        else:
            labels = ", ".join(catalogue.knowledge.label(need) for need in needs)
            yield Row(what, "not worked out", f"no need for it is recorded ({labels})")


def _leading(one: DamageAnswer) -> str:
    """Return what leads for a need, with its verdict unless that is accepted."""
    standing = [o for o in one.options if o.verdict is not Verdict.DEFEATED and not o.is_baseline]
    if not standing:
        return f"nothing stands for what it needs ({one.label})"
    best = min(standing, key=lambda o: o.rank)
    return best.label if best.verdict is Verdict.ACCEPTED else f"{best.label} ({best.verdict})"
