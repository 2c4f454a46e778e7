"""Why this and not that, and what would change it.

*Why A over B* gives the fewest reasons that put one option above another, in the order in which
the answer is put: defeated or not, aim, hindrance left, burden to expect, hours. Where burden
decides, the reasons are the smallest set of axes (open points counted as one) whose weighted
difference by itself outweighs all that speaks for the other (contrastive explanation: Miller
2019, Artificial Intelligence 267:1-38).

*What would change it* is found by weighing changed cases again: every single change that the
record leaves open, then every pair, as far as the bound of runs goes. If neither suffices, all are
made, and one after another is taken back that isn't needed, so that none of the rest can be left
out; a smaller set of others may then exist, and the answer says so.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from itertools import combinations

from leastwise.graph.answer import Answer, OptionAnswer
from leastwise.graph.case.record import Case
from leastwise.graph.errors import LeastwiseError
from leastwise.graph.questions.acceptability import ahead
from leastwise.graph.questions.changes import (
    Change,
    Rerun,
    applied,
    closed_changes,
    open_changes,
)
from leastwise.graph.sentences import listed
from leastwise.graph.weighing.advise import Adviser
from leastwise.graph.weighing.ranking import VERDICT_ORDER, WORST

__all__ = [
    "Contrast",
    "DifferentDamages",
    "Ground",
    "Way",
    "WhatWouldChange",
    "enough",
    "fewest",
    "what_would_change",
    "why",
]

MOST_RUNS = 300
MOST_WAYS = 12


class DifferentDamages(LeastwiseError):  # noqa: N818 - reads as what happened
    """Two options that answer different damages, or one option twice."""

    def __init__(self, one: str, other: str) -> None:
        super().__init__(
            f"options: got {one!r} over {other!r}; expected two options of one "
            "damage, since options are ranked within their damage."
        )


@dataclass(frozen=True, slots=True)
class Ground:
    """One reason: *what* decides (verdict, aim, hindrance, an axis, hours), and how much.

    *weighted* is the weighted difference of burden on that axis, 0 to 1; 0 for other reasons.
    """

    what: str
    text: str
    weighted: float
    claims: list[str]


@dataclass(frozen=True, slots=True)
class Contrast:
    """Why one option stands above another, and what speaks the other way."""

    above: str
    below: str
    as_asked: bool
    decided_by: str
    sentence: str
    reasons: list[Ground]
    although: list[Ground]
    ahead_share: float
    left_alone: str


@dataclass(frozen=True, slots=True)
class Way:
    """Changes that together bring an option to a verdict, found by weighing the changed case.

    *smallest* says whether all smaller sets were tried in vain; *rank_then* is the option's rank
    within its damage in the changed case.
    """

    verdict: str
    changes: list[Change]
    smallest: bool
    against_record: bool
    rank_then: int


@dataclass(frozen=True, slots=True)
class WhatWouldChange:
    """What would change an option's verdict; *still_against* is what no open change lifts."""

    option: str
    label: str
    verdict: str
    rank: int
    sentence: str
    ways: list[Way]
    still_against: list[str]
    open_changes: int
    runs: int
    bound: int
    all_pairs_tried: bool
    left_alone: str


def fewest(differences: Mapping[str, float]) -> list[str]:
    """Return the fewest names whose positive differences alone outweigh all negative ones.

    Of the sets of that size it is the one with the largest sum. Empty if nothing outweighs.

    >>> fewest({"a": 0.20, "b": -0.12, "c": 0.0})
    ['a']
    """
    against = -sum(d for d in differences.values() if d < 0)
    chosen: list[str] = []
    total = 0.0
    for name, d in sorted(differences.items(), key=lambda item: (-item[1], item[0])):
        if d <= 0:
            break
        chosen.append(name)
        total += d
        if total > against + 1e-9:
            return chosen
    return []


def why(
    adviser: Adviser, case: Case, one: str, other: str, *, answer: Answer | None = None
) -> Contrast:
    """Return why option *one* stands above *other*, or why it is the other way round.

    Both are ids of options of one damage; *answer* is the case's own, if it is at hand.

    Raises:
        DifferentDamages: the options answer different damages, or are the same.

    """
    if one == other or one.partition("/")[0] != other.partition("/")[0]:
        raise DifferentDamages(one, other)
    answer = answer or adviser.weigh(case)
    found = {o.id: o for o in answer.options() if o.id in (one, other)}
    above, below = sorted(found.values(), key=lambda o: o.rank)
    grounds = _Grounds(above, below, answer, adviser)
    decided_by, reasons, although = grounds.decide()
    return Contrast(
        above=above.id,
        below=below.id,
        as_asked=above.id == one,
        decided_by=decided_by,
        sentence=grounds.sentence(reasons, although),
        reasons=reasons,
        although=although,
        ahead_share=ahead(adviser, case, above.id, below.id),
        left_alone=_left_alone(above, below),
    )


