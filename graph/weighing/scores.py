"""Scores as intervals: what each grade of an option rests on, and how far it may be off.

A grade is low, value, high on the scale of its axis (0 none to 4 worst; for benefit 4 is best).
*Value* is the grade that the answer counts with; the interval widens where claims disagree or
are weak. The formulas, in which the half and the whole grade are our judgement (*practice*):

``slack``
    How far a grade that rests on claims may be off: 0 grades if the best of them is read with
    high confidence, half a grade if the best is of moderate confidence, one grade if all are of
    low confidence or recalled (*memory*), or if there is none.

burden axes
    value = the gravest grade of the technique and the acts that make it possible (practice); low
    and high = value -/+ the slack of the claims that what gives it rests on. Leaving alone burdens
    nothing, so there the interval is a point.

exposure axis
    For each exposure that nothing stops, harm = severity less the discount of its dose. low, value
    and high are the gravest over all exposures of: the mildest claim of the nearest graded level
    less its slack; the gravest claim; the gravest claim plus its slack. Where a material is not
    identified for certain low is 0, since it may not be there. An exposure of unknown harm gives
    the policy's grade for the unknown as low and value, and 4 as high.

benefit
    value = the efficacy of the effect claim, but no more than the damage hinders; low = the lower
    of the claim's low efficacy and efficacy less slack; high = value, since hope is no evidence.

All are held to 0..4.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

from leastwise.graph.knowledge.concepts import Catalogue, Technique
from leastwise.graph.weighing.candidates import Candidate
from leastwise.graph.weighing.exposure import Exposure, expected_harm
from leastwise.graph.weighing.ranking import EXPOSURE_AXIS, WORST, Policy, Score

__all__ = ["BENEFIT", "Graded", "OptionScores", "Seen", "gravest", "score_intervals", "slack"]

#: (claims, dose, how surely the material is there) -> low, value, high of the harm.
Seen = dict[tuple[object, ...], tuple[float, float, float]]
BENEFIT = "axis:benefit"
#: How a material has to be identified for its harm to be there without doubt.
CERTAIN = "certain"
DISCOUNT_WORDS = ("", "lowers it by one", "lowers it by two")


@dataclass(frozen=True, slots=True)
class Graded:
    """One grade with its interval, the claims it rests on and how it came about, in words."""

    axis: str
    low: float
    value: float
    high: float
    because: str
    claims: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class OptionScores:
    """The graded axes of one option, and how well it works as an interval of efficacy."""

    option: str
    burdens: Mapping[str, Graded]
    benefit: Graded
    efficacy: tuple[float, float, float]
    hindrance: int


def slack(claims: Iterable[str], catalogue: Catalogue) -> float:
    """Return by how many grades what rests on *claims* may be off: 0, 0.5 or 1.

    0 if one of them is read, or is our practice, with high confidence; 0.5 if the best is of
    moderate confidence; 1 if all are of low confidence or recalled, or there is none.
    """
    k, best = catalogue.knowledge, 1.0
    for claim in claims:
        if k.object(claim, "lw:basis") == "lw:memory":
            continue
        confidence = k.object(claim, "lw:confidence")
        best = min(best, {"lw:high": 0.0, "lw:moderate": 0.5}.get(confidence or "", 1.0))
    return best


def score_intervals(  # noqa: PLR0913 - what an option is scored by
    candidate: Candidate,
    exposures: Sequence[Exposure],
    score: Score,
    catalogue: Catalogue,
    policy: Policy,
    *,
    seen: Seen | None = None,
) -> OptionScores:
    """Return the scores of one option with their intervals and grounds.

    *seen* keeps the intervals of harm already worked out, for further options under this policy.
    """
    known: Seen = {} if seen is None else seen
    burdens = {
        axis: _exposed(exposures, score.burdens[axis], catalogue, policy, known)
        if axis == EXPOSURE_AXIS
        else _burden(axis, score.burdens[axis], candidate, catalogue)
        for axis in score.burdens
    }
    efficacy, grounds, claims = _efficacy(candidate, score, catalogue)
    low, value, high = (min(float(score.hindrance), e) for e in efficacy)
    benefit = Graded(BENEFIT, low, value, high, grounds, claims)
    return OptionScores(candidate.id, burdens, benefit, efficacy, score.hindrance)


def _burden(axis: str, grade: int, candidate: Candidate, catalogue: Catalogue) -> Graded:
    label = catalogue.knowledge.label(axis)
    if candidate.is_baseline:
        text = f"{label} {grade} because nothing is done to the object"
        return Graded(axis, float(grade), float(grade), float(grade), text, ())
    of_course = (candidate.technique, *(act.technique for act in candidate.acts))
    giver = gravest(of_course, axis)
    claims = giver.rests_on
    off = slack(claims, catalogue)
    low, high = _held(grade - off), _held(grade + off)
    what = "it" if giver is candidate.technique else f"{giver.label}, which comes with it,"
    text = (
        f"{label} {grade} because by our practice {what} is '{_step(axis, grade, catalogue)}'; "
        f"{_strength(off, len(claims))}"
    )
    return Graded(axis, low, float(grade), high, text, claims)


def gravest(of_course: Iterable[Technique], axis: str) -> Technique:
    """Return which technique of a course gives its grade on an axis; of equals the first."""
    return max(of_course, key=lambda one: dict(one.burdens).get(axis, 0))


def _step(axis: str, grade: int, catalogue: Catalogue) -> str:
    k = catalogue.knowledge
    for node in k.objects(axis, "lw:scaleStep"):
        if k.number(node, "lw:grade") == grade:
            return k.text(node, "lw:meaning")
    return f"grade {grade} of {WORST}"


def _strength(off: float, number: int) -> str:
    if not number:
        return "it rests on no claim, so it may be off by a grade"
    best = {0.0: "high", 0.5: "moderate", 1.0: "low"}[off]
    may = {0.0: "taken as it is", 0.5: "it may be off by half a grade", 1.0: "it may be off by one"}
    return f"the best of {number} claim{'s' * (number > 1)} has {best} confidence, {may[off]}"


def _exposed(
    exposures: Sequence[Exposure], grade: int, catalogue: Catalogue, policy: Policy, seen: Seen
) -> Graded:
    live = [
        e for e in exposures if not e.stopped and (e.harm >= 0 or catalogue.agents[e.agent].graded)
    ]
    if not live:
        text = "exposure 0 because no graded agent reaches any material"
        return Graded(EXPOSURE_AXIS, 0.0, 0.0, 0.0, text, ())
    rows = [_harm(e, catalogue, policy, seen) for e in live]
    low, high = max(r[0] for r in rows), max(r[2] for r in rows)
    worst = next(e for e, r in zip(live, rows, strict=True) if r[1] == grade)
    text = _because(worst, grade, catalogue, policy)
    return Graded(
        EXPOSURE_AXIS, min(low, float(grade)), float(grade), high, text, worst.sensitivity.claims
    )


def _harm(
    e: Exposure,
    catalogue: Catalogue,
    policy: Policy,
    seen: Seen,
) -> tuple[float, float, float]:
    """Return low, value and high of one exposure's harm; each kind is worked out once."""
    key = (e.sensitivity.claims, e.dose, e.identification)
    found = seen.get(key)
    if found is None:
        found = seen[key] = _harm_of(e, catalogue, policy)
    return found


