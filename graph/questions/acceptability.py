"""How far the order depends on weights and scores that nobody knows exactly.

Stochastic multicriteria acceptability (Lahdelma and Salminen 2001, SMAA-2, Operations Research
49:444-454): weights are drawn uniformly from all those that the policy's statements of order
allow, scores from their intervals, and it is counted how often each option takes each rank.

    rank share      b(i, r) = share of draws in which option i has rank r
    central weights c(i)    = mean of the weights over the draws in which i is first; None if never
    confidence      p(i)    = share of score draws in which i is first under c(i)

Options that tie share the ranks they take together, so that shares add up to one for each option
and for each rank. The order in a draw is that of the answer: heading (aim met, helps, does not
help, defeated), hindrance left, weighted burden with what open points add. Scores are drawn from
the triangular distribution over low, value, high (our choice, *practice*), each independently;
efficacy is rounded to the nearest grade, since an aim is met or not by whole grades.
The standard error of a share is at most 0.5 / sqrt(draws).
"""

from __future__ import annotations

import hashlib
import zlib
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from leastwise.graph.case.record import Case
from leastwise.graph.ids import OptionId
from leastwise.graph.meanings import Verdict
from leastwise.graph.questions.weights import draw_weights, order_kept
from leastwise.graph.weighing.advise import Adviser
from leastwise.graph.weighing.argument import argue
from leastwise.graph.weighing.candidates import Candidate
from leastwise.graph.weighing.ranking import HELPS, IDLE, MEETS, OUT, WORST, enough
from leastwise.graph.weighing.scores import OptionScores, Seen, score_intervals
from leastwise.graph.weighing.ways import Way, grouped, ways_of

__all__ = [
    "CaseShares",
    "DamageShares",
    "OptionShares",
    "Ranked",
    "Uncertain",
    "ahead",
    "case_shares",
    "draw_scores",
    "rank_shares",
    "seed_of",
    "share_ranks",
]

DRAWS = 4096
Floats = NDArray[np.float64]
#: Values nearer to each other than this tie; it hides the last bits of the arithmetic.
RESOLUTION = 1e9
TIER_STEP = np.int64(10**11)
#: The grades of efficacy.
GRADES = range(WORST + 1)


@dataclass(frozen=True, slots=True)
class Uncertain:
    """An option as the draws see it.

    *grades* is (low, value, high) for each axis, 0 none to 4 worst; *out* marks what is defeated;
    *efficacy* is (low, value, high), *hindrance* and *allowed* decide with it whether the aim is
    met; *waiting* is what open points add to the burden, whatever is drawn; *alone* marks leaving
    alone.
    """

    name: str
    grades: tuple[tuple[float, float, float], ...]
    out: bool = False
    efficacy: tuple[float, float, float] = (0.0, 0.0, 0.0)
    hindrance: int = 0
    allowed: int = 0
    waiting: float = 0.0
    alone: bool = False


@dataclass(frozen=True)
class Ranked:
    """Shares as arrays; the rows are the options in the order given."""

    shares: Floats  # (options, ranks)
    central: tuple[Floats | None, ...]
    confidence: tuple[float | None, ...]
    entropy_bits: float  # of the first place: 0 settled, log2(options) wide open


@dataclass(frozen=True, slots=True)
class OptionShares:
    """One option's share of each rank, from the first; None where it is never first."""

    option: str
    label: str
    verdict: Verdict
    shares: tuple[float, ...]
    central_weights: Mapping[str, float] | None
    confidence: float | None


@dataclass(frozen=True, slots=True)
class WayShare:
    """Options of one damage that go the same way, best first, and how often one of them is first.

    *way* names what they have in common; it is empty where an option stands by itself.
    """

    way: str
    options: tuple[str, ...]
    first: float


@dataclass(frozen=True, slots=True)
class DamageShares:
    """The options of one damage in the order of their mean rank.

    *ways* are the same options but for what is defeated, put together where they go the same way.
    """

    damage: str
    entropy_bits: float
    options: tuple[OptionShares, ...]
    ways: tuple[WayShare, ...] = ()


@dataclass(frozen=True, slots=True)
class CaseShares:
    """Rank shares of a case, with all that is needed to repeat them."""

    policy: str
    order: tuple[str, ...]
    draws: int
    seed: int
    digest: str
    standard_error: float
    damages: tuple[DamageShares, ...]


def triangular(luck: Floats, low: float, value: float, high: float) -> Floats:
    """Return the quantiles of the triangular distribution; they never fall if a corner rises."""
    if high <= low:
        return np.full_like(luck, value)
    split = (value - low) / (high - low)
    rising = low + np.sqrt(luck * (high - low) * (value - low))
    falling = high - np.sqrt((1.0 - luck) * (high - low) * (high - value))
    return np.where(luck < split, rising, falling)


