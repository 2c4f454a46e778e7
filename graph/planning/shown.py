"""Another way of showing an object that can't be carried as its aim says.

An aim of display never ends without a mount. Where nothing may be planned that carries the object
as it is to be shown (no figure for cloth that can't be dressed), it is weighed again lying flat,
then on a slope; the first way that has a mount is proposed, and waits for whoever decides on the
display.
"""

from __future__ import annotations

from leastwise.graph.answer import Answer, OptionAnswer
from leastwise.graph.case.record import Case
from leastwise.graph.meanings import Verdict
from leastwise.graph.planning.journey import Housing
from leastwise.graph.weighing.advise import Adviser
from leastwise.graph.weighing.another_way import WAYS, shown_as
from leastwise.graph.weighing.headline import needed

__all__ = ["other_mount", "uncarried"]

CARRIED = "need:carried"
SHOWN = ("display", "loan")
#: Ways of showing, the gentlest first, with what they are called.
OTHERWISE = ("flat", "slanted")


def uncarried(case: Case, adviser: Adviser, answer: Answer, could: set[str]) -> str:
    """Return the need to be carried that nothing could meet, or "" if there is none.

    *could* are the damages and needs for which something may be planned that meets the aim.
    """
    if case.aim.purpose not in SHOWN:
        return ""
    open_ = (
        d.id
        for d in answer.damages
        if d.id not in could and CARRIED in adviser.knowledge.broader(d.damage)
    )
    return next(open_, "")


def other_mount(case: Case, adviser: Adviser, need: str) -> Housing | None:
    """Return a mount for another way of showing, which waits for agreement; None if there is none.

    It is weighed as if the aim said so. What is accepted comes before what waits for a test.
    """
    was = case.aim.mounting.replace("-", " ")
    for mounting in OTHERWISE:
        if mounting == case.aim.mounting:
            continue
        words, answer = WAYS[mounting], adviser.weigh(shown_as(case, mounting))
        option = _mount(answer, adviser)
        if option is None:
            continue
        because = (
            f"Nothing may be planned that carries it {was} as the record stands; {words} it can "
            "be carried."
        )
        waits = (
            f"agreement, by whoever decides on the display, that it is shown {words} and not {was}",
            *dict.fromkeys(mend.label for mend in needed(option)),
        )
        arise = {d.id for d in answer.damages}
        ends = frozenset(n for n in derived_needs(case, adviser) if n not in arise)
        return Housing(option, (need,), because, waits, ends - {need})
    return None


def derived_needs(case: Case, adviser: Adviser) -> list[str]:
    """Return the needs that follow from the record as it stands."""
    return [d.id for d in adviser.weigh(case).damages if d.derived]


def _mount(answer: Answer, adviser: Adviser) -> OptionAnswer | None:
    found = [
        o
        for d in answer.damages
        if CARRIED in adviser.knowledge.broader(d.damage)
        for o in d.options
        if o.meets_aim and not o.is_baseline and o.verdict in (Verdict.ACCEPTED, Verdict.UNDECIDED)
    ]
    return min(found, key=lambda o: (o.verdict != Verdict.ACCEPTED, o.rank), default=None)