@dataclass(frozen=True)
class _Grounds:
    """Compares two options of one answer, in the order in which the answer is put."""

    above: OptionAnswer
    below: OptionAnswer
    answer: Answer
    adviser: Adviser

    def decide(self) -> tuple[str, list[Ground], list[Ground]]:
        """Return what decides, the reasons for it, and what speaks the other way."""
        a, b = self.above, self.below
        axes = self.by_axis()
        residual = (0 if a.meets_aim else a.residual) - (0 if b.meets_aim else b.residual)
        against = [g for g in axes if g.weighted < 0]
        if (a.verdict == "defeated") != (b.verdict == "defeated"):
            return "verdict", [self._verdict()], [*self._less_help(), *self._lighter()]
        if a.meets_aim != b.meets_aim:
            return "aim", [self._aim()], [*self._more_open(), *self._lighter()]
        if residual:
            return "hindrance", [self._residual()], [*self._more_open(), *self._lighter()]
        if round(a.burden + a.waiting, 6) != round(b.burden + b.waiting, 6):
            chosen = fewest({g.what: g.weighted for g in axes})
            return "burden", [next(g for g in axes if g.what == n) for n in chosen], against
        return self._equals()

    def _equals(self) -> tuple[str, list[Ground], list[Ground]]:
        a, b = self.above, self.below
        if a.hours != b.hours:
            text = f"it takes {_range(a.hours)} hours against {_range(b.hours)}"
            return "hours", [Ground("hours", text, 0.0, [])], []
        if a.residual != b.residual:
            return "hindrance", [self._residual()], []
        text = "both are equal in verdict, aim, burden and hours; they stand in order of name"
        return "name", [Ground("name", text, 0.0, [])], []

    def _verdict(self) -> Ground:
        first = next(f for f in self.below.findings if f.effect == "defeats")
        text = f"it is {self.above.verdict}, the other {self.below.verdict}: {first.message}"
        return Ground("verdict", text, 0.0, first.claims)

    def _aim(self) -> Ground:
        allowed, left = self.answer.policy.residual_allowed, self.below.residual
        text = (
            f"it meets the aim and the other {'hardly helps' if left <= allowed else 'does not'}: "
            f"of a hindrance of {self.above.hindrance} it leaves {self.above.residual}, the other "
            f"{left}; {allowed} is allowed"
        )
        return Ground("aim", text, 0.0, self._help_claims())

    def _residual(self) -> Ground:
        text = f"it leaves a hindrance of {self.above.residual}, the other {self.below.residual}"
        return Ground("hindrance", text, 0.0, self._help_claims())

    def _help_claims(self) -> list[str]:
        return list(
            dict.fromkeys(c for o in (self.above, self.below) for c in o.reasons.reasons[0].claims)
        )

    def _less_help(self) -> list[Ground]:
        if self.below.meets_aim and not self.above.meets_aim:
            return [Ground("aim", "only the other meets the aim", 0.0, self._help_claims())]
        return []

    def _lighter(self) -> list[Ground]:
        a, b = self.above.burden, self.below.burden
        text = f"the other burdens the object less ({b:.2f} against {a:.2f} of 1)"
        return [Ground("burden", text, round(a - b, 6), [])] if b < a else []

    def by_axis(self) -> list[Ground]:
        """Return the weighted difference on every axis on which the two differ."""
        k, weights = self.adviser.knowledge, self.answer.policy.weights
        found = []
        for axis, grade in self.above.burdens.items():
            other = self.below.burdens[axis]
            if grade != other:
                weighted = round(weights[axis] * (other - grade) / WORST, 6)
                text = f"{k.label(axis)} {grade} against {other} (weight {weights[axis]:.2f})"
                found.append(Ground(axis, text, weighted, k.objects(axis, "lw:restsOn")))
        return [*found, *self._waiting()]

    def _waiting(self) -> list[Ground]:
        """Return what open points add to the burden to expect, where the two differ in it."""
        a, b = self.above.waiting, self.below.waiting
        if a == b:
            return []
        less = "fewer" if a < b else "more"
        text = f"{less} points are open: {a:.2f} against {b:.2f} of burden to expect from them"
        return [Ground("open points", text, round(b - a, 6), [])]

    def _more_open(self) -> list[Ground]:
        return [g for g in self._waiting() if g.weighted < 0]

    def sentence(self, reasons: Sequence[Ground], although: Sequence[Ground]) -> str:
        """Return the contrast as one sentence."""
        grounds = listed([g.text.rstrip(".") for g in reasons])
        other = f", although {listed([g.text for g in although])}" if although else ""
        return f"{self.above.label} stands above {self.below.label}, because {grounds}{other}."


def _range(hours: Sequence[float]) -> str:
    low, high = hours
    return f"{low:g} to {high:g}" if high > low else f"{low:g}"


def _left_alone(*options: OptionAnswer) -> str:
    """Return what leaving alone means and risks, if one of the options is that."""
    return next((o.reasons.reasons[0].text for o in options if o.is_baseline), "")