def _harm_of(e: Exposure, catalogue: Catalogue, policy: Policy) -> tuple[float, float, float]:
    if e.harm < 0:
        unknown = float(policy.unknown_counts_as)
        return unknown, unknown, float(WORST)
    severities = _severities(e, catalogue)
    mildest, gravest = min(severities), max(severities)
    mild = [c for c, s in zip(e.sensitivity.claims, severities, strict=True) if s == mildest]
    grave = [c for c, s in zip(e.sensitivity.claims, severities, strict=True) if s == gravest]
    least = _held(expected_harm(mildest, e.dose) - slack(mild, catalogue))
    return (
        least if e.identification == CERTAIN else 0.0,
        float(e.harm),
        _held(expected_harm(gravest, e.dose) + slack(grave, catalogue)),
    )


def _severities(e: Exposure, catalogue: Catalogue) -> list[int]:
    k = catalogue.knowledge
    return [int(k.number(claim, "lw:severity") or 0) for claim in e.sensitivity.claims]


def _because(e: Exposure, grade: int, catalogue: Catalogue, policy: Policy) -> str:
    k = catalogue.knowledge
    agent, material = k.label(e.agent), k.label(e.material)
    if e.harm < 0:
        return (
            f"exposure {grade} because nothing grades {material} of {e.part} for {agent}, and the "
            f"policy counts the unknown as {policy.unknown_counts_as}, up to {WORST}"
        )
    severities = _severities(e, catalogue)
    lead, severity = e.sensitivity.claims[0], max(severities)
    lowered = severity - expected_harm(severity, e.dose)
    dose = f"dose {e.dose} {DISCOUNT_WORDS[lowered]}" if lowered else f"dose {e.dose} counts whole"
    other = (
        f"; another claim grades it {min(severities)}, so both stand"
        if min(severities) < severity
        else ""
    )
    off = slack([c for c, s in zip(e.sensitivity.claims, severities, strict=True) if s == severity],
                catalogue)  # fmt: skip
    near = f" (by way of {k.label(e.sensitivity.inherited_from)})" * bool(
        e.sensitivity.inherited_from
    )
    sure = e.identification == CERTAIN
    doubt = "" if sure else f"; that it is {material} is not certain, so there may be no harm"
    return (
        f"exposure {grade} because {lead} grades {material}{near} of {e.part} {severity} for "
        f"{agent} and {dose}{other}{doubt}; "
        f"{_strength(off, len(e.sensitivity.claims))}"
    )


def _efficacy(
    candidate: Candidate, score: Score, catalogue: Catalogue
) -> tuple[tuple[float, float, float], str, tuple[str, ...]]:
    """Return the interval of efficacy, its ground in words and its claims."""
    effect, value = candidate.effect, score.efficacy
    if effect is None:
        return (0.0, 0.0, 0.0), "benefit 0 because leaving alone takes nothing away", ()
    if not value:
        ground = "it does not help, or can't be in place while the aim is served"
        return (0.0, 0.0, 0.0), f"benefit 0 because {ground}", (effect.id,)
    off = slack([effect.id], catalogue)
    # an effect whose condition turns out not to hold counts for nothing
    low = 0.0 if candidate.open else _held(min(float(effect.low), value - off))
    capped = f", of which {score.hindrance} hinder" if value > score.hindrance else ""
    text = (
        f"benefit {min(value, score.hindrance)} because {effect.id} gives efficacy {value}{capped}"
        f" (as low as {effect.low} where results vary); {_strength(off, 1)}, downwards only"
    )
    return (low, float(value), float(value)), text, (effect.id, *effect.rests_on)


def _held(grade: float) -> float:
    return min(float(WORST), max(0.0, grade))
