"""Where the options of a case stand, without a word: verdict, benefit, burden and order."""

from __future__ import annotations

from dataclasses import dataclass

from leastwise.graph.ids import OptionId
from leastwise.graph.meanings import Verdict
from leastwise.graph.weighing.ranking import Score, in_order
from leastwise.graph.weighing.steps import Steps

__all__ = ["Standing", "standings"]


@dataclass(frozen=True, slots=True)
class Standing:
    """One option as an answer would have it; *rank* counts from 1 within its problem."""

    id: OptionId
    label: str
    rank: int
    verdict: Verdict
    meets_aim: bool
    hindrance: int
    residual: int
    burden: float
    hours: tuple[float, float]


def standings(steps: Steps) -> dict[str, list[Standing]]:
    """Return the options of each problem in their order, as an answer of the case has them."""
    verdicts = {one: course.verdict for one, course in steps.courses.items()}
    found: dict[str, list[Standing]] = {problem.id: [] for problem in steps.problems}
    labels = {c.id: c.label for c in steps.candidates}
    by_problem: dict[str, list[Score]] = {problem: [] for problem in found}
    for c in steps.candidates:
        by_problem[c.damage.id].append(steps.scores[c.id])
    for problem, scores in by_problem.items():
        for rank, s in enumerate(in_order(scores, verdicts), 1):
            one = Standing(
                s.option,
                labels[s.option],
                rank,
                verdicts[s.option],
                s.meets_aim,
                s.hindrance,
                s.residual,
                s.burden,
                s.hours,
            )
            found[problem].append(one)
    return found
