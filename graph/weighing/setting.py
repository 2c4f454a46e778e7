"""A case as some of its options find it: as recorded, or with enabling acts done."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass, field
from functools import cached_property

from leastwise.graph.case.record import Case, Contact, Tri
from leastwise.graph.knowledge.concepts import Catalogue
from leastwise.graph.weighing.candidates import Act, Candidate, read_again
from leastwise.graph.weighing.conditions import ConditionReader
from leastwise.graph.weighing.contacts import ContactNetwork
from leastwise.graph.weighing.earlier import EARLIER, after_work
from leastwise.graph.weighing.explain import Explainer
from leastwise.graph.weighing.exposure import ExposureTracer
from leastwise.graph.weighing.findings import CaseData
from leastwise.graph.weighing.settle import Settler
from leastwise.graph.weighing.shared import Shared

__all__ = ["Setting", "enacted"]

#: (damage, technique) -> part -> dose of vapour where it was computed for a planned pack
Doses = Mapping[tuple[str, str], Mapping[str, int]]
#: What an act supplies at a contact -> the field of the contact and what it then says.
AT_CONTACT = {"lw:Barrier": ("barrier", "in-place"), "lw:Parting": ("parting", "done")}


@dataclass(frozen=True)
class Setting:
    """A case with what reads it; each reader is made once."""

    case: Case
    catalogue: Catalogue
    doses: Doses = field(default_factory=dict)
    acts: tuple[Act, ...] = ()
    in_words: bool = True  # else verdicts are wanted and no sentences
    shared: Shared = field(default_factory=Shared, repr=False)
    _stops: dict[tuple[str, str], tuple[Act, ...]] = field(
        default_factory=dict, repr=False, compare=False
    )

    def stops(self, named: tuple[str, str], find: Callable[[], Iterable[Act]]) -> tuple[Act, ...]:
        """Return the acts that do here what a mend names; *find* is asked once for each name."""
        known = self._stops.get(named)
        if known is None:
            known = self._stops[named] = tuple(find())
        return known

    @cached_property
    def tracer(self) -> ExposureTracer:
        """Return the tracer of exposures."""
        key = ("network", self.shared.mark([self.case.parts, self.case.contacts]))
        network = self.shared.made(key, lambda: ContactNetwork.of(self.case, self.catalogue))
        return ExposureTracer(self.case, self.catalogue, network, self.doses, self.shared)

    @cached_property
    def reader(self) -> ConditionReader:
        """Return the reader of conditions and means."""
        return ConditionReader(self.case, self.catalogue, self.shared)

    @cached_property
    def settler(self) -> Settler:
        """Return what names the tests and entries that would settle a finding."""
        return Settler(self.case, self.catalogue, self.reader)

    @cached_property
    def explainer(self) -> Explainer:
        """Return what puts findings and arguments into words."""
        return Explainer(self.case, self.catalogue, self.settler, self.acts)

    def data(self, candidates: Iterable[Candidate]) -> CaseData:
        """Return the case with candidates and their exposures, as the rules see it."""
        mine = tuple(read_again(c, self.reader) for c in candidates)
        exposures = {c.id: tuple(self.tracer.trace(c)) for c in mine}
        return CaseData(self.case, self.catalogue, mine, exposures, self.reader, self.in_words)

    def after(self, acts: tuple[Act, ...], name: str) -> Setting:
        """Return this setting with *acts* done; *name* tells its case from others."""
        case = enacted(self.case, acts, self.catalogue)
        case = case.model_copy(update={"id": f"{self.case.id}-{name}"})
        return Setting(case, self.catalogue, self.doses, acts, self.in_words, self.shared)


def enacted(case: Case, acts: Iterable[Act], catalogue: Catalogue) -> Case:
    """Return the case as its record would read with *acts* done."""
    for act in acts:
        if act.supplies in AT_CONTACT:
            case = _at_contact(case, act, act.supplies)
        elif act.supplies == EARLIER:
            case = after_work(case, act, catalogue)
        else:
            case = _at_part(case, act, catalogue.knowledge.text(act.supplies, "lw:partField"))
    return case


def _at_contact(case: Case, act: Act, supplies: str) -> Case:
    name, value = AT_CONTACT[supplies]

    def done(contact: Contact) -> Contact:
        is_here = set(contact.between) == set(act.where)
        return contact.model_copy(update={name: value}) if is_here else contact

    return case.model_copy(update={"contacts": [done(c) for c in case.contacts]})


def _at_part(case: Case, act: Act, name: str) -> Case:
    """Let the first place have what is supplied; a second one has been parted from it."""
    parts = [
        part.model_copy(update={name: Tri.YES}) if part.id == act.where[0] else part
        for part in case.parts
    ]
    case = case.model_copy(update={"parts": parts})
    return _at_contact(case, act, "lw:Parting") if len(act.where) > 1 else case
