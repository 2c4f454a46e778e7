"""What would change a verdict, found by weighing changed cases again.

Every single change that the record leaves open is tried, then every pair, as far as the bound of
runs goes. If neither suffices, all are made, and one after another is taken back that isn't
needed, so that none of the rest can be left out; a smaller set of others may then exist, and the
answer says so.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from itertools import chain, combinations

from leastwise.graph.answer import OptionAnswer
from leastwise.graph.case.record import Case
from leastwise.graph.ids import OptionId
from leastwise.graph.meanings import Verdict
from leastwise.graph.questions.change import Change, ChangeView, Key, applied, shown
from leastwise.graph.questions.changes import closed_changes, one_of_each, open_changes
from leastwise.graph.questions.rerun import Rerun, Search, answered, one_verdict
from leastwise.graph.questions.why import left_alone_in_words
from leastwise.graph.sentences import listed
from leastwise.graph.weighing.advise import Adviser
from leastwise.graph.weighing.ranking import VERDICT_ORDER
from leastwise.graph.weighing.shared import Shared
from leastwise.graph.weighing.standing import standings
from leastwise.graph.weighing.steps import Variant

__all__ = ["MOST_RUNS", "Way", "WhatWouldChange", "enough", "what_would_change"]

MOST_RUNS = 300
MOST_WAYS = 12


@dataclass(frozen=True, slots=True)
class Way:
    """Changes that together bring an option to a verdict, found by weighing the changed case.

    *smallest* says whether all smaller sets were tried in vain; *rank_then* is the option's rank
    within its damage in the changed case.
    """

    verdict: Verdict
    changes: tuple[ChangeView, ...]
    smallest: bool
    against_record: bool
    rank_then: int


@dataclass(frozen=True, slots=True)
class WhatWouldChange:
    """What would change an option's verdict; *still_against* is what no open change lifts."""

    option: str
    label: str
    verdict: Verdict
    rank: int
    sentence: str
    ways: tuple[Way, ...]
    still_against: tuple[str, ...]
    open_changes: int
    runs: int
    bound: int
    all_pairs_tried: bool
    left_alone: str


def what_would_change(
    adviser: Adviser,
    case: Case,
    option: str,
    *,
    most_runs: int = MOST_RUNS,
    progress: Callable[[int], None] | None = None,
) -> WhatWouldChange:
    """Return what would change the verdict of an option, smallest sets of changes first.

    *most_runs* bounds how often the case is weighed again for single changes and pairs (those of
    one size are weighed together); taking back what isn't needed adds at most one run a change.
    """
    mine = adviser.weigh_one(case, OptionId(option).problem)  # in words, and no other problem
    now = next(o for o in mine.damage.options if o.id == option)
    shared = Shared()
    rerun = Rerun(adviser, case, option, progress, shared=shared)
    search = _Search(rerun, open_changes(adviser, case, option, shared), most_runs)
    ways = answered(rerun, search.ways(now.verdict))
    reached = min((VERDICT_ORDER[w.verdict] for w in ways), default=VERDICT_ORDER[now.verdict])
    still = rerun.against(search.whole) if reached else []
    if not ways and now.verdict != Verdict.ACCEPTED:
        closed = closed_changes(adviser, case, option)
        if closed:
            search = _Search(rerun, [*closed, *search.changes], most_runs)
            ways = answered(rerun, search.ways(now.verdict))
    return WhatWouldChange(
        option=option,
        label=now.label,
        verdict=now.verdict,
        rank=now.rank,
        sentence=_in_words(now, ways),
        ways=tuple(ways),
        still_against=tuple(still),
        open_changes=len([c for c in search.changes if not c.against_record]),
        runs=rerun.runs,
        bound=most_runs,
        all_pairs_tried=search.all_pairs_tried,
        left_alone=left_alone_in_words(now),
    )


