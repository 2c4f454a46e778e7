"""What a user can mend: each error names the place, what was given and what would be accepted."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from enum import StrEnum

__all__ = [
    "CaseError",
    "Fault",
    "KnowledgeError",
    "LeastwiseError",
    "NotFound",
    "Problem",
    "UnknownOption",
    "missing",
]


class LeastwiseError(Exception):
    """Base of all errors that a user can mend."""


class Fault(StrEnum):
    """What kind of fault a problem is."""

    ABSENT = "absent"  # the field isn't there
    EMPTY = "empty"  # it is there and holds nothing
    UNKNOWN_FIELD = "unknown field"
    FORM = "form"  # not what the field may hold: its kind, its limits, its words
    MEANING = "meaning"  # well formed, and can't be so

    @property
    def is_missing(self) -> bool:
        """Whether nothing stands there yet, so that nothing is wrong but something is lacking."""
        return self in (Fault.ABSENT, Fault.EMPTY)


@dataclass(frozen=True, slots=True)
class Problem:
    """One fault in a record: where it stands, what was given, what would be accepted.

    *line* counts from 1 in the text that was read; 0 where there is none.

    >>> str(Problem("parts[0].name", "''", "a text of 1 to 200 characters", 7))
    "line 7, parts[0].name: got ''; expected a text of 1 to 200 characters."
    """

    path: str
    given: str
    accepted: str
    line: int = 0
    kind: Fault = Fault.MEANING

    def __str__(self) -> str:
        place = f"line {self.line}, {self.path}" if self.line else self.path
        if self.kind is Fault.ABSENT:
            return f"{place}: missing; expected {self.accepted}."
        return f"{place}: got {self.given}; expected {self.accepted}."


def missing(path: str, accepted: str) -> Problem:
    """Return the problem of a field that isn't there."""
    return Problem(path, "a missing field", accepted, kind=Fault.ABSENT)


class CaseError(LeastwiseError):
    """A case record that can't be read; carries every problem found, not only the first."""

    def __init__(self, problems: list[Problem]) -> None:
        self.problems = tuple(problems)
        super().__init__("\n".join(str(problem) for problem in problems))


class KnowledgeError(LeastwiseError):
    """Knowledge or rules that can't be used; says which file and, where known, which line."""

    def __init__(self, place: str, what: str, mend: str) -> None:
        self.place, self.what, self.mend = place, what, mend
        super().__init__(f"{place}: {what} {mend}")


class NotFound(LeastwiseError):  # noqa: N818 - reads as what happened
    """A concept, claim or source that the knowledge doesn't hold."""

    def __init__(self, what: str, given: str, near: Sequence[str]) -> None:
        self.place, self.given, self.near = what, given, near
        *most, last = near or [""]
        either = f"{', '.join(most)} or {last}" if most else last
        hint = f" Did you mean {either}?" if near else ""
        super().__init__(f"{what}: nothing is called {given!r}.{hint}")


class UnknownOption(NotFound):
    """An option identifier that the answer doesn't hold."""
