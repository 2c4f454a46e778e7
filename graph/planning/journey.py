"""What carries the object on the way, where it travels: a housing chosen on its own.

The way is not one of the damages: whatever is done to the object, it has to be held on the road.
So one housing is chosen among the techniques that the knowledge names for it, weighed for
transport in a box.
"""

from __future__ import annotations

from dataclasses import dataclass

from leastwise.graph.answer import OptionAnswer
from leastwise.graph.case.record import Case, Tri
from leastwise.graph.meanings import Verdict
from leastwise.graph.weighing.advise import Adviser

__all__ = ["Housing", "housing_for_the_way", "travels"]


@dataclass(frozen=True, slots=True)
class Housing:
    """The option that carries the object on the way or on show, and the damages it holds.

    *waits_for* is what has to be settled or agreed before; *ends* are the needs that fall away
    with another way of showing. What is *for_the_way* holds damages and answers none.
    """

    option: OptionAnswer
    damages: tuple[str, ...]
    because: str
    waits_for: tuple[str, ...] = ()
    ends: frozenset[str] = frozenset()
    for_the_way: bool = False


def travels(case: Case) -> bool:
    """Return whether the object will be carried to another place before it serves its aim."""
    return case.aim.purpose == "loan" or (
        case.aim.travels is Tri.YES and case.aim.purpose != "transport"
    )


def housing_for_the_way(case: Case, adviser: Adviser) -> Housing | None:
    """Return the accepted housing that holds most of the damages at the least burden, or None."""
    aim = case.aim.model_copy(update={"purpose": "transport", "mounting": "boxed"})
    answer = adviser.weigh(case.model_copy(update={"aim": aim}))
    k = adviser.knowledge
    carriers = {named for one in k.instances("lw:Carrier") for named in k.objects(one, "lw:for")}
    found: dict[str, list[tuple[str, OptionAnswer]]] = {}
    for damage in answer.damages:
        for option in damage.options:
            carries = not carriers.isdisjoint((option.technique, *option.groups))
            if carries and option.verdict == Verdict.ACCEPTED and option.efficacy > 0:
                found.setdefault(option.technique, []).append((damage.id, option))
    if not found:
        return None
    best = min(
        found.values(),
        key=lambda held: (
            -len(held),
            max(o.burden for _, o in held),
            max(o.hours[1] for _, o in held),
            held[0][1].technique,
        ),
    )
    option = max((o for _, o in best), key=lambda o: (o.hours[1], o.id))
    damages = tuple(damage for damage, _ in best)
    because = (
        f"The object travels: of the accepted housings this one holds most of what is weak "
        f"({len(damages)} of {len(answer.damages)} damages) at the least burden."
    )
    return Housing(option, damages, because, for_the_way=True)
