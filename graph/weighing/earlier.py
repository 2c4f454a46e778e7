"""Work of another course that comes first: weak cloth is supported before it is put on a mount.

What holds an option back may be a damage that the same case answers by another course. Where one
of these can be done, the option is weighed again as the object will then be: the damage is gone,
and what the work has yet to prove is unknown. Such an option is never accepted; it waits until
the work is done and its test is good. Which work, and for what, is data (techniques/acts.ttl).
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from typing import NamedTuple, Protocol

from leastwise.graph.case.record import Case, Part, Tri
from leastwise.graph.ids import OptionId
from leastwise.graph.knowledge.concepts import Catalogue, Technique
from leastwise.graph.meanings import Verdict
from leastwise.graph.weighing.candidates import Act, Candidate, made_for

__all__ = [
    "EARLIER",
    "Doable",
    "Standing",
    "after_work",
    "doable_works",
    "earlier_acts",
    "may_work_before",
    "waits_for_work",
]

EARLIER = "lw:EarlierWork"


class Standing(Protocol):
    """How an option of the case stands."""

    @property
    def candidate(self) -> Candidate:
        """The option."""

    @property
    def verdict(self) -> str:
        """Its verdict: accepted, undecided or defeated."""


class Doable(NamedTuple):
    """A kind of earlier work that courses of the case can do: problem -> parts where it is done."""

    act: Technique
    before: frozenset[str]
    at: Mapping[str, tuple[str, ...]]


def doable_works(
    courses: Iterable[Standing], case: Case, catalogue: Catalogue
) -> tuple[Doable, ...]:
    """Return the kinds of earlier work that courses of the case can do, with where."""
    k, open_ = catalogue.knowledge, [one.candidate for one in courses if _may_work(one)]
    return tuple(
        Doable(act, frozenset(k.objects(act.id, "lw:comesBefore")), at)
        for act in catalogue.acts.get(EARLIER, ())
        if made_for(act, case) is Tri.YES and (at := _where(act, open_, catalogue))
    )


def _may_work(course: Standing) -> bool:
    return course.verdict != Verdict.DEFEATED and course.candidate.efficacy > 0


def _where(
    act: Technique, candidates: Iterable[Candidate], catalogue: Catalogue
) -> dict[str, tuple[str, ...]]:
    """Return the problems that a kind of work answers in a case, each with its parts."""
    k = catalogue.knowledge
    done_by = frozenset(k.objects(act.id, "lw:doneBy"))
    takes_away = frozenset(k.objects(act.id, "lw:takesAway"))
    return {
        c.damage.id: c.parts
        for c in candidates
        if not done_by.isdisjoint({c.technique.id, *c.technique.groups})
        and not takes_away.isdisjoint(k.broader(c.damage.damage))
    }


def earlier_acts(option: Candidate, works: Iterable[Doable]) -> tuple[Act, ...]:
    """Return the works of other courses that may come before *option*, each at its part."""
    mine = {option.technique.id, *option.technique.groups}
    return tuple(
        Act(work.act, EARLIER, (part,))
        for work in works
        if mine & work.before
        for part in dict.fromkeys(
            part for problem, at in work.at.items() if problem != option.damage.id for part in at
        )
    )


def may_work_before(
    option: Candidate, candidates: Iterable[Candidate], catalogue: Catalogue
) -> frozenset[OptionId]:
    """Return the options of other problems whose work may come before *option*."""
    k, mine = catalogue.knowledge, {option.technique.id, *option.technique.groups}
    others = [c for c in candidates if c.damage.id != option.damage.id and c.efficacy > 0]
    works = [
        act
        for act in catalogue.acts.get(EARLIER, ())
        if not mine.isdisjoint(k.objects(act.id, "lw:comesBefore"))
    ]
    return frozenset(c.id for act in works for c in others if _where(act, [c], catalogue))


def after_work(case: Case, act: Act, catalogue: Catalogue) -> Case:
    """Return the case as its record would read once the work is done at its part."""
    k, here = catalogue.knowledge, act.where[0]
    gone = frozenset(k.objects(act.technique.id, "lw:takesAway"))
    damages = []
    for one in case.damages:
        left = [part for part in one.parts if part != here]
        if here not in one.parts or gone.isdisjoint(k.broader(one.damage)):
            damages.append(one)
        elif left:
            damages.append(one.model_copy(update={"parts": left}))
    parts = [_worked(p, act, catalogue) if p.id == here else p for p in case.parts]
    return case.model_copy(update={"damages": damages, "parts": parts})


def _worked(part: Part, act: Act, catalogue: Catalogue) -> Part:
    """Return a part with what the work gives, and with what it has yet to prove unknown."""
    given = dict.fromkeys(_fields(act, "lw:givesCondition", catalogue), Tri.YES)
    open_ = {
        name: Tri.UNKNOWN
        for name in _fields(act, "lw:leavesToProve", catalogue)
        if getattr(part, name) is Tri.NO
    }
    return part.model_copy(update=given | open_)


def _fields(act: Act, name: str, catalogue: Catalogue) -> list[str]:
    k = catalogue.knowledge
    fields = [k.text(one, "lw:partField") for one in k.objects(act.technique.id, name)]
    return [field for field in fields if field]


def waits_for_work(option: Candidate) -> list[str]:
    """Return the earlier works of an option, by their technique; each has yet to be proved."""
    return [act.technique.id for act in option.acts if act.supplies == EARLIER]
