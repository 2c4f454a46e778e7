"""Who may do what: every route names its action, and the guard refuses a route that names none.

Each module of routes or pages carries a table ``ACCESS`` with lines such as
``"GET /cases/{case}/options": Action.READ_CASE``. The guard runs before every route.
"""

from __future__ import annotations

from collections.abc import Mapping
from enum import StrEnum

from fastapi import HTTPException, Request

from leastwise.api.people import ALONE, Person, Role
from leastwise.api.state import store_of

__all__ = ["ALLOWED", "Access", "Action", "Guard"]


class Action(StrEnum):
    """What a route does, as far as rights go."""

    OPEN = "open to anybody"
    USE = "read the knowledge and weigh a case that is sent along"
    LIST_CASES = "list the cases one may see"
    CREATE_CASE = "begin a case"
    READ_CASE = "read a case"
    WRITE_CASE = "change a case"
    MANAGE_CASE = "share or remove a case"
    REVIEW_CASE = "review a case"
    SIGN_OFF = "sign a proposal off"
    TEACH = "see how a training cohort decides"
    EDIT_KNOWLEDGE = "edit the knowledge"
    ADMINISTER = "manage accounts"
    OWN_ACCOUNT = "one's own account"


Access = Mapping[str, Action]

_READ = {Action.OPEN, Action.USE, Action.LIST_CASES, Action.READ_CASE, Action.OWN_ACCOUNT}
_WRITE = _READ | {Action.CREATE_CASE, Action.WRITE_CASE, Action.MANAGE_CASE}
_REVIEW = _WRITE | {Action.REVIEW_CASE, Action.SIGN_OFF}
#: Role -> what it may do; on a case the person's right to that case has to allow it as well.
ALLOWED: dict[Role, frozenset[Action]] = {
    Role.NOBODY: frozenset({Action.OPEN}),
    Role.READER: frozenset(_READ),
    Role.CONTRIBUTOR: frozenset(_WRITE),
    Role.REVIEWER: frozenset(_REVIEW),
    Role.TUTOR: frozenset(_REVIEW | {Action.TEACH}),
    Role.KNOWLEDGE_EDITOR: frozenset(_WRITE | {Action.EDIT_KNOWLEDGE}),
    Role.ADMINISTRATOR: frozenset(Action),
}
#: What a right to a case allows: owner, and what it was shared for.
BY_RIGHT: dict[str, frozenset[Action]] = {
    "read": frozenset({Action.READ_CASE}),
    "review": frozenset({Action.READ_CASE, Action.REVIEW_CASE, Action.SIGN_OFF}),
    "write": frozenset({Action.READ_CASE, Action.WRITE_CASE}),
    "owner": frozenset({Action.READ_CASE, Action.WRITE_CASE, Action.MANAGE_CASE}),
}
ON_A_CASE = frozenset(
    {
        Action.READ_CASE,
        Action.WRITE_CASE,
        Action.MANAGE_CASE,
        Action.REVIEW_CASE,
        Action.SIGN_OFF,
    }
)


class Guard:
    """Runs before every route: finds the person, and whether the route's action is allowed."""

    def __init__(self, table: Access) -> None:
        self.table = dict(table)

    def __call__(self, request: Request) -> None:
        """Let the request pass, or refuse it with 403 or, for a case not one's own, 404."""
        route = request.scope.get("route")
        key = f"{request.method} {getattr(route, 'path', '')}"
        action = self.table.get(key.replace("HEAD ", "GET ", 1))
        if action is None:
            raise HTTPException(403, f"No rule says who may use {key}.")
        person = self.person(request)
        request.state.person = person
        if action not in ALLOWED[person.role]:
            raise HTTPException(403, f"The role {person.role} may not: {action}.")
        if action in ON_A_CASE and not person.sees_all:
            self._own(request, person, action)

    def person(self, request: Request) -> Person:
        """Return who asks: on a personal machine always its owner."""
        return ALONE

    def _own(self, request: Request, person: Person, action: Action) -> None:
        case = request.path_params["case"]
        store = store_of(request)
        document = store.read(case, "case")
        right = (
            "owner"
            if document.owner == person.account
            else store.shares(case).get(person.account, "")
        )
        if action not in BY_RIGHT.get(right, frozenset()):
            if right:
                raise HTTPException(403, f"You may {right} this case, not: {action}.")
            raise HTTPException(404, f"There is no case {case!r}.")
