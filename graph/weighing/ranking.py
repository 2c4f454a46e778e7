"""Burden, benefit and order: what meets the aim comes first, the least burden before more.

Each axis is graded 0 (none) to 4 (worst) and weighted by a policy that is data. Benefit is how
much of what hinders the aim an option takes away. Dominance needs no weights: one option
dominates another if it burdens no axis more, helps at least as much, and is better in one.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

from leastwise.graph.case.record import Case, DamageFound, Tri
from leastwise.graph.errors import KnowledgeError, LeastwiseError
from leastwise.graph.ids import OptionId
from leastwise.graph.knowledge.concepts import Catalogue, HindranceShift
from leastwise.graph.meanings import Verdict
from leastwise.graph.names import camel
from leastwise.graph.weighing.candidates import Candidate
from leastwise.graph.weighing.exposure import Exposure
from leastwise.graph.weighing.needs import NeedHere

__all__ = [
    "HELPS",
    "IDLE",
    "MEETS",
    "OUT",
    "Policy",
    "Score",
    "UnknownPolicy",
    "default_policy",
    "dominators",
    "enough",
    "heading",
    "in_order",
    "policy_named",
    "score",
    "weighted_burden",
]

VERDICT_ORDER = {Verdict.ACCEPTED: 0, Verdict.UNDECIDED: 1, Verdict.DEFEATED: 2}
EXPOSURE_AXIS = "axis:exposure"
WORST = 4
#: Words of no more letters name no part: "of", "the", "and".
SMALL_WORD = 3
#: Weights are shares, rounded to so many places.
PLACES = 6
#: The least efficacy that meets an aim: what hardly helps (grade 1) leaves it as it was.
HELPS_IN_PART = 2
#: How far a need that somebody entered by hand hinders at the least.
AT_LEAST_RECORDED = 2
#: What a policy that says nothing of open points counts with: half of them hold, out of
#: ignorance; falling back costs half of the worst burden (our judgement).
POINT_HOLDS, FALLING_BACK_COSTS = 0.5, 0.5
#: How far evidence that rests hinders at most: it may be reduced where the curator agreed, and is
#: shown as what it is all the same (our judgement).
SEEN_AS_EVIDENCE = 1
#: The headings under which options stand: they meet the aim, help in part, don't help, are out.
MEETS, HELPS, IDLE, OUT = range(4)


class UnknownPolicy(LeastwiseError):  # noqa: N818 - reads as what happened
    """A policy that the knowledge doesn't hold; the message lists those that it holds."""

    def __init__(self, given: str, there: list[str]) -> None:
        self.given, self.there = given, there
        super().__init__(f"policy: got {given!r}; expected one of {', '.join(there)}.")


@dataclass(frozen=True, slots=True)
class Policy:
    """Weights of the axes (they sum to 1), and what counts as enough.

    *unknown_counts_as* is the grade of an exposure of unknown harm; *residual_allowed* is the
    hindrance (0 to 4) that may stay if the object is still to serve its aim. *point_holds* is the
    chance that one open point comes out well, *falling_back_costs* the burden (0 to 1) of having
    to fall back on another option if one does not.
    """

    id: str
    label: str
    definition: str
    weights: Mapping[str, float]
    unknown_counts_as: int
    residual_allowed: int
    point_holds: float = POINT_HOLDS
    falling_back_costs: float = FALLING_BACK_COSTS

    def waiting(self, open_points: float) -> float:
        """Return what open points add to a burden in expectation: cost x chance that one fails."""
        fails = 1.0 - self.point_holds**open_points
        return round(float(self.falling_back_costs * fails), 6)


@dataclass(frozen=True, slots=True)
class Score:
    """What an option costs the object and what it gives the aim."""

    option: OptionId
    burdens: Mapping[str, int]  # axis -> grade 0 to 4
    burden: float  # weighted, 0 none to 1 worst
    hindrance: int  # of the damage left alone, 0 to 4
    efficacy: int
    residual: int  # hindrance left after the option
    meets_aim: bool
    hours: tuple[float, float]
    waiting: float = 0.0  # what its open points add to the burden in expectation

    @property
    def expected(self) -> float:
        """The burden to expect: its own, and that of falling back if an open point fails."""
        return round(self.burden + self.waiting, 6)

    @property
    def benefit(self) -> int:
        """Grades of hindrance taken away."""
        return self.hindrance - self.residual


def default_policy(catalogue: Catalogue) -> Policy:
    """Return the policy that the knowledge marks as the default, in its nearest layer."""
    return read_policy(catalogue, catalogue.knowledge.defaults("lw:Policy")[-1])


