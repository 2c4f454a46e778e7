"""Reads on what is left of a body while its answer goes out, so that the answer arrives.

An answer may be there before the body of its request: it is too large, or nobody signed in. Where a
connection is closed while a body still comes, the system resets it, and what was answered is lost:
a proxy that was still sending then says 502.
"""

from __future__ import annotations

from typing import Final

import anyio
from starlette.datastructures import Headers
from starlette.types import ASGIApp, Message, Receive, Scope, Send

__all__ = ["MOST_DRAINED", "MOST_SECONDS", "Drained"]

#: So much is read on and thrown away, and for so long; whoever sends more is cut off.
MOST_DRAINED: Final = 100 * 1024 * 1024
MOST_SECONDS: Final = 10.0


class Drained:
    """Ends an answer only once the body of its request has come, or too much or too late of it."""

    def __init__(
        self, app: ASGIApp, *, most: int = MOST_DRAINED, seconds: float = MOST_SECONDS
    ) -> None:
        self._app, self._most, self._seconds = app, most, seconds

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Pass the request on; all of the answer is sent before the rest of the body is read."""
        if scope["type"] != "http" or not _sends_a_body(scope):
            await self._app(scope, receive, send)
            return
        ended = False

        async def followed() -> Message:
            nonlocal ended
            message = await receive()
            ended = ended or message["type"] != "http.request" or not message.get("more_body")
            return message

        async def held(message: Message) -> None:
            is_last = message["type"] == "http.response.body" and not message.get("more_body")
            if ended or not is_last:
                await send(message)
                return
            await send({**message, "more_body": True})
            left = self._most
            with anyio.move_on_after(self._seconds):
                while not ended and left > 0:
                    left -= len((await followed()).get("body", b""))
            await send({"type": "http.response.body", "body": b""})

        await self._app(scope, followed, held)


def _sends_a_body(scope: Scope) -> bool:
    """Return whether a body comes by itself: with Expect it comes only once it is asked for."""
    headers = Headers(scope=scope)
    said = headers.get("content-length", "0")
    return (said != "0" or "transfer-encoding" in headers) and "expect" not in headers
