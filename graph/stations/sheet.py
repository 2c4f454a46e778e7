"""The sheet of a humidification: sections in order, their packs, times and neighbours.

Times come from the bench physics for each section's pack and from the one clock of the project;
where the two differ, both are told. The dose on each neighbour is computed without and with a
film, and held against what its materials bear. What isn't known is said, never taken for safe.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from functools import cached_property

from leastwise.graph.answer import Answer, OptionAnswer
from leastwise.graph.case.packs import StackRecord
from leastwise.graph.case.record import Case, Contact, DamageFound, Part, Tri
from leastwise.graph.errors import UnknownOption
from leastwise.graph.knowledge.concepts import Catalogue
from leastwise.graph.knowledge.knowledge import Knowledge
from leastwise.graph.planning.bench_layers import layers_of_pack
from leastwise.graph.planning.bench_sheet import BenchSheet, bench_sheet
from leastwise.graph.planning.clock import ticks
from leastwise.graph.sentences import listed
from leastwise.graph.setups.answers import MoistureAnswer, answer_moisture
from leastwise.graph.setups.dose import DoseScale, NeighbourDose, dose_scale, neighbour_dose
from leastwise.graph.setups.stack_file import lay
from leastwise.graph.stations.more import amounts_of, liquid_of, more_of, relaxation_of
from leastwise.graph.stations.sections import (
    Section,
    Stations,
    contacts_of,
    sections_of,
    stations_of,
    vapour_harms,
)
from leastwise.graph.stations.stacks import SAMPLES, Cloth, Pack, cloth_of, stack_of
from leastwise.graph.stations.values import (
    COLLAR,
    FILM,
    FIRST_WRONG,
    GONE_WRONG,
    PLAIN,
    RELIEF,
    RELIEF_UNKNOWN,
    THROUGH,
    Beside,
    HumidificationSheet,
    SectionSheet,
)
from leastwise.graph.weighing.advise import Adviser
from leastwise.graph.weighing.conditions import ConditionReader
from leastwise.graph.weighing.exposure import expected_harm
from leastwise.graph.weighing.tested import as_tested

__all__ = [
    "Beside",
    "HumidificationSheet",
    "SectionSheet",
    "has_stations",
    "humidification_sheet",
]

#: What is laid at one place after another; a tent, a cloud or a bath has no stations.
STATIONS = "technique:local-humidification"
#: The equipment of a pack that the physics can compute: vapour through a membrane, no liquid.
MEMBRANE = "membrane"
#: The gravest harm that a neighbour may come to: slight, and it passes off.
GENTLE = 1
FULL_DOSE = 4


def humidification_sheet(
    adviser: Adviser, case: Case, answer: Answer, option: str
) -> HumidificationSheet | None:
    """Return the sheet of an option that brings vapour, None for any other technique.

    Raises:
        UnknownOption: the case has no such option.

    """
    found = next((o for o in answer.options() if o.id == option), None)
    if found is None:
        raise UnknownOption("option", option, [])
    if not has_stations(adviser.knowledge, found.technique):
        return None
    return _Writer(adviser, case, answer, found).sheet()


def has_stations(k: Knowledge, technique: str) -> bool:
    """Return whether a technique lays something damp at one place after another."""
    return STATIONS in k.broader(technique)


@dataclass(frozen=True)
class _Writer:
    adviser: Adviser
    case: Case
    answer: Answer
    option: OptionAnswer

    @cached_property
    def parts(self) -> dict[str, Part]:
        return {part.id: part for part in self.case.parts}

    @cached_property
    def problem(self) -> DamageFound:
        """Return the damage or need that the option is for."""
        return self.adviser.steps(self.case, self.option.id).candidates[0].damage

    @property
    def treated(self) -> tuple[str, ...]:
        return tuple(self.problem.parts)

    @cached_property
    def reader(self) -> ConditionReader:
        told = as_tested(self.case, self.catalogue.knowledge).case
        return ConditionReader(told, self.catalogue)

    @cached_property
    def scale(self) -> DoseScale:
        return dose_scale(self.adviser.knowledge)

    @property
    def catalogue(self) -> Catalogue:
        return self.adviser.catalogue

    def sheet(self) -> HumidificationSheet:
        frame = bench_sheet(self.adviser, self.case, self.answer, self.option.id)
        found = sections_of(self.case, self.treated, self.catalogue)
        sections = tuple(self._section(one, number) for number, one in enumerate(found, 1))
        return HumidificationSheet(
            self.option.id,
            frame,
            sections,
            tuple(self._first(frame)),
            GONE_WRONG,
            amounts_of(sections),
            self._in_words(found),
        )

    def _in_words(self, found: tuple[Section, ...]) -> str:
        names = [listed([self.parts[p].name for p in one.parts]) for one in found]
        if len(found) == 1:
            how = "together" if found[0].together else "station by station"
            return f"The {names[0]}: {how}."
        return f"One after another: {'; then '.join(names)}."

    def _first(self, frame: BenchSheet) -> Iterator[str]:
        """Yield what comes before the first station: tests made, tests open, loose things."""
        yield self._tested()
        for check in frame.checks:
            yield f"Settle: {check.what}."
        loose = "condition:has-loose-things"
        held = [p for p in self._around if self.reader.state_for(loose, [p]) is Tri.YES]
        if held:
            yield f"Secure what is loose on the {listed([self.parts[p].name for p in held])}."
        yield "Look at the first station for its whole time; go on only when it has dried well."
        yield FIRST_WRONG

    def _tested(self) -> str:
        """Return the tests on what is treated and what lies near, each with its result."""
        label, near = self.adviser.knowledge.label, set(self._around)
        made = [
            f"{one.other or label(one.test)}"
            f"{f' with {label(one.agent)}' if one.agent else ''}"
            f" on the {self.parts[one.part].name}: {one.result.replace('-', ' ')}"
            for one in self.case.tests
            if one.part in near
        ]
        if not made:
            return "Tested so far: nothing here or beside it, as far as it is recorded."
        return f"Tested so far: {'; '.join(dict.fromkeys(made))}."

    @property
    def _around(self) -> list[str]:
        near = [
            other for p in self.treated for other, _ in contacts_of(self.case, p, self.catalogue)
        ]
        return list(dict.fromkeys([*self.treated, *near]))

    def _section(self, one: Section, number: int) -> SectionSheet:
        part = self.parts[one.parts[0]]
        stations = tuple(stations_of(self.parts[p], self._share()) for p in one.parts)
        cloth = self._cloth(part)
        computed = None if isinstance(cloth, str) else self._computed(one, part, cloth, stations[0])
        stack, physics = (None, None) if computed is None else computed
        band = physics.band.time_to_target if physics else None
        return SectionSheet(
            number=number,
            parts=one.parts,
            names=tuple(self.parts[p].name for p in one.parts),
            together=one.together,
            because=one.because,
            stations=stations,
            stack=stack,
            layers=layers_of_pack(stack) if stack else None,
            cloth=cloth if isinstance(cloth, str) else cloth.weighed,
            times=ticks(self.adviser.knowledge, self.option.technique, physics),
            to_target_s=(band.low_s, band.high_s) if band else (None, None),
            neighbours=tuple(self._neighbours(one, cloth, stations[0], physics)),
            reshaping=self._reshaping(one),
            relaxes=() if isinstance(cloth, str) else relaxation_of(cloth),
            physics=self._more(one, part, stations[0], physics),
            missing=tuple(self._missing(one, cloth, stations)),
        )

    def _cloth(self, part: Part) -> Cloth | str:
        """Return the cloth that a pack is computed for, or why none is."""
        if not self._through_a_membrane:
            label = self.catalogue.techniques[self.option.technique].label
            return f"the model follows vapour alone, and {label} brings liquid water"
        return cloth_of(part, self.adviser.knowledge)

    @property
    def _through_a_membrane(self) -> bool:
        known = self.catalogue.techniques[self.option.technique]
        return MEMBRANE in known.equipment_keys

    def _share(self) -> float:
        extent = self.problem.extent
        percent = not isinstance(extent, str) and extent.unit == "percent"
        return extent.value / 100 if percent and not isinstance(extent, str) else 1.0

    def _missing(
        self, one: Section, cloth: Cloth | str, stations: tuple[Stations, ...]
    ) -> Iterator[str]:
        if isinstance(cloth, str):
            yield f"No times computed: {cloth}. Those of practice stand."
        for name, found in zip(one.parts, stations, strict=True):
            if not found.number:
                yield f"Size of the {self.parts[name].name} not recorded, so no number of stations."
            if not any(name in contact.between for contact in self.case.contacts):
                yield (
                    f"No contact of the {self.parts[name].name} is recorded: look what lies "
                    "against it before the first station."
                )

    def _reshaping(self, one: Section) -> str:
        states = {
            self.reader.state_for(condition, [part])
            for part in one.parts
            for condition in ("condition:has-relief", "condition:has-pile")
        }
        carries = [
            other
            for part in one.parts
            for other, contact in contacts_of(self.case, part, self.catalogue)
            if contact.kind in THROUGH
        ]
        if Tri.YES in states or carries:
            return RELIEF
        return RELIEF_UNKNOWN if Tri.UNKNOWN in states else PLAIN

    def _more(
        self, one: Section, part: Part, stations: Stations, physics: MoistureAnswer | None
    ) -> tuple[str, ...]:
        if physics is None:
            cloth = cloth_of(part, self.adviser.knowledge)
            if self._through_a_membrane or isinstance(cloth, str):
                return ()
            return liquid_of(cloth, stations)
        through = any(contact.kind in THROUGH for _, _, contact in self._near(one))
        flat = part.lies_flat is Tri.YES and self._reshaping(one) == PLAIN
        return more_of(physics, hung=part.lies_flat is not Tri.YES, flat=flat, through=through)

    def _computed(
        self, one: Section, part: Part, cloth: Cloth, stations: Stations
    ) -> tuple[StackRecord, MoistureAnswer]:
        """Return the pack of a section with its gravest neighbour behind it, and its physics."""
        near = self._near(one)
        _, other, contact = near[0] if near else ("", "", None)
        stack = self._stack(part, cloth, stations, other, contact)
        return stack, answer_moisture(stack, scale=self.scale)

    def _stack(
        self, part: Part, cloth: Cloth, stations: Stations, other: str, contact: Contact | None
    ) -> StackRecord:
        neighbour = self.parts.get(other)
        beside = self._cloth_beside(neighbour) if neighbour else None
        film = ""
        if contact is not None and contact.barrier in ("possible", "done"):
            film = "slit" if contact.kind in THROUGH else "whole"
        return stack_of(Pack(part, cloth, stations, neighbour, beside, film), demo=self.case.demo)

    def _near(self, one: Section) -> list[tuple[str, str, Contact]]:
        """Return (part, neighbour, contact) of a section, what bears least first."""
        found = [
            (part, other, contact)
            for part in one.parts
            for other, contact in contacts_of(self.case, part, self.catalogue)
        ]
        return sorted(found, key=lambda row: self._bears(row[1]))

    def _cloth_beside(self, part: Part) -> Cloth | None:
        cloth = cloth_of(part, self.adviser.knowledge)
        return None if isinstance(cloth, str) else cloth

    def _bears(self, part: str) -> int:
        """Return the highest dose that leaves slight harm at most, -1 where it isn't known."""
        harms = vapour_harms(self.case, part, self.catalogue)
        if not harms or min(harms) < 0:
            return -1
        worst = max(harms)
        doses = range(1, FULL_DOSE + 1)
        return max((d for d in doses if expected_harm(worst, d) <= GENTLE), default=0)

    def _neighbours(
        self,
        one: Section,
        cloth: Cloth | str,
        stations: Stations,
        physics: MoistureAnswer | None,
    ) -> Iterator[Beside]:
        """Yield the neighbours, what bears least first; that one is in the physics already."""
        for place, (part, other, contact) in enumerate(self._near(one)):
            dose = None
            if physics is not None and not isinstance(cloth, str):
                first = place == 0
                dose = (
                    physics.neighbours[0]
                    if first
                    else self._dose(part, cloth, stations, other, contact)
                )
            yield self._beside(self.parts[other], contact, dose)

    def _dose(
        self, part: str, cloth: Cloth, stations: Stations, other: str, contact: Contact
    ) -> NeighbourDose:
        laid = lay(self._stack(self.parts[part], cloth, stations, other, contact))
        return neighbour_dose(
            laid.stack, laid.questions[0], laid.uncertain, scale=self.scale, samples=SAMPLES
        )

    def _beside(self, neighbour: Part, contact: Contact, dose: NeighbourDose | None) -> Beside:
        bears, name = self._bears(neighbour.id), f"the {neighbour.name}"
        layer = dose.neighbour if dose else ""
        says = tuple(line.replace(layer, name) for line in dose.says) if dose else ()
        if bears < 0:
            says += (f"What {name} bears of vapour is not known: test first.",)
        film = FILM.get(str(contact.barrier), FILM["unknown"])
        if contact.kind in THROUGH and contact.barrier in ("possible", "done"):
            film += f"; {COLLAR}"
        return Beside(
            neighbour.id,
            neighbour.name,
            contact.kind,
            contact.barrier,
            film,
            bears,
            _within(bears, dose.bare.counts if dose else None),
            _within(bears, dose.behind.counts if dose and dose.behind else None),
            says,
        )


def _within(bears: int, dose: int | None) -> Tri:
    """Return whether a dose stays within what a neighbour bears; unknown where one isn't known."""
    if bears < 0 or dose is None:
        return Tri.UNKNOWN
    return Tri.YES if dose <= bears else Tri.NO
