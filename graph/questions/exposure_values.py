"""The exposure picture as frozen values, and the words for doses, ways and contacts."""

from __future__ import annotations

from dataclasses import dataclass

from leastwise.graph.meanings import TestState, Verdict

__all__ = [
    "COMES",
    "DOSE_WORDS",
    "TOUCH",
    "TRAVELS",
    "AgentPath",
    "Crossing",
    "ExposurePicture",
    "MaterialMet",
    "PartReached",
    "Stop",
    "Supposed",
    "Toggle",
    "WouldBe",
]

DOSE_WORDS = ("none", "a trace", "low", "moderate", "full")
TRAVELS = {
    "byContact": "It goes on to whatever touches.",
    "byHeat": "It goes on to whatever touches, is sewn or is fastened on.",
    "byPull": "It pulls at whatever is sewn, hung or fastened on.",
    "downward": "It goes to what lies below.",
    "intoFibre": "It soaks into what is sewn or glued through.",
    "onlyAtPlace": "It stays at the place where it is put.",
    "overSurface": "It takes along what is sewn through, lies on or under it, or hangs from it.",
    "throughLayers": "It goes through what lies below.",
    "wholeObject": "It reaches the whole object.",
}
#: By which contact an agent comes, seen from the part that it reaches; the part before goes in.
COMES = {
    "sewn-through": "along the threads that go through it and {0}",
    "stitched": "through the seam with {0}",
    "glued": "through the glued joint with {0}",
    "lies-on": "from {0}, since one lies on the other",
    "layered-under": "from {0}, since one lies under the other",
    "hangs-from": "from {0}, since one hangs from the other",
    "fastened": "from {0}, to which it is fastened",
    "touches": "from {0}, which it touches",
    "enclosed-in": "from {0}, since one is enclosed in the other",
    "one-cloth": "through the cloth that it shares with {0}",
    "woven-in": "along the threads that are worked into one of it and {0}",
    "painted-on": "from {0}, since one is painted or coated on the other",
    "threaded-through": "from {0}, since one runs through the other",
    "tied": "from {0}, to which it is tied",
    "near": "from {0}, which lies near it",
    "apart": "from {0}",
    "unknown": "from {0}, which it touches in a way not known",
}
#: How two parts touch, as a place: the names of the first and the second part go in.
TOUCH = {
    "sewn-through": "where the threads go through {0} and {1}",
    "stitched": "through the stitched seam of {0} and {1}",
    "glued": "through the glued joint of {0} and {1}",
    "lies-on": "where {0} lies on {1}",
    "layered-under": "where {0} lies under {1}",
    "hangs-from": "where {0} hangs from {1}",
    "fastened": "where {0} is fastened to {1}",
    "touches": "where {0} touches {1}",
    "enclosed-in": "where {0} is enclosed in {1}",
    "one-cloth": "where {0} and {1} are one cloth",
    "woven-in": "where {0} is woven or worked into {1}",
    "painted-on": "where {0} is painted or coated on {1}",
    "threaded-through": "where {0} runs through {1}",
    "tied": "where {0} is tied to {1}",
    "near": "where {0} lies near {1}",
    "apart": "where {0} lies apart from {1}",
    "unknown": "where {0} and {1} touch in a way not known",
}


@dataclass(frozen=True, slots=True)
class MaterialMet:
    """A material that an agent meets; severity and harm 0 to 4, -1 where nothing is known."""

    material: str
    label: str
    identification: str  # certain, presumed, unknown
    severity: int
    harm: int
    contested: bool
    test_state: TestState
    tests: tuple[str, ...]  # labels of the tests that gave that state
    claims: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Crossing:
    """One contact that an agent passes; *number* counts the contacts of the record from 1."""

    number: int
    start: str
    end: str
    kind: str
    in_words: str
    dose: int  # that is left behind it, 1 to 4
    stop: str  # "", barrier, parting


@dataclass(frozen=True, slots=True)
class PartReached:
    """A part that an agent reaches, or would but for a stop (then nothing arrives).

    *stoppable* says whether barriers and partings that the record calls possible would cut every
    way: yes, no, unknown. *computed* marks a dose computed for a planned pack.
    """

    part: str
    name: str
    dose: int
    on_target: bool
    way: tuple[str, ...]
    crossings: tuple[Crossing, ...]
    stopped: str
    stoppable: str
    computed: bool
    in_words: str
    materials: tuple[MaterialMet, ...]

    @property
    def arrives(self) -> bool:
        """Whether anything arrives."""
        return not self.stopped


@dataclass(frozen=True, slots=True)
class AgentPath:
    """Where an agent starts, whom it reaches, and what it doesn't reach."""

    agent: str
    label: str
    dose: int
    confined: bool
    in_words: str
    reached: tuple[PartReached, ...]
    untouched: tuple[
        str, ...
    ]  # names of parts that it doesn't reach, and that nothing keeps it from

    @property
    def numbers(self) -> tuple[int, ...]:
        """The contacts on the ways, each once, in the order of the record."""
        return tuple(sorted({c.number for p in self.reached for c in p.crossings}))


@dataclass(frozen=True, slots=True)
class Stop:
    """A barrier or a parting that may be tried at one contact; *why* says why not, or what is."""

    kind: str  # barrier, parting
    recorded: str
    on: bool
    can: bool
    why: str


@dataclass(frozen=True, slots=True)
class Toggle:
    """One contact on the way, with what could stop the agent there."""

    number: int
    first: str
    second: str
    in_words: str
    barrier: Stop
    parting: Stop


@dataclass(frozen=True, slots=True)
class Supposed:
    """Contacts (by number) at which a barrier is supposed to be in place, or a parting done."""

    barriers: tuple[int, ...] = ()
    partings: tuple[int, ...] = ()

    def __bool__(self) -> bool:
        """Whether anything is supposed."""
        return bool(self.barriers or self.partings)


@dataclass(frozen=True, slots=True)
class WouldBe:
    """What comes of it when the copy of the case is weighed again.

    *ended* and *weakened* are sentences on parts; *lifted* and *left* the points against the
    option, in the words of the rules.
    """

    path: AgentPath
    verdict: Verdict
    verdict_in_words: str
    ended: tuple[str, ...]
    weakened: tuple[str, ...]
    lifted: tuple[str, ...]
    left: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class ExposurePicture:
    """Everything that the picture of one option and one of its agents shows."""

    option: str
    label: str
    damage: str
    damage_label: str
    agents: tuple[tuple[str, str], ...]  # id and label of each agent of the option
    path: AgentPath | None  # None for an option that brings nothing
    verdict: Verdict
    verdict_in_words: str
    against: tuple[str, ...]
    toggles: tuple[Toggle, ...]
    refused: tuple[str, ...]  # what was supposed and can't be, in sentences
    would_be: WouldBe | None
