"""What would settle an open question: a test, a barrier, a parting, an entry in the record."""

from __future__ import annotations

from dataclasses import dataclass, field

from leastwise.graph.candidates import Candidate
from leastwise.graph.case import Case, Contact
from leastwise.graph.concepts import Catalogue, Test
from leastwise.graph.conditions import ConditionReader
from leastwise.graph.exposure import Exposure

__all__ = ["Mend", "Settler"]

LAST_RESORT = "test:hidden-spot-trial"


@dataclass(frozen=True, slots=True)
class Mend:
    """One thing that would lift a finding.

    *kind* is test, identity, barrier, parting or record. For a test, *what* is its CURIE; for a
    barrier or a parting, the names of the two parts; for the record, the field to fill.
    """

    kind: str
    what: str
    part: str = ""
    material: str = ""

    @property
    def key(self) -> tuple[str, str, str, str]:
        """Sorts and compares mends."""
        return (self.kind, self.what, self.part, self.material)


@dataclass(frozen=True)
class Settler:
    """Names the mends of open and defeating findings of one case."""

    case: Case
    catalogue: Catalogue
    reader: ConditionReader
    _known: dict[tuple[str, str, str, str], tuple[str, ...]] = field(
        default_factory=dict, repr=False
    )

    def of_exposure(self, exposure: Exposure, *, tests: bool) -> list[Mend]:
        """Return what would lift a finding on an exposure; *tests* says whether a test can."""
        mends = [*self._stops(exposure)]
        if tests and exposure.test_state != "bad":
            mends += self._tests(exposure)
        return mends

    def _tests(self, e: Exposure) -> list[Mend]:
        key = (e.part, e.material, e.agent, e.identification)
        names = self._known.get(key)
        if names is None:
            names = self._known[key] = tuple(self._best_tests(e))
        kind = "identity" if names and self._identifies(names[0], e) else "test"
        return [Mend(kind, name, e.part, e.material) for name in names]

    def _identifies(self, test: str, e: Exposure) -> bool:
        return e.identification == "unknown" and test in self._identity_tests(e.material)

    def _identity_tests(self, material: str) -> list[str]:
        return self.catalogue.knowledge.objects(material, "lw:identifiedBy")

    def _best_tests(self, e: Exposure) -> list[str]:
        """Return the identity test of an unknown material, else the gentlest direct test."""
        groups = set(self.catalogue.knowledge.broader(e.material))
        is_colour = bool(groups & {"material:colourant", "material:finish"})
        if e.identification == "unknown" and not is_colour:
            found = [t for t in self._identity_tests(e.material) if t in self.catalogue.tests]
            if found:
                return sorted(found, key=lambda t: _cost(self.catalogue.tests[t]))[:2]
        direct = [
            test
            for test in self.catalogue.tests.values()
            if e.agent in test.tests_agent
            and e.agent in test.clears
            and test.id != LAST_RESORT
            and (not test.applies_to or test.applies_to & groups)
        ]
        if direct:
            return [min(direct, key=_cost).id]
        return [LAST_RESORT] if LAST_RESORT in self.catalogue.tests else []

    def _stops(self, e: Exposure) -> list[Mend]:
        """Return the barriers and partings on the way that the record doesn't rule out."""
        agent = self.catalogue.agents[e.agent]
        mends = []
        for start, end in zip(e.reach.way, e.reach.way[1:], strict=False):
            for contact in self.case.contacts:
                if set(contact.between) == {start, end}:
                    mends += _stops_at(contact, start, end, e, agent.stopped_by)
        return mends

    def of_option(self, candidate: Candidate) -> list[Mend]:
        """Return what would lift the findings on an option's conditions, tests and equipment."""
        mends = [
            Mend("test", test, part)
            for test, _ in self.reader.missing_tests(candidate)
            for part in candidate.parts
        ]
        for condition in candidate.technique.requires:
            if self.reader.state(condition, candidate) == "unknown":
                mends += self._of_condition(condition, candidate)
        return mends

    def _of_condition(self, condition: str, candidate: Candidate) -> list[Mend]:
        tests = [t.id for t in self.catalogue.tests.values() if condition in t.checks]
        if tests:
            return [Mend("test", test, part) for test in tests for part in candidate.parts]
        return [Mend("record", condition, part) for part in candidate.parts]


def _stops_at(
    contact: Contact, start: str, end: str, e: Exposure, stopped_by: frozenset[str]
) -> list[Mend]:
    pair = f"{start} and {end}"
    mends = []
    if e.confined and "lw:Barrier" in stopped_by and contact.barrier in ("possible", "unknown"):
        mends.append(Mend("barrier", pair, e.part))
    if "lw:Parting" in stopped_by and contact.parting in ("possible", "unknown"):
        mends.append(Mend("parting", pair, e.part))
    return mends


def _cost(test: Test) -> tuple[int, int, str]:
    return (test.material_lost, test.minutes, test.id)
