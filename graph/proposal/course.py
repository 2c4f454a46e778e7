"""What a proposal lacks as a course of work: drying after what was made moist, a gentler way.

Each finding of the check that looks at more than one step, or at an option that a test would open,
is worked out here.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from leastwise.graph.answer import DamageAnswer, OptionAnswer
from leastwise.graph.knowledge.concepts import Catalogue
from leastwise.graph.meanings import Verdict
from leastwise.graph.planning.precedence import OrderBook, share_parts
from leastwise.graph.proposal.received import ProposedStep
from leastwise.graph.weighing.headline import needed

__all__ = [
    "MATTERS",
    "OpenedBy",
    "Undried",
    "opened_by_tests",
    "says_drying",
    "undried",
    "usual_order",
]

MOIST = ("agent:water-vapour", "agent:liquid-water")
MOIST_DOSE = 2  # low; a trace dries by itself
DRYING = (
    "technique:dry-under-weight", "technique:block-dry", "technique:form-dry",
    "technique:passive-weights", "technique:wet-salvage",
)  # fmt: skip
SAYS_DRYING = re.compile(r"\b(?:dry|dries|dried|drying)\b", re.IGNORECASE)
NOT_DRYING = re.compile(r"\bdry[- ](?:clean|brush|vacuum|suction)", re.IGNORECASE)
#: So much less burden (0 to 1) is a difference that matters.
MATTERS = 0.03


@dataclass(frozen=True, slots=True)
class Undried:
    """A moist step after which nothing is said of drying; *then* is the step that shuts it in."""

    step: int
    then: int | None


@dataclass(frozen=True, slots=True)
class OpenedBy:
    """A gentler option that meets the aim once *tests* come out well."""

    option: OptionAnswer
    tests: tuple[str, ...]


def undried(
    steps: Sequence[ProposedStep], parts: Sequence[Sequence[str]], catalogue: Catalogue
) -> Iterator[Undried]:
    """Yield the steps that bring moisture and say nothing of drying before the next on the part.

    *parts* are those of each step; none for the whole object. A step whose reason speaks of drying,
    or a step of drying after it, is enough.
    """
    for i, step in enumerate(steps):
        if not _is_moist(step, catalogue) or says_drying(step.reason):
            continue
        later = [j for j in range(i + 1, len(steps)) if share_parts(parts[i], parts[j])]
        dries = any(steps[j].technique in DRYING or says_drying(steps[j].reason) for j in later)
        if not dries:
            fixing = (j for j in later if not _is_moist(steps[j], catalogue))
            then = next(fixing, None)
            yield Undried(i + 1, None if then is None else then + 1)


def says_drying(text: str) -> bool:
    """Return whether a text speaks of drying, and not only of dry cleaning.

    >>> says_drying("dried between blotters"), says_drying("dry cleaning with a brush")
    (True, False)
    """
    return bool(SAYS_DRYING.search(NOT_DRYING.sub("", text)))


def _is_moist(step: ProposedStep, catalogue: Catalogue) -> bool:
    technique = catalogue.techniques.get(step.technique)
    return technique is not None and any(
        use.agent in MOIST and use.dose >= MOIST_DOSE for use in technique.brings
    )


def opened_by_tests(
    damage: DamageAnswer, chosen: OptionAnswer, weighed: set[str]
) -> Iterator[OpenedBy]:
    """Yield undecided options that would meet the aim with a burden that is less by a good deal."""
    for option in damage.options:
        lighter = option.burden <= chosen.burden - MATTERS
        opens = option.verdict == Verdict.UNDECIDED and option.meets_aim and lighter
        if opens and option.technique not in weighed | {chosen.technique}:
            tests = tuple(dict.fromkeys(m.label for m in needed(option)))
            if tests:
                yield OpenedBy(option, tests)


def usual_order(
    book: OrderBook, earlier: ProposedStep, later: ProposedStep, parts: Sequence[Sequence[str]]
) -> list[str]:
    """Return why two steps on different parts stand in the wrong order, if they do."""
    if share_parts(parts[0], parts[1]):
        return []  # told as an order of the same part
    return [p.because for p in book.says_before(later.technique, earlier.technique)]
