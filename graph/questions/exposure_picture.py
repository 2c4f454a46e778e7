"""The exposure picture: the path of one agent of one option, and what barriers would change.

Nothing is judged here that the rules don't judge: a barrier or a parting that is tried is put
into a copy of the case, and the copy is weighed again.
"""

from __future__ import annotations

from collections.abc import Iterable

from leastwise.graph.case.record import Case, Contact
from leastwise.graph.errors import NotFound
from leastwise.graph.questions.exposure_look import STAYS, Doses, Look, capital
from leastwise.graph.questions.exposure_values import (
    AgentPath,
    ExposurePicture,
    Stop,
    Supposed,
    Toggle,
    WouldBe,
)
from leastwise.graph.weighing.advise import Adviser
from leastwise.graph.weighing.candidates import Candidate

__all__ = ["Doses", "exposure_picture", "first_option"]


def exposure_picture(  # noqa: PLR0913 - what is looked at, and what is known already
    adviser: Adviser,
    case: Case,
    option: str,
    agent: str = "",
    supposed: Supposed | None = None,
    *,
    computed: Doses | None = None,
) -> ExposurePicture:
    """Return the path of one agent of an option, and what *supposed* barriers would change.

    Without *agent* the one that reaches most neighbours, and the gravest of these, is taken.
    *computed* are the doses of the case's planned packs, where they are known already.

    Raises:
        UnknownOption: the case has no such option.
        NotFound: the option brings no such agent, or the record has no such contact.

    """
    supposed = supposed or Supposed()
    for number in (*supposed.barriers, *supposed.partings):
        if not 1 <= number <= len(case.contacts):
            raise NotFound("contact", str(number), [])
    now = Look(adviser, case, option, computed)
    if agent and agent not in now.uses:
        raise NotFound(f"agent of {option}", agent, sorted(now.uses))
    chosen = agent or now.first_agent
    if not chosen:
        return _picture(now, None, (), (), None)
    path = now.path(chosen)
    kept, refused = _allowed(now, chosen, supposed)
    would_be = None
    numbers = {*path.numbers, *kept.barriers, *kept.partings}
    if kept:
        then = Look(adviser, _supposing(case, kept), option, now.computed)
        after = then.path(chosen)
        numbers |= set(after.numbers)
        would_be = _compared(now, path, then, after)
    toggles = tuple(_toggle(now, chosen, number, kept) for number in sorted(numbers))
    return _picture(now, path, toggles, refused, would_be)


def _picture(
    now: Look,
    path: AgentPath | None,
    toggles: tuple[Toggle, ...],
    refused: tuple[str, ...],
    would_be: WouldBe | None,
) -> ExposurePicture:
    c, k = now.candidate, now.catalogue.knowledge
    return ExposurePicture(
        option=c.id,
        label=c.technique.label,
        damage=c.damage.id,
        damage_label=c.damage.in_words(k.label),
        agents=tuple((one, now.catalogue.agents[one].label) for one in now.uses),
        path=path,
        verdict=now.verdict,
        verdict_in_words=now.opening,
        against=now.against,
        toggles=toggles,
        refused=refused,
        would_be=would_be,
    )


def _toggle(now: Look, agent: str, number: int, supposed: Supposed) -> Toggle:
    contact = now.case.contacts[number - 1]
    first, second = contact.between
    return Toggle(
        number,
        now.names[first],
        now.names[second],
        now.touch(contact),
        _stop(now, agent, "barrier", contact, on=number in supposed.barriers),
        _stop(now, agent, "parting", contact, on=number in supposed.partings),
    )


def _stop(now: Look, agent: str, kind: str, contact: Contact, *, on: bool) -> Stop:
    """Return whether a barrier or parting may be tried, and if not, why not."""
    known, recorded = now.catalogue.agents[agent], getattr(contact, kind)
    what = {"barrier": "lw:Barrier", "parting": "lw:Parting"}[kind]
    if recorded in ("in-place", "done"):
        done = "in place" if kind == "barrier" else "done"
        return Stop(kind, recorded, on=True, can=False, why=f"recorded as {done}")
    if what not in known.stopped_by:
        return Stop(kind, recorded, on=False, can=False, why=f"does not stop {known.label}")
    if kind == "barrier" and not now.uses[agent].confined:
        why = f"a sheet does not stop {known.label} that comes as a cloud or a bath"
        return Stop(kind, recorded, on=False, can=False, why=why)
    if recorded == "impossible":
        return Stop(kind, recorded, on=False, can=False, why="recorded as impossible")
    why = "recorded as possible" if recorded == "possible" else "not known whether it can be done"
    return Stop(kind, recorded, on=on, can=True, why=why)


def _allowed(now: Look, agent: str, supposed: Supposed) -> tuple[Supposed, tuple[str, ...]]:
    """Return what may be supposed, and in sentences what may not."""
    kept: dict[str, list[int]] = {"barrier": [], "parting": []}
    refused: list[str] = []
    for kind, numbers in (("barrier", supposed.barriers), ("parting", supposed.partings)):
        for number in dict.fromkeys(numbers):
            contact = now.case.contacts[number - 1]
            stop = _stop(now, agent, kind, contact, on=True)
            if stop.can:
                kept[kind].append(number)
            elif not stop.on:
                refused.append(f"A {kind} {now.touch(contact)} was left out: {stop.why}.")
    return Supposed(tuple(kept["barrier"]), tuple(kept["parting"])), tuple(refused)


def _supposing(case: Case, supposed: Supposed) -> Case:
    """Return a copy of the case with the barriers in place and the partings done."""
    contacts = [
        contact.model_copy(
            update={
                **({"barrier": "in-place"} if number in supposed.barriers else {}),
                **({"parting": "done"} if number in supposed.partings else {}),
            }
        )
        for number, contact in enumerate(case.contacts, 1)
    ]
    return case.model_copy(update={"contacts": contacts})


def _compared(now: Look, before: AgentPath, then: Look, after: AgentPath) -> WouldBe:
    had = {p.part: p for p in before.reached if p.arrives}
    has = {p.part: p for p in after.reached if p.arrives}
    ended = [
        f"{before.label} no longer reaches {p.name}" for part, p in had.items() if part not in has
    ]
    weakened = [
        f"{p.name} gets dose {has[part].dose} instead of {p.dose}"
        for part, p in had.items()
        if part in has and has[part].dose < p.dose
    ]
    return WouldBe(
        after,
        then.verdict,
        then.opening,
        _sentences(ended),
        _sentences(weakened),
        tuple(m for m in now.against if m not in then.against),
        then.against,
    )


def _sentences(lines: Iterable[str]) -> tuple[str, ...]:
    return tuple(f"{capital(line)}." for line in lines)


def first_option(adviser: Adviser, case: Case) -> str:
    """Return the option to begin with: the first damage's best whose agents go on."""
    catalogue = adviser.catalogue
    found = adviser.steps(case).candidates

    def weight(c: Candidate) -> tuple[bool, int, int]:
        goes_on = any(catalogue.agents[u.agent].travels not in STAYS for u in c.technique.brings)
        burden = sum(grade for _, grade in c.technique.burdens)
        return goes_on, c.effect.efficacy if c.effect else 0, -burden

    mine = [c for c in found if c.damage.id == found[0].damage.id] if found else []
    return max(mine, key=weight).id if mine else ""