def what_would_change(
    adviser: Adviser,
    case: Case,
    option: str,
    *,
    most_runs: int = MOST_RUNS,
    progress: Callable[[int], None] | None = None,
) -> WhatWouldChange:
    """Return what would change the verdict of an option, smallest sets of changes first.

    *most_runs* bounds how often the case is weighed again for single changes and pairs (each run
    takes some 20 ms); taking back what isn't needed adds at most one run a change.
    """
    now = next(o for o in adviser.weigh(case).options() if o.id == option)
    rerun = Rerun(adviser, case, option, progress)
    search = _Search(rerun, open_changes(adviser, case, option), most_runs)
    ways = search.ways(now.verdict)
    reached = min((VERDICT_ORDER[w.verdict] for w in ways), default=VERDICT_ORDER[now.verdict])
    still = rerun.against(search.whole) if reached else []
    if not ways and now.verdict != "accepted":
        closed = closed_changes(adviser, case, option)
        if closed:
            search = _Search(rerun, [*closed, *search.changes], most_runs)
            ways = search.ways(now.verdict)
    return WhatWouldChange(
        option=option,
        label=now.label,
        verdict=now.verdict,
        rank=now.rank,
        sentence=_in_words(now, ways),
        ways=ways,
        still_against=still,
        open_changes=len([c for c in search.changes if not c.against_record]),
        runs=rerun.runs,
        bound=most_runs,
        all_pairs_tried=search.all_pairs_tried,
        left_alone=_left_alone(now),
    )


class _Search:
    """Looks for the smallest sets of changes that bring an option to a better verdict."""

    def __init__(self, rerun: Rerun, changes: list[Change], most_runs: int) -> None:
        self.rerun, self.changes, self.most_runs = rerun, changes, most_runs
        self.whole = rerun.best_of_each(changes)
        self.all_pairs_tried = True

    def ways(self, verdict: str) -> list[Way]:
        """Return the ways to each better verdict that all changes together can reach."""
        if not self.changes:
            return []
        best = VERDICT_ORDER[self._verdict(self.whole)]
        found: list[Way] = []
        for goal in ("undecided", "accepted"):
            rank = VERDICT_ORDER[goal]
            if best <= rank < VERDICT_ORDER[verdict]:
                found += self._ways_to(rank)
        unique = {frozenset(c.key for c in w.changes): w for w in found}
        return list(unique.values())

    def _verdict(self, changes: Sequence[Change]) -> str:
        return self.rerun.verdict(changes)

    def _ways_to(self, rank: int) -> list[Way]:
        for size in (1, 2):
            sets = self._sets(size, rank)
            if sets:
                return [self._way(s, smallest=True) for s in sets[:MOST_WAYS]]
        return [self._way(self.irreducible(rank), smallest=False)]

    def _sets(self, size: int, rank: int) -> list[list[Change]]:
        """Return all sets of a size that reach the verdict, as far as the bound goes."""
        found = []
        for chosen in combinations(self.changes, size):
            if len({c.slot for c in chosen}) < size:
                continue
            if self.rerun.runs >= self.most_runs:
                self.all_pairs_tried = False
                break
            if VERDICT_ORDER[self._verdict(chosen)] <= rank:
                found.append(list(chosen))
        return found

    def irreducible(self, rank: int) -> list[Change]:
        """Take back one change after another while the verdict stands.

        What the record rules out goes first, then what costs the object or the hours most.
        """
        kept = self.whole
        for change in sorted(
            kept, key=lambda c: (not c.against_record, -c.material_lost, -c.minutes, c.key)
        ):
            fewer = [c for c in kept if c is not change]
            if VERDICT_ORDER[self._verdict(fewer)] <= rank:
                kept = fewer
        return kept

    def _way(self, changes: list[Change], *, smallest: bool) -> Way:
        """Weigh the changed case whole, so that the rank among all options is known too."""
        whole = self.rerun.adviser.weigh(applied(self.rerun.case, changes))
        then = next((o for o in whole.options() if o.id == self.rerun.option), None)
        closed = any(c.against_record for c in changes)
        if then is None:  # a need that no longer arises
            return Way("accepted", changes, smallest, closed, 1)
        return Way(then.verdict, changes, smallest, closed, then.rank)


def _in_words(now: OptionAnswer, ways: Sequence[Way]) -> str:
    if now.verdict == "accepted":
        return f"{now.label} is accepted; nothing has to change for that."
    if not ways:
        return f"{now.label} is {now.verdict}, and nothing that could be changed alters that."
    first = ways[0]
    what = listed([c.label for c in first.changes])
    if first.against_record:
        return f"{now.label} would be {first.verdict} only if the record were otherwise: {what}."
    well = ", if what is tested comes out well" if any(c.is_test for c in first.changes) else ""
    return f"{now.label} would be {first.verdict} after: {what}{well}."


def enough(rerun: Rerun, changes: Sequence[Change]) -> list[Change]:
    """Return a set of *changes* that makes an option accepted and can't be thinned out.

    Empty if all of them together don't.
    """
    search = _Search(rerun, list(changes), MOST_RUNS)
    if not changes or rerun.verdict(search.whole) != "accepted":
        return []
    return search.irreducible(VERDICT_ORDER["accepted"])
