"""Precedents: outcomes of past treatments as counts with intervals, beside what is sourced.

An outcome is counted for technique x damage x group of material. Its rate is unknown and starts
from the Jeffreys prior, Beta(0.5, 0.5); with y of n it is Beta(0.5 + y, 0.5 + n - y), and the
number among the next m is Beta-binomial. Source: Gelman et al., Bayesian Data Analysis, 3rd
ed., chapter 2, as the method; the prior is our choice (practice). Cases that went wrong are told
less often than those that went well (practice), so that a rate of harm is a lower bound at
heart. A precedent never lifts a finding: it stands beside the verdict and is no part of it.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from functools import cached_property
from typing import Literal

from leastwise.graph.knowledge.knowledge import Knowledge

__all__ = [
    "FEW",
    "Grouping",
    "Key",
    "Outcome",
    "Precedent",
    "Rate",
    "count_precedents",
    "rate",
    "results_by_key",
]

Result = Literal["met", "partly", "not-met", "harm"]
Key = tuple[str, str, str, bool]  # technique, damage, group of material, whether invented
#: Below this number of outcomes an interval says little (practice).
FEW = 5
PRIOR = 0.5
NEXT = 10


@dataclass(frozen=True, slots=True)
class Outcome:
    """What came of one technique on one part: its aim met, partly, not met, or harm was done."""

    technique: str
    damage: str
    materials: tuple[str, ...]
    result: Result
    demo: bool = False


@dataclass(frozen=True, slots=True)
class Rate:
    """A rate from *count* of *number*: mean and central 95 % interval of the Beta posterior.

    *next_low* to *next_high* of the next ten, by the Beta-binomial predictive distribution.
    """

    count: int
    number: int
    mean: float
    low: float
    high: float
    next_low: int
    next_high: int


@dataclass(frozen=True, slots=True)
class Precedent:
    """What past cases tell of a technique for a damage on a group of material."""

    technique: str
    damage: str
    group: str
    met: Rate
    harm: Rate
    partly: int
    not_met: int
    demo: bool
    in_words: str

    @property
    def key(self) -> Key:
        """Return what it counts."""
        return (self.technique, self.damage, self.group, self.demo)


def rate(count: int, number: int) -> Rate:
    """Return the rate of *count* in *number* outcomes.

    Raises:
        ValueError: the count is not between 0 and the number.

    """
    if not 0 <= count <= number:
        raise ValueError(f"count {count} of {number}: expected 0 to {number}")
    from scipy.stats import beta, betabinom  # noqa: PLC0415 - slow to load, and seldom needed

    a, b = PRIOR + count, PRIOR + number - count
    low, high = beta.ppf([0.025, 0.975], a, b)
    next_low, next_high = betabinom.ppf([0.025, 0.975], NEXT, a, b)
    return Rate(count, number, a / (a + b), float(low), float(high), int(next_low), int(next_high))


@dataclass(frozen=True)
class Grouping:
    """Which group a material belongs to: the next broader concept, or itself if it is a group."""

    knowledge: Knowledge

    @cached_property
    def _groups(self) -> frozenset[str]:
        k = self.knowledge
        concepts = (c for c in k.instances("skos:Concept") if c.startswith("material:"))
        return frozenset(up for one in concepts for up in k.objects(one, "skos:broader"))

    def groups(self, materials: Iterable[str]) -> tuple[str, ...]:
        """Return the groups of *materials*, each once, in alphabetical order."""
        found = set()
        for material in materials:
            broader = self.knowledge.objects(material, "skos:broader")
            found.add(material if material in self._groups or not broader else broader[0])
        return tuple(sorted(found))


def count_precedents(outcomes: Iterable[Outcome], knowledge: Knowledge) -> list[Precedent]:
    """Return the counts for technique x damage x group, in alphabetical order.

    An outcome counts once for each group of material that the part is made of. Invented outcomes
    are counted apart, so that a demo never stands for experience.
    """
    told = results_by_key(outcomes, knowledge)
    return [_precedent(key, results, knowledge) for key, results in sorted(told.items())]


def results_by_key(outcomes: Iterable[Outcome], knowledge: Knowledge) -> dict[Key, list[str]]:
    """Return the results for each technique, damage, group of material and whether invented."""
    told: dict[Key, list[str]] = {}
    grouping = Grouping(knowledge)
    for one in outcomes:
        for group in grouping.groups(one.materials):
            key = (one.technique, one.damage, group, one.demo)
            told.setdefault(key, []).append(one.result)
    return told


def _precedent(key: Key, results: list[str], knowledge: Knowledge) -> Precedent:
    technique, damage, group, demo = key
    met = rate(results.count("met"), len(results))
    harm = rate(results.count("harm"), len(results))
    return Precedent(
        technique,
        damage,
        group,
        met,
        harm,
        results.count("partly"),
        results.count("not-met"),
        demo,
        _words(knowledge.label(group), met, harm),
    )


def _words(group: str, met: Rate, harm: Rate) -> str:
    """Say the counts, never a bare rate, and that few cases say little."""
    said = (
        f"On {group}: the aim was met in {met.count} of {met.number}, so between "
        f"{100 * met.low:.0f} and {100 * met.high:.0f} % may be expected; harm in {harm.count} of "
        f"{harm.number}, which still allows up to {100 * harm.high:.0f} %."
    )
    if met.number < FEW:
        return f"{said} Fewer than {FEW} outcomes: too few to rely on."
    return said
