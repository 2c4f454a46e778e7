"""Errors as RFC 9457 problem details, from one table."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from fastapi import FastAPI, Request, Response
from fastapi.exceptions import RequestValidationError
from fastapi.responses import JSONResponse
from starlette.exceptions import HTTPException

from leastwise.api.http.negotiation import preferred
from leastwise.api.http.watched import number_of
from leastwise.api.store import AlreadyStored, Conflict, NotStored, StoreError, StoreFull
from leastwise.graph.errors import (
    CaseError,
    KnowledgeError,
    LeastwiseError,
    NotFound,
    Problem,
    UnknownOption,
)
from leastwise.graph.proposal.received import ProposalError
from leastwise.graph.setups.stack_file import InputError

__all__ = ["Told", "install", "problem", "shown", "shown_as", "told"]

Render = Callable[..., Response]
MEDIA_TYPE = "application/problem+json"

#: Error -> status and title; the first match along the class's own order counts.
TABLE: dict[type[LeastwiseError], tuple[int, str]] = {
    CaseError: (422, "The case record can't be used"),
    InputError: (422, "The input can't be used"),
    ProposalError: (422, "The proposal can't be used"),
    Conflict: (409, "Somebody saved in between"),
    NotStored: (404, "Not found"),
    AlreadyStored: (409, "There is such a record already"),
    StoreFull: (507, "The disk is full"),
    StoreError: (503, "The store can't be used just now"),
    UnknownOption: (404, "No such option"),
    NotFound: (404, "Not found"),
    KnowledgeError: (500, "The knowledge can't be used"),
    LeastwiseError: (400, "The request can't be answered"),
}


@dataclass(frozen=True, slots=True)
class Told:
    """What is said of an error: HTTP status, title, detail, and the fields that are wrong."""

    status: int
    title: str
    detail: str
    problems: tuple[Problem, ...] = ()


def told(error: LeastwiseError) -> Told:
    """Return what is said of an error that whoever asks can mend."""
    status, title = next(TABLE[kind] for kind in type(error).__mro__ if kind in TABLE)
    problems = error.problems if isinstance(error, CaseError) else ()
    return Told(status, title, str(error), problems)


def problem(
    status: int,
    title: str,
    detail: str,
    problems: list[Problem] | None = None,
    *,
    number: str = "",
) -> JSONResponse:
    """Return one problem; *errors* lists the path of each wrong field and what is accepted.

    *number* is that of the request, under which the log tells of it.
    """
    body: dict[str, object] = {
        "type": "about:blank",
        "title": title,
        "status": status,
        "detail": detail,
    }
    if number:
        body["instance"] = f"urn:uuid:{number}"
    if problems:
        body["errors"] = [
            {"path": p.path, "given": p.given, "accepted": p.accepted} for p in problems
        ]
    return JSONResponse(body, status, media_type=MEDIA_TYPE)


def shown(
    request: Request, status: int, title: str, detail: str, problems: list[Problem] | None = None
) -> Response:
    """Return a problem as a page where a browser asks for one, else as problem details."""
    accept = request.headers.get("accept", "")
    render: Render | None = request.app.state.render
    if (
        render is None
        or "text/html" not in accept
        or preferred(accept, ["text/html", MEDIA_TYPE]) != "text/html"
    ):
        return problem(status, title, detail, problems, number=number_of(request.scope))
    return render(
        request, "problem.html", title=title, status=status, detail=detail, problems=problems
    )


def shown_as(request: Request, said: Told) -> Response:
    """Return what is said of an error, as :func:`shown` shows it."""
    return shown(request, said.status, said.title, said.detail, list(said.problems))


def install(app: FastAPI, render: Render | None = None) -> None:
    """Make *app* answer every error as a problem; *render* makes the page where a browser asks.

    *render* takes a request, the name of a template and what the template shows. Without it there
    are no pages, and browsers get problem details as programs do.
    """
    app.state.render = render

    @app.exception_handler(LeastwiseError)
    def _mendable(request: Request, error: LeastwiseError) -> Response:
        return shown_as(request, told(error))

    @app.exception_handler(HTTPException)
    def _http(request: Request, error: HTTPException) -> Response:
        answer = shown(
            request, error.status_code, "The request can't be answered", str(error.detail)
        )
        answer.headers.update(error.headers or {})
        return answer

    @app.exception_handler(RequestValidationError)
    def _request(request: Request, error: RequestValidationError) -> Response:
        problems = [
            Problem(
                ".".join(str(step) for step in one["loc"]),
                repr(one.get("input"))[:60],
                str(one["msg"]),
            )
            for one in error.errors()
        ]
        detail = "; ".join(str(p) for p in problems)
        return shown(request, 422, "The request can't be answered", detail, problems)
