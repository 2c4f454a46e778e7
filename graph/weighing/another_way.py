"""Whether an object that can't be shown as asked could be shown in another way."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import replace
from types import MappingProxyType
from typing import Final

from leastwise.graph.answer import Answer
from leastwise.graph.case.record import Case
from leastwise.graph.sentences import listed, sentence_case
from leastwise.graph.weighing.headline import serving
from leastwise.graph.weighing.standing import standings
from leastwise.graph.weighing.steps import Steps, Variant

__all__ = ["with_another_way"]

#: Ways to show an object, the least demanding first, as an answer names them.
WAYS: Final[Mapping[str, str]] = MappingProxyType(
    {
        "flat": "lying flat",
        "slanted": "on a slant",
        "pressure-mounted": "in a pressure mount",
        "hung": "hung",
        "on-figure": "on a figure",
    }
)
SHOWING: Final = frozenset({"display", "loan"})
#: What has a body to stand on; nothing else goes on a figure.
WORN: Final = frozenset({"costume", "accessory"})


def with_another_way(
    answer: Answer, case: Case, weighed: Callable[[Sequence[Variant]], Iterator[Steps]]
) -> Answer:
    """Return an answer that reads no with the ways to show the object that it could serve in.

    The record is weighed again under each other mounting; *weighed* gives the steps of variants.
    An answer that isn't no, or isn't of showing, comes back as it is.
    """
    if answer.headline.serves != "no" or case.aim.mounting not in WAYS:
        return answer
    if SHOWING.isdisjoint(case.aim.purposes):
        return answer
    others = [one for one in WAYS if one != case.aim.mounting and _fits(one, case)]
    variants = [Variant(_shown(case, one)) for one in others]
    serve = {
        one: serving(standings(steps).values())
        for one, steps in zip(others, weighed(variants), strict=True)
    }
    said = _in_words(serve)
    if not said:
        return answer
    short = replace(answer.headline, in_words=f"{answer.headline.in_words} {said}")
    return replace(answer, headline=short)


def _fits(way: str, case: Case) -> bool:
    return way != "on-figure" or case.object.kind in WORN


def _shown(case: Case, way: str) -> Case:
    return case.model_copy(update={"aim": case.aim.model_copy(update={"mounting": way})})


def _in_words(serve: Mapping[str, str]) -> str:
    """Return the ways that serve, or else those that may, as one sentence; "" if none does."""
    for state, could in (("yes", "could serve"), ("not-yet", "may yet serve")):
        ways = [WAYS[one] for one, serves in serve.items() if serves == state]
        if ways:
            shown = sentence_case(listed(ways, "or"))
            return f"{shown} it {could}: weigh it that way too."
    return ""