def draw_scores(
    options: Sequence[Uncertain], draws: int, seed: int
) -> tuple[Floats, NDArray[np.int64]]:
    """Return grades (options, draws, axes) and tiers (draws, options).

    Each option draws from a stream named after it, so that neither the order of the options nor
    what others there are changes what it draws.
    """
    axes = len(options[0].grades) if options else 0
    grades = np.empty((len(options), draws, axes))
    tiers = np.empty((draws, len(options)), dtype=np.int64)
    for i, one in enumerate(options):
        rng = np.random.default_rng([seed, zlib.crc32(one.name.encode())])
        luck = rng.random((axes + 1, draws))
        for j, (low, value, high) in enumerate(one.grades):
            grades[i, :, j] = triangular(luck[j], low, value, high)
        worked = np.floor(triangular(luck[axes], *one.efficacy) + 0.5)
        residual = np.maximum(0, one.hindrance - worked)
        helps = np.where(residual < one.hindrance, HELPS, IDLE)
        meets = np.array([enough(one.hindrance, e, one.allowed, alone=one.alone) for e in GRADES])
        stands = np.where(meets[worked.astype(np.int64)], MEETS, helps)
        stands = np.full_like(stands, OUT) if one.out else stands
        tiers[:, i] = stands * (WORST + 1) + np.where(stands == MEETS, 0, residual)
    return grades, tiers


def share_ranks(burden: Floats, tiers: NDArray[np.int64]) -> tuple[Floats, Floats]:
    """Return the rank shares (options, ranks) and who is first in each draw (draws, options).

    *burden* and *tiers* are (draws, options); less is better, and a lower tier comes before any
    burden. Options that tie share the ranks they take together.
    """
    draws, number = burden.shape
    keys = tiers * TIER_STEP + np.rint(burden * RESOLUTION).astype(np.int64)
    order = np.argsort(keys, axis=1)
    ranked = np.take_along_axis(keys, order, axis=1)
    starts = np.ones((draws, number), dtype=bool)
    starts[:, 1:] = ranked[:, 1:] != ranked[:, :-1]
    if starts.all():
        flat = np.bincount((order * number + np.arange(number)).ravel(), minlength=number**2)
        shares = flat.reshape(number, number).astype(np.float64)
    else:
        shares = _shared(order, starts)
    first = (keys == ranked[:, :1]).astype(np.float64)
    first /= first.sum(axis=1, keepdims=True)
    return shares / draws, first


def _shared(order: NDArray[np.int64], starts: NDArray[np.bool_]) -> Floats:
    """Count ranks where some tie: each of k options that tie gets 1/k of each of their k ranks."""
    draws, number = order.shape
    places = np.arange(number)
    group = np.cumsum(starts.ravel()) - 1
    begins = np.flatnonzero(starts.ravel())
    size = np.diff(np.append(begins, draws * number))[group].reshape(draws, number)
    begin = np.maximum.accumulate(np.where(starts, places, 0), axis=1)
    row = order * (number + 1)
    part = (1.0 / size).ravel()
    length = number * (number + 1)
    steps: Floats = np.bincount((row + begin).ravel(), part, length).astype(np.float64)
    steps -= np.bincount((row + begin + size).ravel(), part, length)
    shares: Floats = np.cumsum(steps.reshape(number, number + 1), axis=1)[:, :number]
    return shares


def rank_shares(options: Sequence[Uncertain], weights: Floats, seed: int) -> Ranked:
    """Return rank shares, central weights and confidence of *options* under drawn *weights*.

    The same options, weights and seed give the same shares.
    """
    if not options:
        return Ranked(np.zeros((0, 0)), (), (), 0.0)
    grades, tiers = draw_scores(options, len(weights), seed)
    waiting = np.array([one.waiting for one in options])
    burden = np.einsum("oda,da->do", grades, weights) / WORST + waiting
    shares, first = share_ranks(burden, tiers)
    held = first.sum(axis=0)
    central = tuple(first[:, i] @ weights / n if n else None for i, n in enumerate(held.tolist()))
    confidence = tuple(
        None if c is None else _confidence(i, c, grades, tiers, waiting)
        for i, c in enumerate(central)
    )
    return Ranked(shares, central, confidence, _entropy_bits(shares[:, 0]))


def _confidence(
    i: int, weights: Floats, grades: Floats, tiers: NDArray[np.int64], waiting: Floats
) -> float:
    burden = (grades @ weights).T / WORST + waiting
    keys = tiers * TIER_STEP + np.rint(burden * RESOLUTION).astype(np.int64)
    best = keys == keys.min(axis=1, keepdims=True)
    return float((best[:, i] / best.sum(axis=1)).mean())


def _entropy_bits(shares: Floats) -> float:
    held = shares[shares > 0]
    return float(max(0.0, -(held * np.log2(held)).sum()))


def seed_of(case: Case) -> tuple[int, str]:
    """Return the seed that a case's content gives, and the digest it comes from."""
    digest = hashlib.sha256(case.model_dump_json().encode()).hexdigest()[:16]
    return int(digest[:8], 16), digest