class _Search:
    """Looks for the smallest sets of changes that bring an option to a better verdict."""

    def __init__(self, rerun: Rerun, changes: list[Change], most_runs: int) -> None:
        self.rerun, self.changes, self.most_runs = rerun, changes, most_runs
        self.whole: list[Change] = []
        self.all_pairs_tried = True

    def ways(self, verdict: Verdict) -> Search[list[Way]]:
        """Find the ways to each better verdict that all changes together can reach."""
        self.whole = yield from best_of_each(self.changes)
        if not self.changes:
            return []
        best = VERDICT_ORDER[(yield from one_verdict(self.whole))]
        found: list[list[Change]] = []
        smallest: dict[frozenset[Key], bool] = {}
        for goal in (Verdict.UNDECIDED, Verdict.ACCEPTED):
            rank = VERDICT_ORDER[goal]
            if best <= rank < VERDICT_ORDER[verdict]:
                sets, are_smallest = yield from self._sets_to(rank)
                for one in sets:
                    key = frozenset(c.key for c in one)
                    if key not in smallest:
                        found.append(one)
                    smallest[key] = are_smallest
        return self._weighed(found, [*smallest.values()])

    def _sets_to(self, rank: int) -> Search[tuple[list[list[Change]], bool]]:
        for size in (1, 2):
            sets = yield from self._sets(size, rank)
            if sets:
                return sets[:MOST_WAYS], True
        return [(yield from irreducible(self.whole, rank))], False

    def _sets(self, size: int, rank: int) -> Search[list[list[Change]]]:
        """Find all sets of a size that reach the verdict, as far as the bound goes."""
        wanted: list[list[Change]] = []
        runs: set[frozenset[Key]] = set()
        for chosen in combinations(self.changes, size):
            if len({c.slot for c in chosen}) < size:
                continue
            if self.rerun.runs + len(runs) >= self.most_runs:
                self.all_pairs_tried = False
                break
            wanted.append([*chosen])
            runs.update(self.rerun.unknown([chosen]))
        outcomes = yield wanted
        return [
            chosen
            for chosen, found in zip(wanted, outcomes, strict=True)
            if VERDICT_ORDER[found.verdict] <= rank
        ]

    def _weighed(self, sets: Sequence[list[Change]], smallest: Sequence[bool]) -> list[Way]:
        """Weigh the changed cases whole, so that the rank among all options is known too."""
        case, adviser = self.rerun.case, self.rerun.adviser
        variants = [Variant(applied(case, one)) for one in sets]
        weighed = adviser.variants(variants, self.rerun.shared)
        ways = []
        for changes, steps, is_smallest in zip(sets, weighed, smallest, strict=True):
            options = chain.from_iterable(standings(steps).values())
            then = next((o for o in options if o.id == self.rerun.option), None)
            # without it, a need no longer arises
            verdict, rank = (then.verdict, then.rank) if then else (Verdict.ACCEPTED, 1)
            closed = any(c.against_record for c in changes)
            ways.append(Way(verdict, tuple(shown(changes)), is_smallest, closed, rank))
        return ways


def _in_words(now: OptionAnswer, ways: Sequence[Way]) -> str:
    if now.verdict == Verdict.ACCEPTED:
        return f"{now.label} is accepted; nothing has to change for that."
    if not ways:
        return f"{now.label} is {now.verdict}, and nothing that could be changed alters that."
    first = ways[0]
    what = listed([c.label for c in first.changes])
    if first.against_record:
        return f"{now.label} would be {first.verdict} only if the record were otherwise: {what}."
    well = (
        ", if what is tested comes out well" if any(c.kind.is_test for c in first.changes) else ""
    )
    return f"{now.label} would be {first.verdict} after: {what}{well}."


def best_of_each(changes: Sequence[Change]) -> Search[list[Change]]:
    """Find one change of every slot: of alternatives the one that leaves least against it."""
    chosen = one_of_each(changes)
    for i, first in enumerate(chosen):
        others = [c for c in changes if c.slot == first.slot]
        if len(others) > 1:
            rest = [*chosen[:i], *chosen[i + 1 :]]
            outcomes = yield [[*rest, one] for one in others]
            best = min(range(len(others)), key=[found.standing for found in outcomes].__getitem__)
            chosen[i] = others[best]
    return chosen


def irreducible(whole: Sequence[Change], rank: int) -> Search[list[Change]]:
    """Take back one change after another while the verdict stands.

    What the record rules out goes first, then what costs the object or the hours most.
    """
    kept = [*whole]
    for change in sorted(
        kept, key=lambda c: (not c.against_record, *(-one for one in c.cost), c.key)
    ):
        fewer = [c for c in kept if c is not change]
        if VERDICT_ORDER[(yield from one_verdict(fewer))] <= rank:
            kept = fewer
    return kept


def enough(changes: Sequence[Change]) -> Search[list[Change]]:
    """Find a set of *changes* that makes an option accepted and can't be thinned out.

    Empty if all of them together don't.
    """
    whole = yield from best_of_each(changes)
    if not changes or (yield from one_verdict(whole)) != Verdict.ACCEPTED:
        return []
    return (yield from irreducible(whole, VERDICT_ORDER[Verdict.ACCEPTED]))
