"""Pace: what work took here, by the treatment logs, beside the hours that the knowledge reckons.

A house works faster or slower than the knowledge says by a factor f for each technique. What the
knowledge reckons for the size of a job is h = sqrt(least x most); its span from least to most is
taken for the central 90 % of what f may be before anything was logged:

    ln f ~ Normal(0, s),      s = ln(most / least) / (2 x 1.645)
    ln(logged / h) ~ Normal(ln f, t),   t = ln(1.5) / 1.645

that is, nine of ten jobs at one pace lie within a factor of 1.5 of it (our judgement, practice).
With n jobs the precision of ln f is 1/s^2 + n/t^2 and its mean the precision-weighted mean; the
next job lies within exp(mean +- 1.645 sqrt(1/precision + t^2)) x h in nine of ten cases. Source of
the method: the normal model with known variance, Gelman et al., Bayesian Data Analysis, 3rd ed.,
chapter 2 (from memory). Only jobs of a recorded size count. It stands beside the hours of the
knowledge and changes none of them.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from math import exp, log, sqrt

from leastwise.graph.case.record import Case
from leastwise.graph.knowledge.concepts import Catalogue
from leastwise.graph.treatment.record import TreatmentRecord
from leastwise.graph.weighing.candidates import Candidate, find_candidates
from leastwise.graph.weighing.tested import as_tested

__all__ = ["Job", "Pace", "jobs_of", "paces"]

#: Standard deviations on either side that hold nine of ten of a normal distribution.
NINE_OF_TEN = 1.645
#: Nine of ten jobs at one pace lie within this factor of it (practice).
BETWEEN_JOBS = log(1.5) / NINE_OF_TEN


@dataclass(frozen=True, slots=True)
class Job:
    """A finished piece of work: hours as logged, and as reckoned for its size (least, most)."""

    technique: str
    logged: float
    reckoned: tuple[float, float]
    demo: bool = False


@dataclass(frozen=True, slots=True)
class Pace:
    """How many times as long as estimated a technique takes here.

    *factor* is the median of the posterior, *low* to *high* its central 90 %; *next_low* and
    *next_high* are the factors between which the next job lies in nine of ten cases.
    """

    technique: str
    jobs: int
    factor: float
    low: float
    high: float
    next_low: float
    next_high: float
    demo: bool = False

    def hours(self, reckoned: tuple[float, float]) -> tuple[float, float]:
        """Return the hours of the next job, for which the knowledge reckons *reckoned*."""
        middle = sqrt(reckoned[0] * reckoned[1])
        return middle * self.next_low, middle * self.next_high


def jobs_of(record: TreatmentRecord, case: Case, catalogue: Catalogue) -> list[Job]:
    """Return the work of a treatment record that was finished, logged with hours and has a size.

    The steps of one planned option are one job; if one of them was stopped or has no hours, the
    job doesn't count.
    """
    if not any(step.planned and step.hours for step in record.steps):
        return []  # candidates are dear to find, and most records hold no hours
    told = as_tested(case, catalogue.knowledge).case
    options: dict[str, Candidate] = {c.id: c for c in find_candidates(told, catalogue)}
    found = []
    for name in dict.fromkeys(step.planned for step in record.steps):
        steps = [step for step in record.steps if step.planned == name]
        hours = [step.hours for step in steps if step.hours is not None and step.state == "done"]
        reckoned = _reckoned(options.get(name))
        if reckoned and len(hours) == len(steps) and sum(hours) > 0:
            found.append(Job(options[name].technique.id, sum(hours), reckoned, case.demo))
    return found


def _reckoned(option: Candidate | None) -> tuple[float, float] | None:
    """Return the hours that follow from a recorded size, if they do."""
    if option is None or not option.time.by_size:
        return None
    low, high = option.time.hours
    return (low, high) if 0 < low <= high else None


def paces(jobs: Iterable[Job]) -> Mapping[tuple[str, bool], Pace]:
    """Return the pace by technique and whether invented, which is counted apart."""
    by_key: dict[tuple[str, bool], list[Job]] = {}
    for job in jobs:
        by_key.setdefault((job.technique, job.demo), []).append(job)
    return {key: _pace(mine) for key, mine in sorted(by_key.items())}


def _pace(jobs: list[Job]) -> Pace:
    """Return the pace of jobs of one technique."""
    spread = max(log(most / least) for least, most in (job.reckoned for job in jobs))
    prior = (2 * NINE_OF_TEN / spread) ** 2 if spread else float("inf")
    if prior == float("inf"):
        mean, deviation = 0.0, 0.0
    else:
        precision = prior + len(jobs) / BETWEEN_JOBS**2
        said = sum(log(j.logged / sqrt(j.reckoned[0] * j.reckoned[1])) for j in jobs)
        mean, deviation = said / BETWEEN_JOBS**2 / precision, 1 / sqrt(precision)
    away = NINE_OF_TEN * deviation
    further = NINE_OF_TEN * sqrt(deviation**2 + BETWEEN_JOBS**2)
    return Pace(
        jobs[0].technique,
        len(jobs),
        exp(mean),
        exp(mean - away),
        exp(mean + away),
        exp(mean - further),
        exp(mean + further),
        jobs[0].demo,
    )