def _gathered(
    adviser: Adviser, case: Case, only: str = ""
) -> dict[str, list[tuple[Uncertain, Verdict]]]:
    """Return the options by damage with their verdicts, as the draws see them."""
    steps = adviser.steps(case, only)
    policy = steps.policy
    found: dict[str, list[tuple[Uncertain, Verdict]]] = {}
    seen: Seen = {}
    for c in steps.candidates:
        exposures = steps.data.exposures[c.id]
        verdict = argue(c.technique.label, steps.findings.get(c.id, ()), exposures).verdict
        scores = score_intervals(
            c, exposures, steps.scores[c.id], adviser.catalogue, policy, seen=seen
        )
        one = _uncertain(scores, verdict, policy.residual_allowed, steps.scores[c.id].waiting, c)
        found.setdefault(c.damage.id, []).append((one, verdict))
    return found


def _uncertain(
    scores: OptionScores, verdict: Verdict, allowed: int, waiting: float, candidate: Candidate
) -> Uncertain:
    grades = tuple((g.low, g.value, g.high) for g in scores.burdens.values())
    return Uncertain(
        scores.option,
        grades,
        verdict == Verdict.DEFEATED,
        scores.efficacy,
        scores.hindrance,
        allowed,
        waiting,
        candidate.is_baseline,
    )


def case_shares(adviser: Adviser, case: Case, *, draws: int = DRAWS, seed: int = 0) -> CaseShares:
    """Return the rank shares of every damage of a case under the adviser's policy.

    *seed* is added to the one that the case's content gives; the same case, knowledge, policy,
    draws and seed give the same shares.

    Raises:
        ValueError: *draws* is not between 100 and 100000, or *seed* is negative.

    """
    if not 100 <= draws <= 100_000 or seed < 0:
        raise ValueError(
            f"draws {draws}, seed {seed}: expected 100 to 100000 draws and a seed from 0 on"
        )
    own, digest = seed_of(case)
    policy, names = adviser.policy_of(case), adviser.catalogue.axes
    order = order_kept(adviser.catalogue, policy)
    weights = draw_weights(len(names), draws, np.random.default_rng([own, seed]), order)
    return CaseShares(
        policy=policy.id,
        order=tuple(sorted(f"{names[i]} at least as much as {names[j]}" for i, j in order)),
        draws=draws,
        seed=seed,
        digest=digest,
        standard_error=round(0.5 / draws**0.5, 4),
        damages=tuple(
            _damage_shares(damage, rows, weights, own + seed, adviser)
            for damage, rows in _gathered(adviser, case).items()
        ),
    )


def _damage_shares(
    damage: str,
    rows: Sequence[tuple[Uncertain, Verdict]],
    weights: Floats,
    seed: int,
    adviser: Adviser,
) -> DamageShares:
    ranked = rank_shares([one for one, _ in rows], weights, seed)
    mean = [float(m) for m in ranked.shares @ np.arange(len(rows))]
    k = adviser.knowledge
    options = []
    for i in sorted(range(len(rows)), key=lambda i: (round(mean[i], 9), rows[i][0].name)):
        name, central, sure = rows[i][0].name, ranked.central[i], ranked.confidence[i]
        options.append(
            OptionShares(
                name,
                k.label(OptionId(name).technique),
                rows[i][1],
                tuple(round(s, 4) for s in ranked.shares[i].tolist()),
                None if central is None else _named(central, adviser.catalogue.axes),
                None if sure is None else round(sure, 4),
            )
        )
    ways = tuple(_by_way(options, ways_of(k)))
    return DamageShares(damage, round(ranked.entropy_bits, 4), tuple(options), ways)


def _by_way(
    options: Sequence[OptionShares], ways: Mapping[str, Mapping[str, Way]]
) -> Iterator[WayShare]:
    """Yield the options that aren't defeated, those that go the same way together."""
    standing = [one for one in options if one.verdict != Verdict.DEFEATED]
    for group in grouped(standing, lambda one: ways.get(OptionId(one.option).technique, {})):
        name = next(iter(group.ways), "") if len(group.options) > 1 else ""
        first = round(sum(one.shares[0] for one in group.options), 4)
        yield WayShare(name, tuple(one.option for one in group.options), first)


def _named(weights: Floats, axes: Sequence[str]) -> dict[str, float]:
    return {axis: round(w, 4) for axis, w in zip(axes, weights.tolist(), strict=True)}


def ahead(adviser: Adviser, case: Case, one: str, other: str, draws: int = DRAWS) -> float:
    """Return the share of draws in which *one* stands above *other* (pairwise winning index).

    Both are options of one damage; a tie counts half.
    """
    own, _ = seed_of(case)
    order = order_kept(adviser.catalogue, adviser.policy_of(case))
    rng = np.random.default_rng([own, 0])
    weights = draw_weights(len(adviser.catalogue.axes), draws, rng, order)
    found: Mapping[str, Uncertain] = {
        u.name: u
        for option in (one, other)
        for rows in _gathered(adviser, case, option).values()
        for u, _ in rows
    }
    pair = rank_shares([found[one], found[other]], weights, own)
    return round(float(pair.shares[0, 0]), 4)
