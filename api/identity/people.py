"""Who asks: the person behind a request and what the role allows."""

from __future__ import annotations

from dataclasses import dataclass
from typing import cast

from fastapi import Request

from leastwise.api.roles import Role

__all__ = ["ALONE", "NOBODY", "Person", "person_of"]


@dataclass(frozen=True, slots=True)
class Person:
    """The person behind a request.

    *account* is the name in every event; *sees_all* is true on a personal machine, where every
    case is one's own. *scopes* narrows what an API token may do; None where no token was used.
    *cohort* is the training cohort that the account belongs to, or that a tutor looks after.
    """

    account: str
    name: str
    role: Role
    sees_all: bool = False
    scopes: frozenset[str] | None = None
    cohort: str = ""


#: On a personal machine: no login, and everything is allowed.
ALONE = Person("me", "me", Role.ADMINISTRATOR, sees_all=True)
NOBODY = Person("", "", Role.NOBODY)


def person_of(request: Request) -> Person:
    """Return who asks; the guard in ``access.py`` has found it before any route runs."""
    return cast(Person, getattr(request.state, "person", NOBODY))
