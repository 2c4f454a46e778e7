"""How the agents of an option reach a part of a case: step by step, with the dose that is left."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from itertools import pairwise

from leastwise.graph import Adviser, Case
from leastwise.graph.ids import OptionId
from leastwise.graph.knowledge.concepts import Agent, Catalogue
from leastwise.graph.weighing.candidates import Candidate, find_candidates
from leastwise.graph.weighing.contacts import ContactNetwork, Reach
from leastwise.graph.weighing.exposure import Exposure

__all__ = ["AgentWay", "CaseWays", "WayStep", "WaysAsked", "case_ways", "ways_asked"]

#: Why an agent that isn't traced to a part doesn't come there.
STAYS = {
    "onlyAtPlace": "It acts only where it is put.",
    "byContact": "No contact leads there, or less than a trace is left on the way.",
    "byHeat": "No contact leads there, or less than a trace is left on the way.",
    "byPull": "Nothing joins the two by which it could pull.",
    "downward": "It passes only to what lies below, and this part doesn't.",
    "intoFibre": "It soaks only into what is sewn or glued through, and this part isn't.",
    "overSurface": "It takes along only what is sewn through, lies on or hangs from the place.",
    "throughLayers": "It passes only to what lies below, and this part doesn't.",
}


@dataclass(frozen=True, slots=True)
class WayStep:
    """From one part to the next: the kind of contact, and the dose that is left behind it."""

    part: str
    name: str
    contact: str
    lost: int
    dose: int

    @property
    def short(self) -> str:
        """Return the step in a few words."""
        return f"{self.contact}, dose {self.dose}"


@dataclass(frozen=True, slots=True)
class AgentWay:
    """The way of one agent to the part: where it is put, its steps, and what it meets there."""

    agent: str
    dose: int  # where it is put
    first: str  # name of the part there
    steps: tuple[WayStep, ...]
    arrives: int  # dose; 0 where it doesn't come
    spreads: bool  # over the whole object, not from part to part
    stopped: str  # "", barrier, parting
    why_not: str
    met: tuple[Exposure, ...]

    @property
    def names(self) -> tuple[str, ...]:
        """Return the names of the parts on the way."""
        return (self.first, *(step.name for step in self.steps))


@dataclass(frozen=True)
class CaseWays:
    """The options of a case with what they expose, and the names of its parts."""

    case: Case
    catalogue: Catalogue
    candidates: tuple[Candidate, ...]
    exposures: Mapping[OptionId, tuple[Exposure, ...]]
    parts: Mapping[str, str]  # id -> name

    @property
    def options(self) -> list[tuple[str, str]]:
        """Return the options that bring anything: id and label."""
        return [
            (c.id, f"{c.technique.label} ({c.damage.id.replace('-', ' ')})")
            for c in self.candidates
            if c.technique.brings
        ]

    def option(self, name: str) -> Candidate | None:
        """Return the option of an id (damage/technique), or the first one of a technique."""
        bare = name.removeprefix("technique:")
        ids = (name, bare)
        return next(
            (
                c
                for c in self.candidates
                if c.id in ids or c.technique.id in (name, f"technique:{bare}")
            ),
            None,
        )

    def to_part(self, option: Candidate, part: str) -> tuple[AgentWay, ...]:
        """Return the way of each agent of an option to one part."""
        network = ContactNetwork.of(self.case, self.catalogue)
        found = []
        for use in option.technique.brings:
            agent = self.catalogue.agents[use.agent]
            reached = network.reached(
                option.parts,
                agent,
                use.dose,
                confined=use.confined,
                whole=option.technique.reaches_whole,
            )
            reach = next((r for r in reached if r.part == part), None)
            met = tuple(
                e
                for e in self.exposures[option.id]
                if e.agent == use.agent and e.part == part and e.confined == use.confined
            )
            found.append(self._way(agent, use.dose, reach, met, option))
        return tuple(found)

    def _way(
        self,
        agent: Agent,
        dose: int,
        reach: Reach | None,
        met: tuple[Exposure, ...],
        option: Candidate,
    ) -> AgentWay:
        first = self.parts[reach.way[0] if reach else option.parts[0]]
        if reach is None:
            why = STAYS.get(agent.travels, "It doesn't come there.")
            return AgentWay(agent.id, dose, first, (), 0, False, "", why, ())
        spreads = len(reach.way) == 1 and reach.part not in option.parts
        if spreads:
            first = self.parts[option.parts[0]]
        arrives = 0 if reach.stopped else (met[0].dose if met else reach.dose)
        steps = self._steps(reach, dose, agent)
        return AgentWay(agent.id, dose, first, steps, arrives, spreads, reach.stopped, "", met)

    def _steps(self, reach: Reach, dose: int, agent: Agent) -> tuple[WayStep, ...]:
        steps = []
        for here, there in pairwise(reach.way):
            kinds = [
                self.catalogue.contact_kinds[c.kind]
                for c in self.case.contacts
                if set(c.between) == {here, there}
            ]
            loss, kind = min(
                (kind.passes[agent.travels].dose_loss, kind.label)
                for kind in kinds
                if agent.travels in kind.passes
            )
            dose -= loss
            steps.append(WayStep(there, self.parts[there], kind, loss, dose))
        return tuple(steps)


def case_ways(adviser: Adviser, case: Case) -> CaseWays:
    """Return the options of a case with what they expose."""
    catalogue = adviser.catalogue
    steps = adviser.steps(case)
    return CaseWays(
        case,
        catalogue,
        tuple(find_candidates(case, catalogue)),
        steps.data.exposures,
        {part.id: part.name for part in case.parts},
    )


@dataclass(frozen=True, slots=True)
class WaysAsked:
    """What a page asks: the options and parts to choose from, and the ways of what was chosen.

    *chosen* is the option's id and *label* its technique, *to* the part; empty where none fits.
    """

    options: tuple[tuple[str, str], ...]
    parts: Mapping[str, str]
    chosen: str
    label: str
    to: str
    found: tuple[AgentWay, ...]


def ways_asked(adviser: Adviser, case: Case, start: str, part: str) -> WaysAsked:
    """Return how the agents of the option *start* reach a part, and what else may be asked."""
    ways = case_ways(adviser, case)
    option, to = ways.option(start), part if part in ways.parts else ""
    found = ways.to_part(option, to) if option and to else ()
    chosen, label = (str(option.id), option.technique.label) if option else ("", "")
    return WaysAsked(tuple(ways.options), ways.parts, chosen, label, to, found)
