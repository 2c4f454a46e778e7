"""What is tried first: gentle work on a damage before the heavier work that is chosen for it."""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from leastwise.graph.answer import OptionAnswer
from leastwise.graph.meanings import Verdict
from leastwise.graph.planning.precedence import OrderBook
from leastwise.graph.planning.values import TriedFirst
from leastwise.graph.sentences import hours_in_words, sentence_case

__all__ = ["tried_first"]


def tried_first(
    option: OptionAnswer, others: Iterable[OptionAnswer], book: OrderBook
) -> TriedFirst | None:
    """Return which of *others* is tried before an option, if the order of work says so of one.

    It answers the same damage, may be done as things stand and burdens the object less; of several
    the least burden is tried.
    """
    found = sorted(_gentler(option, others), key=lambda o: (o.burden, o.rank))
    for other in found:
        for said in book.says_before(other.technique, option.technique):
            if said.tried_first:
                return _in_words(other, said.because)
    return None


def _gentler(option: OptionAnswer, others: Iterable[OptionAnswer]) -> Iterator[OptionAnswer]:
    for one in others:
        may_be_done = one.verdict == Verdict.ACCEPTED and not one.is_baseline
        same = one.id.problem == option.id.problem
        if same and may_be_done and one.burden < option.burden:
            yield one


def _in_words(option: OptionAnswer, because: str) -> TriedFirst:
    hours = hours_in_words(*option.hours)
    words = f"{sentence_case(option.label)} ({hours} h besides). {because}"
    return TriedFirst(option.id, option.label, option.id.problem, option.hours, because, words)
