"""What is tried first: gentle work on a damage before the heavier work that is chosen for it."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence

from leastwise.graph.answer import Answer, OptionAnswer
from leastwise.graph.knowledge.knowledge import Knowledge
from leastwise.graph.meanings import Verdict
from leastwise.graph.planning.pieces import Chosen
from leastwise.graph.planning.values import TriedFirst
from leastwise.graph.sentences import hours_in_words, sentence_case

__all__ = ["gentler", "tried_before", "tried_first"]


def gentler(answer: Answer) -> Mapping[str, tuple[OptionAnswer, ...]]:
    """Return by damage the options that may be done as things stand, the least burden first."""
    return {
        damage.id: tuple(
            sorted(
                (o for o in damage.options if o.verdict == Verdict.ACCEPTED and not o.is_baseline),
                key=lambda o: (o.burden, o.rank),
            )
        )
        for damage in answer.damages
    }


def tried_first(
    work: Sequence[Chosen], may_be_done: Mapping[str, Sequence[OptionAnswer]], knowledge: Knowledge
) -> Iterator[TriedFirst]:
    """Yield for each damage of a piece of work what the knowledge says to try before it."""
    for one in work:
        yield from tried_before(one.option, may_be_done, knowledge)


def tried_before(
    option: OptionAnswer, may_be_done: Mapping[str, Sequence[OptionAnswer]], knowledge: Knowledge
) -> Iterator[TriedFirst]:
    """Yield what is tried before an option on the same damage, if the knowledge says so.

    It burdens the object less than the option itself, and of several the least burden is tried.
    """
    damage = option.id.problem
    for other in may_be_done.get(damage, ()):
        because = _said(other.technique, option.technique, knowledge)
        if because and other.burden < option.burden:
            yield _in_words(other, damage, because)
            return


def _said(before: str, after: str, k: Knowledge) -> str:
    """Return why one technique is tried before another, empty if nothing says so."""
    first, then = k.broader(before), k.broader(after)
    for node in k.instances("lw:TriedFirst"):
        if _names(k.objects(node, "lw:before"), first) and _names(
            k.objects(node, "lw:after"), then
        ):
            return k.text(node, "lw:because")
    return ""


def _names(named: Iterable[str], technique: Sequence[str]) -> bool:
    return not set(technique).isdisjoint(named)


def _in_words(option: OptionAnswer, damage: str, because: str) -> TriedFirst:
    hours = hours_in_words(*option.hours)
    words = f"{sentence_case(option.label)} ({hours} h besides). {because}"
    return TriedFirst(option.id, option.label, damage, option.hours, because, words)