def policy_named(catalogue: Catalogue, name: str) -> Policy:
    """Return the policy called *name* (``policy:`` may be left out), the default for "".

    Raises:
        UnknownPolicy: the knowledge holds no such policy.

    """
    if not name:
        return default_policy(catalogue)
    there = catalogue.knowledge.instances("lw:Policy")
    curie = name if ":" in name else f"policy:{name}"
    if curie not in there:
        raise UnknownPolicy(name, there)
    return read_policy(catalogue, curie)


def read_policy(catalogue: Catalogue, policy: str) -> Policy:
    """Return a policy of the knowledge; its weights are scaled to sum to 1.

    Raises:
        KnowledgeError: no axis has any weight.

    """
    k = catalogue.knowledge
    weights = {
        k.object(node, "lw:axis") or "": k.number(node, "lw:weight") or 0.0
        for node in reversed(k.objects(policy, "lw:weighs"))  # the first one stays
    }
    total = sum(weights.values())
    if total <= 0:
        raise KnowledgeError(policy, "no axis has any weight.", "Give one a weight above 0.")
    unknown = k.number(policy, "lw:unknownCountsAs")
    return Policy(
        policy,
        k.label(policy),
        k.text(policy, "skos:definition"),
        {axis: round(weights.get(axis, 0.0) / total, PLACES) for axis in catalogue.axes},
        WORST if unknown is None else int(unknown),
        int(k.number(policy, "lw:residualAllowed") or 0),
        _share(k.number(policy, "lw:openPointHolds"), POINT_HOLDS),
        _share(k.number(policy, "lw:fallingBackCosts"), FALLING_BACK_COSTS),
    )


def _share(given: float | None, otherwise: float) -> float:
    return otherwise if given is None else given


def score(  # noqa: PLR0913, PLR0917 - what an option is scored by
    candidate: Candidate,
    exposures: Sequence[Exposure],
    case: Case,
    catalogue: Catalogue,
    policy: Policy,
    eased: int = 0,
    waiting: float = 0.0,
) -> Score:
    """Return the burden and the benefit of one option; *waiting* is what its open points add.

    Hindrance comes from the kind of damage or need and the aim, with what severity, activity and
    extent add or take (policy.ttl), less *eased*, by which conditions of the record lower it; what
    an option leaves is hindrance less efficacy, never below 0.
    """
    burdens = dict(candidate.burdens)
    burdens[EXPOSURE_AXIS] = worst_exposure(exposures, policy, catalogue)
    hindrance = max(0, _hindrance(candidate, case, catalogue) - eased)
    efficacy = _efficacy(candidate, case, catalogue)
    residual = max(0, hindrance - efficacy)
    return Score(
        option=candidate.id,
        burdens=burdens,
        burden=weighted_burden(burdens, policy.weights),
        hindrance=hindrance,
        efficacy=efficacy,
        residual=residual,
        meets_aim=enough(hindrance, efficacy, policy.residual_allowed, alone=candidate.is_baseline),
        hours=candidate.hours,
        waiting=waiting,
    )


def enough(hindrance: int, efficacy: int, allowed: int, *, alone: bool = False) -> bool:
    """Return whether an option of so much efficacy meets the aim, where *allowed* may stay.

    What hardly helps meets no aim that asks for something, and what does nothing meets none;
    leaving alone (*alone*) meets it where nothing has to be done.

    >>> [enough(2, efficacy, 1) for efficacy in (0, 1, 2)]
    [False, False, True]
    >>> enough(1, 1, 1), enough(1, 0, 1), enough(1, 0, 1, alone=True)
    (True, False, True)
    """
    if hindrance <= allowed:
        return alone or efficacy > 0
    return efficacy >= HELPS_IN_PART and hindrance - efficacy <= allowed


def weighted_burden(burdens: Mapping[str, int], weights: Mapping[str, float]) -> float:
    """Return the weighted burden, 0 none to 1 worst, rounded to six places.

    It is added up from left to right, one rounding a step, so that whoever works it out again in
    the same order (a page that moves a weight) comes to the same number.
    """
    total = 0.0
    for axis, grade in burdens.items():
        total += weights[axis] * grade
    return round(total / WORST, 6)


def worst_exposure(exposures: Iterable[Exposure], policy: Policy, catalogue: Catalogue) -> int:
    """Return the gravest expected harm of the exposures that nothing stops.

    An unknown counts as the policy says, for the agents that every material is graded for;
    the others (own weight, flexing, suction) are judged by rules and have no grades.
    """
    grades = [
        policy.unknown_counts_as if e.harm < 0 else e.harm
        for e in exposures
        if not e.reach.stopped and (e.harm >= 0 or catalogue.agents[e.agent].graded)
    ]
    return max(grades, default=0)


