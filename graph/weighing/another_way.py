"""What would do instead: another way to show an object, a damage answered part by part."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import replace
from types import MappingProxyType
from typing import Final, TypeAlias

from leastwise.graph.answer import Answer
from leastwise.graph.case.record import Case, DamageFound
from leastwise.graph.meanings import Verdict
from leastwise.graph.sentences import listed, sentence_case
from leastwise.graph.weighing.headline import is_met_by, serving
from leastwise.graph.weighing.standing import standings
from leastwise.graph.weighing.steps import Steps, Variant

__all__ = ["WAYS", "shown_as", "with_another_way"]

Weighed: TypeAlias = Callable[[Sequence[Variant]], Iterator[Steps]]

#: Ways to show an object, the least demanding first, as an answer names them.
WAYS: Final[Mapping[str, str]] = MappingProxyType(
    {
        "flat": "lying flat",
        "slanted": "on a slope",
        "pressure-mounted": "in a pressure mount",
        "hung": "hung",
        "on-figure": "on a figure",
    }
)
STANDING: Final = (Verdict.ACCEPTED, Verdict.UNDECIDED)
SHOWING: Final = frozenset({"display", "loan"})
#: What has a body to stand on; nothing else goes on a figure.
WORN: Final = frozenset({"costume", "accessory"})


def with_another_way(answer: Answer, case: Case, weighed: Weighed) -> Answer:
    """Return an answer with what would do where what was asked for won't.

    Where it reads no, the record is weighed again under each other mounting, and the ways in which
    the object could be shown are named. A damage of several parts that nothing answers is weighed
    part by part, and the parts on which it could be answered are named. *weighed* gives the steps
    of variants. An answer with nothing to add comes back as it is.
    """
    added = [*_shown_otherwise(answer, case, weighed), *_part_by_part(answer, case, weighed)]
    if not added:
        return answer
    short = replace(answer.headline, in_words=" ".join((answer.headline.in_words, *added)))
    return replace(answer, headline=short)


def _shown_otherwise(answer: Answer, case: Case, weighed: Weighed) -> Iterator[str]:
    """Yield the sentence that names other ways to show the object, if there are any."""
    is_shown = not SHOWING.isdisjoint(case.aim.purposes)
    if answer.headline.serves != "no" or case.aim.mounting not in WAYS or not is_shown:
        return
    others = [one for one in WAYS if one != case.aim.mounting and _fits(one, case)]
    variants = [Variant(shown_as(case, one)) for one in others]
    serve = {
        one: serving(standings(steps).values())
        for one, steps in zip(others, weighed(variants), strict=True)
    }
    if said := _in_words(serve):
        yield said


def _part_by_part(answer: Answer, case: Case, weighed: Weighed) -> Iterator[str]:
    """Yield for each damage of several parts that nothing answers the parts where it could be."""
    open_ = set(answer.headline.unanswered)
    several = [d for d in case.damages if d.id in open_ and len(d.parts) > 1]
    label = {d.id: d.label for d in answer.damages}
    name = {part.id: part.name for part in case.parts}
    variants = [Variant(_split(case, one)) for one in several]
    for damage, steps in zip(several, weighed(variants), strict=True):
        found = standings(steps)
        parts = [
            name[part]
            for part in damage.parts
            if any(is_met_by(found[_of(damage, part)], verdict) for verdict in STANDING)
        ]
        if parts:
            where = listed([f"on the {part}" for part in parts])
            what = f"{label[damage.id]} ({damage.id})"
            yield f"Taken part by part, {what} could be answered {where}: record it so."


def _split(case: Case, damage: DamageFound) -> Case:
    """Return a case with one of its damages entered once for each of its parts."""
    apart = [
        damage.model_copy(update={"id": _of(damage, part), "parts": [part]})
        for part in damage.parts
    ]
    others = [one for one in case.damages if one.id != damage.id]
    return case.model_copy(update={"damages": [*others, *apart]})


def _of(damage: DamageFound, part: str) -> str:
    return f"{damage.id}-{part}"


def _fits(way: str, case: Case) -> bool:
    return way != "on-figure" or case.object.kind in WORN


def shown_as(case: Case, way: str) -> Case:
    """Return a case as it would be with another mounting in its aim."""
    return case.model_copy(update={"aim": case.aim.model_copy(update={"mounting": way})})


def _in_words(serve: Mapping[str, str]) -> str:
    """Return the ways that serve, or else those that may, as one sentence; "" if none does."""
    for state, could in (("yes", "could serve"), ("not-yet", "may yet serve")):
        ways = [WAYS[one] for one, serves in serve.items() if serves == state]
        if ways:
            shown = sentence_case(listed(ways, "or"))
            return f"{shown} it {could}: weigh it that way too."
    return ""
