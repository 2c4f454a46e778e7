"""Changes that are entries: the record says what it was silent about, or there are more means."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any, ClassVar, Literal

from leastwise.graph.case.record import Case, Means, Tri
from leastwise.graph.meanings import Remedy
from leastwise.graph.questions.change_base import (
    BaseChange,
    ChangeView,
    Result,
    with_contacts,
    with_fields,
    with_part,
)

__all__ = [
    "EquipmentAdded",
    "FieldEntered",
    "HoursAdded",
    "MountingChosen",
    "PartingAllowed",
    "SkillAdded",
]

MOUNTING = "lw:mounting"


@dataclass(frozen=True, slots=True, kw_only=True)
class FieldEntered(BaseChange):
    """A field that answers a condition says yes: of a part, of the significance or of the aim."""

    kind: ClassVar[Remedy] = Remedy.ENTRY
    condition: str
    holder: Literal["part", "significance", "aim"]
    field: str
    part: str = ""

    @property
    def view(self) -> ChangeView:
        """The change as it is shown."""
        return self._shown(self.condition, self.part, f"{self.holder}.{self.field}")

    def applied(self, case: Case, result: Result) -> Case:
        """Return the case with the entry."""
        said = {self.field: Tri.YES}
        if self.holder == "part":
            return with_part(case, self.part, lambda part: with_fields(part, said))
        return case.model_copy(update={self.holder: with_fields(getattr(case, self.holder), said)})


@dataclass(frozen=True, slots=True, kw_only=True)
class PartingAllowed(BaseChange):
    """The record says of a part that what it touches can be taken off it."""

    kind: ClassVar[Remedy] = Remedy.ENTRY
    condition: str
    part: str

    @property
    def view(self) -> ChangeView:
        """The change as it is shown."""
        return self._shown(self.condition, self.part, "contacts.")

    def applied(self, case: Case, result: Result) -> Case:
        """Return the case with every contact of the part that isn't parted as possible to part."""
        return with_contacts(
            case,
            lambda c: self.part in c.between and c.parting in ("unknown", "impossible"),
            {"parting": "possible"},
        )


@dataclass(frozen=True, slots=True, kw_only=True)
class MountingChosen(BaseChange):
    """The record says how the object is held."""

    kind: ClassVar[Remedy] = Remedy.ENTRY
    mounting: str

    @property
    def view(self) -> ChangeView:
        """The change as it is shown."""
        return self._shown(MOUNTING, value=f"mounting.{self.mounting}")

    def applied(self, case: Case, result: Result) -> Case:
        """Return the case with the mounting."""
        return case.model_copy(update={"aim": with_fields(case.aim, {"mounting": self.mounting})})


@dataclass(frozen=True, slots=True, kw_only=True)
class _MeansAdded(BaseChange):
    """There are more means than the record says; *what* is what asked for them."""

    kind: ClassVar[Remedy] = Remedy.MEANS
    what: str

    @property
    def _value(self) -> str:
        raise NotImplementedError

    def _given(self, means: Means) -> dict[str, Any]:
        raise NotImplementedError

    @property
    def view(self) -> ChangeView:
        """The change as it is shown."""
        return self._shown(self.what, value=self._value)

    def applied(self, case: Case, result: Result) -> Case:
        """Return the case with the means."""
        return case.model_copy(update={"means": with_fields(case.means, self._given(case.means))})


@dataclass(frozen=True, slots=True, kw_only=True)
class SkillAdded(_MeansAdded):
    """Somebody of this skill is at hand."""

    skill: str

    @property
    def _value(self) -> str:
        return f"skill={self.skill}"

    def _given(self, _: Means) -> dict[str, Any]:
        return {"skill": self.skill}


@dataclass(frozen=True, slots=True, kw_only=True)
class HoursAdded(_MeansAdded):
    """So many hours are at hand in all."""

    hours: int

    @property
    def _value(self) -> str:
        return f"hours={self.hours}"

    def _given(self, _: Means) -> dict[str, Any]:
        return {"hours": float(self.hours)}


@dataclass(frozen=True, slots=True, kw_only=True)
class EquipmentAdded(_MeansAdded):
    """Equipment is at hand besides what the record names."""

    equipment: tuple[str, ...]

    @property
    def _value(self) -> str:
        return f"equipment={','.join(self.equipment)}"

    def _given(self, means: Means) -> dict[str, Any]:
        known = () if isinstance(means.equipment, str) else means.equipment
        return {"equipment": list(dict.fromkeys((*known, *self.equipment)))}
