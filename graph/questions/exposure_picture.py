"""The exposure picture: the path of one agent of one option, and what barriers would change.

Nothing is judged here that the rules don't judge: a barrier or a parting that is tried is put
into a copy of the case, and the copy is weighed again.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from functools import cached_property
from itertools import pairwise

from leastwise.graph.answer import Computed
from leastwise.graph.case.record import Case, Contact
from leastwise.graph.errors import NotFound, UnknownOption
from leastwise.graph.knowledge.concepts import Agent, AgentUse
from leastwise.graph.questions.exposure_values import (
    COMES,
    DOSE_WORDS,
    TOUCH,
    TRAVELS,
    AgentPath,
    Crossing,
    ExposurePicture,
    MaterialMet,
    PartReached,
    Stop,
    Supposed,
    Toggle,
    WouldBe,
)
from leastwise.graph.weighing.advise import Adviser
from leastwise.graph.weighing.argument import argue
from leastwise.graph.weighing.candidates import Candidate
from leastwise.graph.weighing.contacts import stop_at
from leastwise.graph.weighing.explain import OPENING
from leastwise.graph.weighing.exposure import Exposure
from leastwise.graph.weighing.findings import Finding

__all__ = ["Doses", "exposure_picture", "first_option"]

MOST_LEGS = 2
Doses = Mapping[tuple[str, str], dict[str, Computed]]
STAYS = ("onlyAtPlace", "wholeObject")
NOTHING_PASSES = 9


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
    now = _Look(adviser, case, option, computed)
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
        then = _Look(adviser, _supposing(case, kept), option, now.computed)
        after = then.path(chosen)
        numbers |= set(after.numbers)
        would_be = _compared(now, path, then, after)
    toggles = tuple(_toggle(now, chosen, number, kept) for number in sorted(numbers))
    return _picture(now, path, toggles, refused, would_be)


def _picture(
    now: _Look,
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


class _Look:
    """One option of one case, as it stands or as it would be."""

    def __init__(
        self,
        adviser: Adviser,
        case: Case,
        option: str,
        computed: Doses | None = None,
    ) -> None:
        self.case, self.catalogue = case, adviser.catalogue
        self.steps = adviser.steps(case, option)
        if computed is not None:  # the packs are the same, and the solver takes its time
            self.steps.__dict__["computed"] = computed
        found = [c for c in self.steps.candidates if c.id == option]
        if not found:
            raise UnknownOption("option", option, [])
        self.candidate = found[0]
        self.names = {part.id: part.name for part in case.parts}

    @property
    def computed(self) -> Doses:
        return self.steps.computed

    @cached_property
    def uses(self) -> dict[str, AgentUse]:
        """Return the agents that the technique brings, the strongest use of each."""
        found: dict[str, AgentUse] = {}
        for use in self.candidate.technique.brings:
            if use.agent not in found or use.dose > found[use.agent].dose:
                found[use.agent] = use
        return found

    @cached_property
    def exposures(self) -> tuple[Exposure, ...]:
        return self.steps.data.exposures[self.candidate.id]

    @cached_property
    def first_agent(self) -> str:
        """Return the agent that reaches most neighbours, of these the one that harms most."""

        def weight(agent: str) -> tuple[int, int]:
            mine = [e for e in self.exposures if e.agent == agent and not e.on_target]
            ways = {e.part for e in mine if len(e.reach.way) > 1}
            return len(ways), max((e.harm for e in mine), default=0)

        return max(self.uses, key=weight, default="")

    @cached_property
    def _findings(self) -> tuple[Finding, ...]:
        return self.steps.findings.get(self.candidate.id, ())

    @cached_property
    def verdict(self) -> str:
        return argue(self.candidate.technique.label, self._findings, self.exposures).verdict

    @cached_property
    def against(self) -> tuple[str, ...]:
        """Return what speaks against the option, what defeats it first."""
        grave = ("defeats", "leavesUndecided")
        ordered = sorted(
            (f for f in self._findings if f.rule.effect in grave),
            key=lambda f: grave.index(f.rule.effect),
        )
        return tuple(dict.fromkeys(f.message for f in ordered))

    @property
    def opening(self) -> str:
        return f"{OPENING[self.verdict]}."

    def path(self, agent: str) -> AgentPath:
        """Return the path of one agent."""
        use, known = self.uses[agent], self.catalogue.agents[agent]
        by_part: dict[str, list[Exposure]] = {}
        for exposure in self.exposures:
            if exposure.agent == agent:
                by_part.setdefault(exposure.part, []).append(exposure)
        reached = tuple(self._reached(known, use, group) for group in by_part.values())
        untouched = tuple(name for part, name in self.names.items() if part not in by_part)
        return AgentPath(
            agent, known.label, use.dose, use.confined, _in_short(known, use), reached, untouched
        )

    def _reached(self, agent: Agent, use: AgentUse, group: Sequence[Exposure]) -> PartReached:
        lead = max(group, key=lambda e: e.dose)
        reach = lead.reach
        crossings = tuple(self._crossings(agent, use, lead))
        computed = not lead.on_target and lead.dose != reach.dose
        return PartReached(
            part=lead.part,
            name=self.names[lead.part],
            dose=lead.dose,
            on_target=lead.on_target,
            way=reach.way,
            crossings=crossings,
            stopped=reach.stopped,
            stoppable=reach.stoppable,
            computed=computed,
            in_words=self._says(agent, lead, crossings, computed=computed),
            materials=tuple(
                {e.material: self._met(e) for e in sorted(group, key=lambda e: e.dose)}.values()
            ),
        )

    def _met(self, e: Exposure) -> MaterialMet:
        k = self.catalogue.knowledge
        return MaterialMet(
            e.material,
            k.label(e.material),
            e.identification,
            e.sensitivity.harm,
            e.harm,
            e.sensitivity.contested,
            e.test_state,
            tuple(k.label(test) for test in e.tests_done),
            e.sensitivity.claims,
        )

    def _crossings(self, agent: Agent, use: AgentUse, e: Exposure) -> Iterator[Crossing]:
        dose = use.dose
        for start, end in pairwise(e.reach.way):
            number, contact = self._contact(start, end, agent, use)
            dose = max(1, dose - self._loss(contact, agent))
            yield Crossing(
                number,
                start,
                end,
                contact.kind,
                self.touch(contact),
                e.dose if end == e.part else dose,
                stop_at(contact, agent, confined=use.confined),
            )

    def _contact(self, start: str, end: str, agent: Agent, use: AgentUse) -> tuple[int, Contact]:
        """Return the contact by which an agent goes: an open one first, then the least loss."""
        rows = [
            (number, contact)
            for number, contact in enumerate(self.case.contacts, 1)
            if set(contact.between) == {start, end}
        ]
        return min(
            rows,
            key=lambda row: (
                bool(stop_at(row[1], agent, confined=use.confined)),
                self._loss(row[1], agent),
                row[0],
            ),
        )

    def _loss(self, contact: Contact, agent: Agent) -> int:
        """Return the grades of dose that are lost at a contact; very many where nothing passes."""
        passage = self.catalogue.contact_kinds[contact.kind].passes.get(agent.travels)
        return passage.dose_loss if passage else NOTHING_PASSES

    def touch(self, contact: Contact) -> str:
        """Return how two parts touch, as a place."""
        return TOUCH[contact.kind].format(*(self.names[part] for part in contact.between))

    def _says(
        self, agent: Agent, e: Exposure, crossings: Sequence[Crossing], *, computed: bool
    ) -> str:
        name, label = self.names[e.part], _capital(agent.label)
        amount = f"dose {e.dose} of 4 ({DOSE_WORDS[e.dose]}{', computed' if computed else ''})"
        if e.on_target:
            return f"{label} is put on {name}: {amount}."
        if not crossings:
            return self._at_once(label, e, amount)
        if not e.reach.stopped:
            return f"{label} reaches {name} {self._way(crossings)}: {amount}."
        stop = next((c for c in crossings if c.stop), crossings[0])
        between = f"between {self.names[stop.start]} and {self.names[stop.end]}"
        if stop.stop == "parting":
            return f"{label} would reach {name}, but {between} the two are taken apart."
        return f"{label} would reach {name}, but a barrier {between} stops it."

    def _at_once(self, label: str, e: Exposure, amount: str) -> str:
        """Return how an agent comes to a part without crossing a contact of the record."""
        name = self.names[e.part]
        if not e.reach.recorded:
            return f"{label} may reach {name}: how it touches the rest isn't recorded."
        if e.reach.stopped:
            return f"{label} would reach {name}, but it has been taken off."
        return f"{label} reaches {name} as it does the whole object: {amount}."

    def _way(self, crossings: Sequence[Crossing]) -> str:
        """Return the way from its end backwards; of a long one the middle by names only."""
        words = [COMES[c.kind].format(self.names[c.start]) for c in reversed(crossings)]
        if len(words) <= MOST_LEGS:
            return ", which it reaches ".join(words)
        between = ", ".join(self.names[c.end] for c in crossings[:-1])
        return f"{words[0]}, having come from {self.names[crossings[0].start]} by way of {between}"


def _in_short(agent: Agent, use: AgentUse) -> str:
    """Return how the agent is brought and how it travels."""
    if agent.travels in STAYS:
        how = ""
    elif use.confined:
        how = " It is held to the place, so a sheet can stop it."
    else:
        how = " It comes as a cloud or a bath, so no sheet laid between two parts stops it."
    can = "lw:Barrier" in agent.stopped_by
    how = how if can or not use.confined else ""
    return (
        f"{_capital(agent.label)} is brought at dose {use.dose} of 4 ({DOSE_WORDS[use.dose]}). "
        f"{TRAVELS[agent.travels]}{how}"
    )


def _capital(label: str) -> str:
    return label[:1].upper() + label[1:]


def _toggle(now: _Look, agent: str, number: int, supposed: Supposed) -> Toggle:
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


def _stop(now: _Look, agent: str, kind: str, contact: Contact, *, on: bool) -> Stop:
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


def _allowed(now: _Look, agent: str, supposed: Supposed) -> tuple[Supposed, tuple[str, ...]]:
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


def _compared(now: _Look, before: AgentPath, then: _Look, after: AgentPath) -> WouldBe:
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
    return tuple(f"{_capital(line)}." for line in lines)


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
