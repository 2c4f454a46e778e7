"""Who may do what: every route names its action, and the guard refuses a route that names none.

Each module of routes or pages carries a table ``ACCESS`` with lines such as
``"GET /cases/{case}/options": Action.READ_CASE``. The guard runs before every route.

Two tables decide: what the role may do at all (``ALLOWED``), and on a case what the person's right
to it allows (``BY_RIGHT``). An administrator manages accounts; to a case that was not shared with
the account its role gives no way in.
"""

from __future__ import annotations

import hmac
from collections.abc import Mapping
from enum import StrEnum
from urllib.parse import quote

from fastapi import HTTPException, Request

from leastwise.api.http.state import settings_of, store_of
from leastwise.api.identity.people import ALONE, NOBODY, Person
from leastwise.api.roles import Role
from leastwise.api.store import NotStored

__all__ = ["ALLOWED", "BY_RIGHT", "ON_A_CASE", "SCOPES", "Access", "Action", "Guard", "rights_to"]


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
    REVIEW_ALL = "judge what is counted for everybody"
    SIGN_OFF = "sign a proposal off"
    TEACH = "see how a training cohort decides"
    EDIT_KNOWLEDGE = "edit the knowledge"
    ADMINISTER = "manage accounts"
    OWN_ACCOUNT = "one's own account"


Access = Mapping[str, Action]

_READ = {Action.OPEN, Action.USE, Action.LIST_CASES, Action.READ_CASE, Action.OWN_ACCOUNT}
_WRITE = _READ | {Action.CREATE_CASE, Action.WRITE_CASE, Action.MANAGE_CASE}
_REVIEW = _WRITE | {Action.REVIEW_CASE, Action.REVIEW_ALL, Action.SIGN_OFF}
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
#: What an API token can be made for; one's own account is managed with the password only.
SCOPES = frozenset(Action) - {Action.OPEN, Action.OWN_ACCOUNT}
SAFE = frozenset({"GET", "HEAD", "OPTIONS"})


class Guard:
    """Runs before every route: finds the person, and whether the route's action is allowed."""

    def __init__(self, table: Access) -> None:
        self.table = dict(table)

    def __call__(self, request: Request) -> None:
        """Let the request pass, or refuse it.

        401 (a browser is sent to sign in) for somebody unknown, 403 for a role, a right or a token
        that doesn't reach so far, 404 for a case that isn't one's own.
        """
        route = request.scope.get("route")
        key = f"{request.method} {getattr(route, 'path', '')}"
        action = self.table.get(key.replace("HEAD ", "GET ", 1))
        if action is None:
            raise HTTPException(403, f"No rule says who may use {key}.")
        person = self.person(request)
        request.state.person = person
        _check_token_of_form(request, is_page=not getattr(route, "include_in_schema", True))
        if action is Action.OPEN:
            return
        if action not in ALLOWED[person.role]:
            raise _sign_in_first(request) if person == NOBODY else _refused(person, action)
        if person.scopes is not None and action.name not in person.scopes:
            raise HTTPException(403, f"This token was not made to: {action} ({action.name}).")
        if action in ON_A_CASE and not person.sees_all:
            self._own(request, person, action)

    def person(self, request: Request) -> Person:
        """Return who asks: on a personal machine always its owner."""
        if not settings_of(request).shared:
            return ALONE
        from leastwise.api.identity.web import find_person  # noqa: PLC0415 - it needs the actions

        return find_person(request)

    def _own(self, request: Request, person: Person, action: Action) -> None:
        case = request.path_params["case"]
        rights = rights_to(request, person, case)
        if not rights:
            raise NotStored("case", case)
        if not any(action in BY_RIGHT.get(right, frozenset()) for right in rights):
            raise HTTPException(403, f"You may {' and '.join(rights)} this case, not: {action}.")


def rights_to(request: Request, person: Person, case: str) -> tuple[str, ...]:
    """Return what a person is to a case: owner, or what it was shared for; empty for a stranger.

    A tutor may read and review the cases that members of the tutor's cohort own.

    Raises:
        NotStored: there is no such case.

    """
    store = store_of(request)
    owner = store.read(case, "case").owner
    if owner == person.account:
        return ("owner",)
    rights = {store.shares(case).get(person.account, "")} - {""}
    if person.role is Role.TUTOR and person.cohort:
        from leastwise.api.identity.web import accounts_of  # noqa: PLC0415 - as above

        if accounts_of(request).cohort_of(owner) == person.cohort:
            rights.add("review")
    return tuple(sorted(rights))


def _refused(person: Person, action: Action) -> HTTPException:
    return HTTPException(403, f"The role {person.role} may not: {action}.")


def _sign_in_first(request: Request) -> HTTPException:
    """Return the way to the page for signing in for a browser that reads, else 401."""
    if request.method in ("GET", "HEAD") and "text/html" in request.headers.get("accept", ""):
        path = request.url.path + (f"?{request.url.query}" if request.url.query else "")
        headers = {"Location": f"/sign-in?next={quote(path, safe='/')}"}
        return HTTPException(303, "Sign in first.", headers)
    headers = {"WWW-Authenticate": 'Bearer realm="leastwise"'}
    return HTTPException(401, "Sign in, or send a token (Authorization: Bearer).", headers)


def _check_token_of_form(request: Request, *, is_page: bool) -> None:
    """Refuse a change over the API that a foreign page made with a person's session.

    Pages look at the token themselves, since it comes as a field of their form; a request without
    a session, with a token for programs, can't be made by a page elsewhere.
    """
    expected = getattr(request.state, "session_form_token", "")
    if is_page or not expected or request.method in SAFE:
        return
    given = request.headers.get("x-form-token", "")
    if not hmac.compare_digest(given.encode(), expected.encode()):
        raise HTTPException(
            403,
            "With a session, a change over the API needs the header X-Form-Token; every page "
            'carries it in <meta name="form-token">. Programs use a token of their own.',
        )
