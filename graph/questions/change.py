"""One change of a case that its record leaves open, and the case as it would be after it."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass
from typing import Any

from leastwise.graph.case.record import Case, Part, TestDone, Tri
from leastwise.graph.meanings import Remedy

__all__ = ["Change", "applied"]


@dataclass(frozen=True, slots=True)
class Change:
    """One change of a case.

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
    def key(self) -> tuple[str, str, str, str, str, str]:
        """Tells changes apart."""
        return (self.kind, self.what, self.part, self.material, self.agent, self.value)

    @property
    def slot(self) -> tuple[str, str, str, str, str]:
        """Two changes of one slot can't both be made; they are alternatives."""
        return self.key[:5]

    @property
    def is_test(self) -> bool:
        """Whether something has to be found out, which may come out either way."""
        return self.kind.is_test


def applied(case: Case, changes: Iterable[Change], result: str = "good") -> Case:
    """Return the case as it would be after *changes*; tests come out with *result*."""
    for change in changes:
        case = _APPLY[change.kind](case, change, result)
    return case


def _tested(case: Case, change: Change, result: str) -> Case:
    done = TestDone.model_validate(
        {
            "test": change.what,
            "part": change.part,
            "material": change.material or None,
            "agent": change.agent or None,
            "result": result,
            "by": "supposed",
        }
    )
    return case.model_copy(update={"tests": [*case.tests, done]})


def _identified(case: Case, change: Change, result: str) -> Case:
    """Let the test be done; only a good result settles what the material is."""
    case = _tested(case, change, result)
    if result != "good":
        return case

    found = {
        "identified": "certain",
        "material": change.value or change.material,
        "choice": "",
        "implied": False,
    }

    def settle(part: Part) -> Part:
        settled = {m.choice for m in part.materials if m.material == change.material} - {""}
        known = [
            m.model_copy(update=found) if m.material == change.material else m
            for m in part.materials
            if m.material == change.material or m.choice not in settled
        ]
        return part.model_copy(update={"materials": known})

    return _with_part(case, change.part, settle)


def _with_part(case: Case, part: str, change: Callable[[Part], Part]) -> Case:
    return case.model_copy(update={"parts": [change(p) if p.id == part else p for p in case.parts]})


def _stopped(case: Case, change: Change, _: str) -> Case:
    pair = set(change.what.split(" and "))
    update: dict[str, Any] = {change.kind: "in-place" if change.kind == Remedy.BARRIER else "done"}
    contacts = [c.model_copy(update=update) if set(c.between) == pair else c for c in case.contacts]
    return case.model_copy(update={"contacts": contacts})


def _entered(case: Case, change: Change, _: str) -> Case:
    """Write an entry; *value* says where it stands in the record."""
    where, _, name = change.value.partition(".")
    if where == "part":
        return _with_part(case, change.part, lambda p: p.model_copy(update={name: Tri.YES}))
    if where == "contacts":
        contacts = [
            c.model_copy(update={"parting": "possible"})
            if change.part in c.between and c.parting in ("unknown", "impossible")
            else c
            for c in case.contacts
        ]
        return case.model_copy(update={"contacts": contacts})
    if where == "mounting":
        return case.model_copy(update={"aim": case.aim.model_copy(update={"mounting": name})})
    inner = getattr(case, where).model_copy(update={name: Tri.YES})
    return case.model_copy(update={where: inner})


def _equipped(case: Case, change: Change, _: str) -> Case:
    name, _, value = change.value.partition("=")
    given: Any = value
    if name == "equipment":
        known = [] if isinstance(case.means.equipment, str) else case.means.equipment
        given = [*known, *(key for key in value.split(",") if key not in known)]
    elif name == "hours":
        given = float(value)
    return case.model_copy(update={"means": case.means.model_copy(update={name: given})})


_APPLY: dict[Remedy, Callable[[Case, Change, str], Case]] = {
    Remedy.TEST: _tested,
    Remedy.IDENTITY: _identified,
    Remedy.BARRIER: _stopped,
    Remedy.PARTING: _stopped,
    Remedy.ENTRY: _entered,
    Remedy.MEANS: _equipped,
}