def _efficacy(candidate: Candidate, case: Case, catalogue: Catalogue) -> int:
    """Return how well the option answers; 0 if it can't be in place while the aim is served."""
    need = catalogue.needs.get(candidate.damage.damage)
    if need is not None and need.beforehand:
        return candidate.efficacy
    held = camel(case.aim.mounting) in candidate.technique.not_while
    return 0 if held else candidate.efficacy


def _hindrance(candidate: Candidate, case: Case, catalogue: Catalogue) -> int:
    """Return how far the problem hinders the aim, 0 to 4, with the shifts of the record.

    A damage hinders the purpose that leads; a need stands for the purpose that asks most for it,
    and one that somebody recorded hinders in any case.
    """
    problem = candidate.damage
    if problem.evidence is Tri.YES and _is_kept(problem, case):
        return 0  # what has to be kept hinders no aim
    is_need = problem.damage in catalogue.needs
    purposes = case.aim.purposes if is_need else (case.aim.purpose,)
    known = [catalogue.hindrance(problem.damage, f"aim:{one}") for one in purposes]
    grade = max((one for one in known if one is not None), default=None)
    if isinstance(problem, NeedHere) and not problem.derived:
        return max(AT_LEAST_RECORDED, WORST if grade is None else grade)
    if grade is None:
        return WORST
    for shift in catalogue.shifts:
        if grade >= shift.from_grade and _says(problem, shift):
            grade += shift.grades
    if problem.evidence is Tri.YES and _rests(problem):
        grade = min(grade, SEEN_AS_EVIDENCE)
    return min(WORST, max(0, grade))


def _is_kept(problem: DamageFound, case: Case) -> bool:
    """Return whether evidence stays: the curator hasn't agreed, or it is named as to be kept."""
    if case.significance.curator_agrees is not Tri.YES:
        return True
    parts = [part for part in case.parts if part.id in problem.parts]
    names = [name for part in parts for name in (part.name, part.id)]
    words = {word for name in names for word in _words(name)}
    return any(words.intersection(_words(text)) for text in case.significance.keep)


def _rests(problem: DamageFound) -> bool:
    """Return whether a damage gets no worse and isn't grave where it is."""
    return problem.activity == "stable" and problem.severity in ("slight", "moderate")


def _words(text: str) -> set[str]:
    """Return the words that tell one thing from another, without the small ones."""
    return {word for word in re.findall(r"[a-z]+", text.casefold()) if len(word) > SMALL_WORD}


def _says(problem: DamageFound, shift: HindranceShift) -> bool:
    """Return whether the record of a damage says what a shift is for."""
    if shift.percent is None:
        return shift.value in (camel(problem.severity), camel(problem.activity))
    extent = problem.extent
    if problem.severity != "unknown" or isinstance(extent, str) or extent.unit != "percent":
        return False  # how severe it is has been judged, or nothing is known of its size
    low, high = shift.percent
    return low <= extent.value <= high


def dominators(one: Score, others: Iterable[Score]) -> list[OptionId]:
    """Return the options that dominate *one*, in alphabetical order.

    They are as gentle on every axis, as helpful and as quick at best, and more helpful or gentler.
    """
    return sorted(other.option for other in others if _dominates(other, one))


def _dominates(a: Score, b: Score) -> bool:
    no_worse = all(a.burdens[axis] <= b.burdens[axis] for axis in b.burdens)
    no_less = a.benefit >= b.benefit and a.hours[0] <= b.hours[0]
    better = a.benefit > b.benefit or any(a.burdens[axis] < b.burdens[axis] for axis in b.burdens)
    return no_worse and no_less and better


def heading(score: Score, verdict: str) -> int:
    """Return under which heading an option stands: MEETS, HELPS, IDLE or OUT.

    What is not defeated stands by what it does for the aim, accepted or not: an option that waits
    for a test and meets the aim comes before one that is accepted and doesn't.
    """
    if verdict == Verdict.DEFEATED:
        return OUT
    if score.meets_aim:
        return MEETS
    return HELPS if score.residual < score.hindrance else IDLE


def in_order(scores: Iterable[Score], verdicts: Mapping[OptionId, Verdict]) -> list[Score]:
    """Return the scores in order of preference.

    By heading (what meets the aim, helps in part, doesn't help, is defeated); then less hindrance
    left among those that don't meet the aim; then less burden to expect, open points counted in;
    then fewer hours; then more help; then the name.
    """

    def key(s: Score) -> tuple[int, int, float, float, int, float, str]:
        stands = heading(s, verdicts[s.option])
        left = 0 if stands == MEETS else s.residual
        return stands, left, s.expected, s.hours[0], s.residual, s.hours[1], s.option

    return sorted(scores, key=key)
