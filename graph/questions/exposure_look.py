"""One option as the exposure picture sees it: its agents, their paths, what is against it."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace
from functools import cached_property
from itertools import pairwise

from leastwise.graph.case.record import Case, Contact
from leastwise.graph.errors import UnknownOption
from leastwise.graph.knowledge.concepts import Agent, AgentUse
from leastwise.graph.meanings import BLOCKING, Verdict
from leastwise.graph.questions.exposure_values import (
    COMES,
    DOSE_WORDS,
    TOUCH,
    TRAVELS,
    AgentPath,
    Crossing,
    MaterialMet,
    PartReached,
)
from leastwise.graph.weighing.advise import Adviser
from leastwise.graph.weighing.argument import argue
from leastwise.graph.weighing.contacts import stop_at
from leastwise.graph.weighing.explain import OPENING
from leastwise.graph.weighing.exposure import Exposure
from leastwise.graph.weighing.findings import Finding
from leastwise.graph.weighing.steps import ComputedDoses

__all__ = ["STAYS", "Doses", "Look", "capital"]

Doses = ComputedDoses
MOST_LEGS = 2
STAYS = ("onlyAtPlace", "wholeObject")
NOTHING_PASSES = 9


class Look:
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
            self.steps = replace(self.steps, doses=computed)
        found = [c for c in self.steps.candidates if c.id == option]
        if not found:
            raise UnknownOption("option", option, [])
        self.candidate = found[0]
        self.names = {part.id: part.name for part in case.parts}

    @property
    def computed(self) -> Doses:
        """Return the doses of the planned packs."""
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
        """Return what every agent reaches."""
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
    def verdict(self) -> Verdict:
        """Return accepted, undecided or defeated."""
        return argue(self.candidate.technique.label, self._findings, self.exposures).verdict

    @cached_property
    def against(self) -> tuple[str, ...]:
        """Return what speaks against the option, what defeats it first."""
        grave = BLOCKING
        ordered = sorted(
            (f for f in self._findings if f.rule.effect in grave),
            key=lambda f: grave.index(f.rule.effect),
        )
        return tuple(dict.fromkeys(f.message for f in ordered))

    @property
    def opening(self) -> str:
        """Return the verdict as a sentence."""
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
        name, label = self.names[e.part], capital(agent.label)
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
        f"{capital(agent.label)} is brought at dose {use.dose} of 4 ({DOSE_WORDS[use.dose]}). "
        f"{TRAVELS[agent.travels]}{how}"
    )


def capital(label: str) -> str:
    """Return a label as it begins a sentence."""
    return label[:1].upper() + label[1:]
