"""What settling some open points would open: the case weighed again as if they came out well."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from leastwise.graph.answer import Answer, SettleFirst
from leastwise.graph.case.record import Case
from leastwise.graph.errors import CaseError, Problem
from leastwise.graph.meanings import Verdict
from leastwise.graph.questions.change import Change, ChangeView, applied, shown
from leastwise.graph.questions.changes import one_of_each, open_changes_of
from leastwise.graph.weighing.headline import is_met_by

if TYPE_CHECKING:
    from leastwise.graph.weighing.advise import Adviser

__all__ = ["Preview", "key_of", "preview"]


@dataclass(frozen=True, slots=True)
class Preview:
    """The answer as it would be once open points are settled well; nothing of it is recorded.

    *supposed* is what was changed in the record for it, *opened* the ids of the problems that
    something accepted answers then and not before. *untried* names points that can't be supposed.
    """

    answer: Answer
    supposed: tuple[ChangeView, ...]
    opened: tuple[str, ...]
    untried: tuple[str, ...]


def key_of(point: SettleFirst) -> str:
    """Return what names an open point of a headline: its kind and what would settle it."""
    return f"{point.kind}={point.what}"


def preview(adviser: Adviser, case: Case, keys: Sequence[str]) -> Preview:
    """Return the answer that a case would have if the open points of *keys* came out well.

    What follows is never guessed: the changed case is weighed again.

    Raises:
        CaseError: one of *keys* is none of what is to be settled first.

    """
    now = adviser.weigh(case)
    points = _points(now, keys)
    options = list(dict.fromkeys(option for point in points for option in point.opens))
    found = open_changes_of(adviser, case, options)
    chosen: dict[str, list[Change]] = {
        key_of(p): [c for o in p.opens for c in found[o] if _settles(c.view, p)] for p in points
    }
    changes = one_of_each(c for mine in chosen.values() for c in mine)
    then = adviser.weigh(applied(case, changes))
    before = set(_answered(now))
    return Preview(
        then,
        tuple(shown(changes)),
        tuple(one for one in _answered(then) if one not in before),
        tuple(p.label for p in points if not chosen[key_of(p)]),
    )


def _points(answer: Answer, keys: Iterable[str]) -> list[SettleFirst]:
    open_points = {key_of(point): point for point in answer.headline.settle_first}
    for key in keys:
        if key not in open_points:
            accepted = ", ".join(open_points) or "nothing, for nothing is to be settled first"
            raise CaseError([Problem("try", repr(key[:80]), accepted)])
    return [open_points[key] for key in dict.fromkeys(keys)]


def _settles(change: ChangeView, point: SettleFirst) -> bool:
    """Return whether a change is what a point asks for; an entry may be of several kinds."""
    same = change.kind == point.kind or not point.kind.is_test
    return change.what == point.what and same


def _answered(answer: Answer) -> list[str]:
    return [d.id for d in answer.damages if is_met_by(d.options, Verdict.ACCEPTED)]
