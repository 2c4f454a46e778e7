"""What every change of a case has: how it is shown, told apart and written into the record."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import Any, ClassVar, Literal, TypeVar

from leastwise.graph.case.parts import Contact, Part
from leastwise.graph.case.record import Case
from leastwise.graph.case.values import Record
from leastwise.graph.meanings import Remedy

__all__ = [
    "BaseChange",
    "ChangeView",
    "Key",
    "Result",
    "with_contacts",
    "with_fields",
    "with_part",
]

#: kind, what, part, material, agent and value of a change: tells it from every other.
Key = tuple[str, str, str, str, str, str]
#: How a test comes out.
Result = Literal["good", "bad"]
R = TypeVar("R", bound=Record)


@dataclass(frozen=True, slots=True)
class ChangeView:
    """One change of a case as it is shown.

    *kind* is test, identity, barrier, parting, entry or means; *what* is a test, a condition, a
    pair of parts or a field; *minutes* and *material_lost* (0 nothing to 3 a cut piece) are what
    a test costs. *against_record* marks what the record rules out as the case stands.
    """

    kind: Remedy
    what: str
    label: str
    part: str = ""
    material: str = ""
    agent: str = ""
    value: str = ""
    minutes: int = 0
    material_lost: int = 0
    against_record: bool = False

    @property
    def key(self) -> Key:
        """Tells changes apart."""
        return (self.kind, self.what, self.part, self.material, self.agent, self.value)


@dataclass(frozen=True, slots=True, kw_only=True)
class BaseChange:
    """What every change has: how it is called, and whether the record rules it out."""

    kind: ClassVar[Remedy]
    label: str
    against_record: bool = False

    @property
    def view(self) -> ChangeView:
        """The change as it is shown."""
        raise NotImplementedError

    @property
    def key(self) -> Key:
        """Tells changes apart."""
        return self.view.key

    @property
    def slot(self) -> tuple[str, ...]:
        """Two changes of one slot can't both be made; they are alternatives."""
        return self.key[:5]

    @property
    def cost(self) -> tuple[int, int]:
        """(material lost, minutes) of a test; nothing for what isn't one."""
        return 0, 0

    @property
    def is_test(self) -> bool:
        """Whether something has to be found out, which may come out either way."""
        return self.kind.is_test

    def _shown(self, what: str, part: str = "", value: str = "") -> ChangeView:
        return ChangeView(
            self.kind, what, self.label, part, value=value, against_record=self.against_record
        )

    def applied(self, case: Case, result: Result) -> Case:
        """Return the case after the change; *result* is how a test comes out."""
        raise NotImplementedError


def with_fields(record: R, said: Mapping[str, Any]) -> R:
    """Return a record with some fields otherwise, validated as at reading."""
    return type(record).model_validate(dict(record) | dict(said))


def with_part(case: Case, part: str, change: Callable[[Part], Part]) -> Case:
    """Return a case with one part changed."""
    return case.model_copy(update={"parts": [change(p) if p.id == part else p for p in case.parts]})


def with_contacts(case: Case, fits: Callable[[Contact], bool], said: Mapping[str, str]) -> Case:
    """Return a case with some fields of those contacts that fit otherwise."""
    contacts = [with_fields(c, said) if fits(c) else c for c in case.contacts]
    return case.model_copy(update={"contacts": contacts})
