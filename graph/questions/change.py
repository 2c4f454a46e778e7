"""Changes of a case that its record leaves open, and the case as it would be after them.

Each kind of change is a small value that can be made: a test that comes out well or badly, a
barrier, two parts taken apart, an entry in the record, more means. What it writes is validated as
a record is when it is read, so that no change leads to a case that couldn't have been recorded.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import ClassVar

from leastwise.graph.case.parts import Part
from leastwise.graph.case.record import Case, TestDone
from leastwise.graph.ids import Pair
from leastwise.graph.meanings import Remedy
from leastwise.graph.questions.change_base import (
    BaseChange,
    ChangeView,
    Key,
    Result,
    with_contacts,
    with_fields,
    with_part,
)
from leastwise.graph.questions.change_entries import (
    EquipmentAdded,
    FieldEntered,
    HoursAdded,
    MountingChosen,
    PartingAllowed,
    SkillAdded,
)

__all__ = [
    "BarrierPlaced",
    "Change",
    "ChangeView",
    "EquipmentAdded",
    "FieldEntered",
    "HoursAdded",
    "Key",
    "MaterialIdentified",
    "MountingChosen",
    "PartingAllowed",
    "PartsTakenApart",
    "Result",
    "SkillAdded",
    "TestMade",
    "applied",
    "shown",
]


@dataclass(frozen=True, slots=True, kw_only=True)
class TestMade(BaseChange):
    """A test is made on a part; *material* and *agent* are "" where it isn't about one."""

    __test__ = False  # not a pytest class

    kind: ClassVar[Remedy] = Remedy.TEST
    test: str
    part: str
    material: str = ""
    agent: str = ""
    minutes: int
    material_lost: int

    @property
    def cost(self) -> tuple[int, int]:
        """(material lost, minutes) of the test."""
        return self.material_lost, self.minutes

    @property
    def _value(self) -> str:
        """What the test is to show."""
        return ""

    @property
    def view(self) -> ChangeView:
        """The change as it is shown."""
        return ChangeView(
            self.kind,
            self.test,
            self.label,
            self.part,
            self.material,
            self.agent,
            self._value,
            minutes=self.minutes,
            material_lost=self.material_lost,
            against_record=self.against_record,
        )

    def applied(self, case: Case, result: Result) -> Case:
        """Return the case with the test among those that were made."""
        done = TestDone.model_validate(
            {
                "test": self.test,
                "part": self.part,
                "material": self.material or None,
                "agent": self.agent or None,
                "result": result,
                "by": "supposed",
            }
        )
        return case.model_copy(update={"tests": [*case.tests, done]})


@dataclass(frozen=True, slots=True, kw_only=True)
class MaterialIdentified(TestMade):
    """A test tells what a material is: *found* if it comes out well, else it stays open."""

    kind: ClassVar[Remedy] = Remedy.IDENTITY
    found: str = ""

    @property
    def _value(self) -> str:
        """What the test is to show."""
        return self.found

    def applied(self, case: Case, result: Result) -> Case:
        """Return the case with the test made; only a good result settles what the material is."""
        case = TestMade.applied(self, case, result)
        if result != "good":
            return case
        return with_part(case, self.part, self._settled)

    def _settled(self, part: Part) -> Part:
        mine = [m for m in part.materials if m.material == self.material]
        chosen = {m.choice for m in mine} - {""}
        found = {
            "identified": "certain",
            "material": self.found or self.material,
            "choice": "",
            "implied": False,
        }
        known = [
            with_fields(m, found) if m.material == self.material else m
            for m in part.materials
            if m.material == self.material or m.choice not in chosen
        ]
        return with_fields(part, {"materials": known})


@dataclass(frozen=True, slots=True, kw_only=True)
class _Stopped(BaseChange):
    """Something is done between two parts that touch."""

    written: ClassVar[Mapping[str, str]]
    pair: Pair

    @property
    def view(self) -> ChangeView:
        """The change as it is shown."""
        return self._shown(self.pair)

    def applied(self, case: Case, result: Result) -> Case:
        """Return the case with every contact of the two parts changed."""
        return with_contacts(case, lambda c: self.pair.is_of(c.between), self.written)


@dataclass(frozen=True, slots=True, kw_only=True)
class BarrierPlaced(_Stopped):
    """A sheet is put between two parts."""

    kind: ClassVar[Remedy] = Remedy.BARRIER
    written: ClassVar[Mapping[str, str]] = {"barrier": "in-place"}


@dataclass(frozen=True, slots=True, kw_only=True)
class PartsTakenApart(_Stopped):
    """Two parts are taken apart."""

    kind: ClassVar[Remedy] = Remedy.PARTING
    written: ClassVar[Mapping[str, str]] = {"parting": "done"}


Change = (
    TestMade
    | MaterialIdentified
    | BarrierPlaced
    | PartsTakenApart
    | FieldEntered
    | PartingAllowed
    | MountingChosen
    | SkillAdded
    | HoursAdded
    | EquipmentAdded
)


def applied(case: Case, changes: Iterable[Change], result: Result = "good") -> Case:
    """Return the case as it would be after *changes*; tests come out with *result*.

    Raises:
        pydantic.ValidationError: a change writes what no record may hold.

    """
    for change in changes:
        case = change.applied(case, result)
    return case


def shown(changes: Iterable[Change]) -> list[ChangeView]:
    """Return changes as they are shown."""
    return [change.view for change in changes]
