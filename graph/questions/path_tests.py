"""Which tests the leading open options of a case wait for, as groups that are made together."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from leastwise.graph.answer import DamageAnswer, FindingView, MendView, OptionAnswer
from leastwise.graph.meanings import Remedy, RuleEffect, Verdict
from leastwise.graph.questions.change import Change, TestMade
from leastwise.graph.questions.change import Key as ChangeKey
from leastwise.graph.weighing.settling import each_needed

__all__ = ["MOST_FOLLOWED", "Key", "leading_open", "one_each", "takes_in", "tests_in"]

#: So many options of a problem are followed: those that lead, open or not, and leaving alone.
MOST_FOLLOWED = 5
#: Tells groups of changes apart.
Key = tuple[ChangeKey, ...]


def takes_in(group: Sequence[Change], other: Sequence[Change]) -> bool:
    """Return whether one set of tests takes in another, whatever material each is told of."""
    if not all(isinstance(one, TestMade) for one in (*group, *other)):
        return False
    made = {(_asked(one), one.part) for one in tests_in(group)}
    return all((_asked(one), one.part) in made for one in tests_in(other))


def leading_open(damage: DamageAnswer) -> Iterator[OptionAnswer]:
    """Yield the open options that stand before the first that may be done and meets the aim."""
    for option in damage.options[:MOST_FOLLOWED]:
        if option.verdict == Verdict.ACCEPTED and option.meets_aim:
            return
        if option.verdict == Verdict.UNDECIDED and option.meets_aim:
            yield option


def one_each(option: OptionAnswer, changes: Sequence[Change]) -> Iterator[list[Change]]:
    """Yield for each open finding of an option what would settle it, a test before all else.

    What a finding asks for on several parts alike comes together.
    """
    given: set[Key] = set()
    for finding in option.findings:
        if finding.effect != RuleEffect.LEAVES_UNDECIDED:
            continue
        for mends in each_needed(finding.mends):
            group = _settling(finding, mends, changes)
            key: Key = tuple(change.key for change in group)
            if group and key not in given:
                given.add(key)
                yield group


def tests_in(group: Sequence[Change]) -> list[TestMade]:
    """Return the tests among some changes."""
    return [change for change in group if isinstance(change, TestMade)]


def _settling(
    finding: FindingView, mends: Sequence[MendView], changes: Sequence[Change]
) -> list[Change]:
    """Return which of *mends* settles a finding: one test on several parts, else one change."""
    named = {(m.kind, m.what): i for i, m in reversed(list(enumerate(mends)))}
    seen = {change: change.view for change in changes}
    fits = [
        c
        for c, v in seen.items()
        if (v.kind, v.what) in named and (not v.part or finding.part in ("", v.part))
    ]
    # what a rule names first is what people at a bench have; the others stand in for it
    fits.sort(key=lambda c: (not c.is_test, named[c.kind, seen[c].what], c.cost[0], c.key))
    first = next(iter(fits), None)
    if not isinstance(first, TestMade) or finding.part:
        return fits[:1]
    same = [c for c in tests_in(fits) if _asked(c) == _asked(first)]
    return [*reversed({c.part: c for c in reversed(same)}.values())]


def _asked(test: TestMade) -> tuple[Remedy, str, str]:
    """Return what two tests have in common that ask the same of different parts."""
    return test.kind, test.test, test.agent
