"""Pages and documents that weigh: their work goes to the workers, and ends when the client leaves.

A router of such pages takes :class:`Weighty` as the class of its routes. Each page then runs in a
thread of those that wait for workers, so that all other pages and ``/health`` keep theirs, and
what it hands over with :func:`work` is ended with the request.
"""

from __future__ import annotations

from collections.abc import Callable, Coroutine
from functools import partial, wraps
from inspect import iscoroutinefunction, signature
from typing import Any, TypeVar

import anyio
from fastapi import Request
from fastapi.routing import APIRoute
from starlette.requests import ClientDisconnect

from leastwise.api.asking.answered import watch
from leastwise.api.asking.desk import desk_of
from leastwise.api.asking.pieces import Piece
from leastwise.api.identity.people import person_of
from leastwise.api.processes.pool import GaveUp, Ticket

__all__ = ["Weighty", "look", "work"]

T = TypeVar("T")
Page = Callable[..., Any]


def work(request: Request, make: Callable[..., T], *given: object, policy: str | None = None) -> T:
    """Return what *make* gives, worked out in a worker where there are some.

    *make* is a function of a module, or a method of a value. With a *policy*, empty for that of
    the house, it is given an adviser first.

    Raises:
        Refused: too many ask, or it took more than it may; the app tells that as a problem.
        GaveUp: the client left.

    """
    desk = desk_of(request.app)
    found: T = desk.work(
        Piece(make, given, policy), person_of(request).account, _ticket_of(request)
    )
    return found


def look(request: Request) -> None:
    """Leave if the client has left.

    Raises:
        GaveUp: it has.

    """
    if _ticket_of(request).given_up:
        raise GaveUp


def _ticket_of(request: Request) -> Ticket:
    """Return the ticket of a request; a page that isn't weighty, or no page at all, has a new."""
    found: Ticket | None = getattr(request.state, "ticket", None)
    return found or Ticket()


class Weighty(APIRoute):
    """A route whose page weighs.

    What was sent to a page to be kept is kept, though the browser that sent it is closed; so a
    page that takes a form goes on to its end.
    """

    def __init__(self, path: str, endpoint: Page, **given: Any) -> None:
        keeps = "POST" in (given.get("methods") or ()) and not given.get("include_in_schema", True)
        super().__init__(path, _beside_others(endpoint, keeps=keeps), **given)


def _beside_others(page: Page, *, keeps: bool) -> Page:
    """Return a page that waits beside the others; unless it *keeps*, it ends with its client."""
    if iscoroutinefunction(page):  # a router is included in another, and its pages are ready
        return page
    if "request" not in signature(page).parameters:  # it hands nothing over
        return page

    @wraps(page)
    async def waited(**given: Any) -> Any:
        request: Request = given["request"]
        thread = partial(anyio.to_thread.run_sync, limiter=desk_of(request.app).threads)
        if keeps:
            return await thread(partial(page, **given))
        ticket = request.state.ticket = Ticket()
        found: list[Any] = []
        raised: list[Exception] = []

        async def run() -> None:
            try:
                found.append(await thread(partial(page, **given)))
            except Exception as error:  # told by the app, without the group that it came up in
                raised.append(error)

        await _beside(partial(watch, request, ticket), run)
        if ticket.given_up:
            raise ClientDisconnect
        if raised:
            raise raised[0]
        return found[0]

    return waited


async def _beside(
    other: Callable[[], Coroutine[Any, Any, None]], run: Callable[[], Coroutine[Any, Any, None]]
) -> None:
    """Await *run* and *other* together; whichever ends first ends the other."""
    async with anyio.create_task_group() as both:

        async def first(one: Callable[[], Coroutine[Any, Any, None]]) -> None:
            await one()
            both.cancel_scope.cancel()

        both.start_soon(first, other)
        await first(run)
