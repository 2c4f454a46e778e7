"""Answers for what nobody foresaw: a problem with a number that the log explains."""

from __future__ import annotations

import logging
import secrets

from starlette.requests import ClientDisconnect, Request
from starlette.types import ASGIApp, Message, Receive, Scope, Send

from leastwise.api.http.problems import shown
from leastwise.api.http.watched import number_of

__all__ = ["Unexpected"]

LOG = logging.getLogger("leastwise.http")


class Unexpected:
    """Turns an error that no handler knows into a problem (500), and logs it under a number.

    It stands inside of what adds headers, so that this answer carries them as every other does. A
    client that left in the middle of a request is nobody's fault and leaves nothing in the log.
    """

    def __init__(self, app: ASGIApp) -> None:
        self._app = app

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Pass the request on; answer 500 where it fails before the answer has begun."""
        if scope["type"] != "http":
            await self._app(scope, receive, send)
            return
        started = False

        async def noted(message: Message) -> None:
            nonlocal started
            started = started or message["type"] == "http.response.start"
            await send(message)

        try:
            await self._app(scope, receive, noted)
        except ClientDisconnect:
            return
        except Exception:  # whatever it is: the log says
            number = number_of(scope) or secrets.token_hex(4)
            route = getattr(scope.get("route"), "path", "")  # an address may hold a secret
            LOG.exception("error %s at %s %s", number, scope["method"], route)
            if started:
                raise
            detail = (
                f"Something went wrong that nobody foresaw; nothing of this request was kept. "
                f"The log of the service tells more under the number {number}."
            )
            answer = shown(Request(scope), 500, "The service made a mistake", detail)
            await answer(scope, receive, send)
