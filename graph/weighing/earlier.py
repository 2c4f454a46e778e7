"""Work of another course that comes first: weak cloth is supported before it is put on a mount.

What holds an option back may be a damage that the same case answers by another course. Where one
of these can be done, the option is weighed again as the object will then be: the damage is gone,
and what the work has yet to prove is unknown. Such an option is never accepted; it waits until
the work is done and its test is good. Which work, and for what, is data (techniques/acts.ttl).
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from typing import Protocol

from leastwise.graph.case.record import Case, Part, Tri
from leastwise.graph.knowledge.concepts import Catalogue, Technique
from leastwise.graph.names import camel
from leastwise.graph.weighing.candidates import Act, Candidate

__all__ = ["EARLIER", "Standing", "after_work", "earlier_acts", "waits_for_work"]

EARLIER = "lw:EarlierWork"


class Standing(Protocol):
    """How an option of the case stands."""

    @property
    def candidate(self) -> Candidate:
        """The option."""

    @property
    def verdict(self) -> str:
        """Its verdict: accepted, undecided or defeated."""


@dataclass(frozen=True, slots=True)
class _Work:
    """What the knowledge says of one kind of earlier work."""

    act: Technique
    done_by: frozenset[str]
    takes_away: frozenset[str]
    before: frozenset[str]
    only_accepted: bool


def earlier_acts(
    option: Candidate, courses: Mapping[str, Standing], case: Case, catalogue: Catalogue
) -> tuple[Act, ...]:
    """Return the works of other courses that may come before *option*, each at its part."""
    mine = {option.technique.id, *option.technique.groups}
    return tuple(
        Act(work.act, EARLIER, (part,))
        for work in _works(catalogue)
        if mine & work.before and _may_be_here(work, case)
        for part in _answered(work, option, courses.values(), catalogue)
    )


def _works(catalogue: Catalogue) -> Iterator[_Work]:
    k = catalogue.knowledge
    for act in catalogue.acts.get(EARLIER, ()):
        yield _Work(
            act,
            frozenset(k.objects(act.id, "lw:doneBy")),
            frozenset(k.objects(act.id, "lw:takesAway")),
            frozenset(k.objects(act.id, "lw:comesBefore")),
            not k.objects(act.id, "lw:leavesToProve"),
        )


def _may_be_here(work: _Work, case: Case) -> bool:
    kind = work.act.only_for
    return not kind or camel(case.object.kind) in kind


def _answered(
    work: _Work, option: Candidate, courses: Iterable[Standing], catalogue: Catalogue
) -> list[str]:
    """Return the parts on which another problem is answered by this work, if it may be done."""
    parts: dict[str, None] = {}
    for one in courses:
        c = one.candidate
        if c.damage.id == option.damage.id or c.efficacy == 0 or one.verdict == "defeated":
            continue
        does = not work.done_by.isdisjoint({c.technique.id, *c.technique.groups})
        answers = work.takes_away.intersection(catalogue.knowledge.broader(c.damage.damage))
        if does and answers and (one.verdict == "accepted" or not work.only_accepted):
            parts.update(dict.fromkeys(c.parts))
    return list(parts)


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


def waits_for_work(option: Candidate, catalogue: Catalogue) -> list[str]:
    """Return the earlier works of an option that have yet to be proved, by their technique."""
    k = catalogue.knowledge
    return [
        act.technique.id
        for act in option.acts
        if act.supplies == EARLIER and k.objects(act.technique.id, "lw:leavesToProve")
    ]
