"""Refuses request bodies over the limit before they are read whole."""

from __future__ import annotations

from starlette.types import ASGIApp, Message, Receive, Scope, Send

from leastwise.api.problems import problem

__all__ = ["BodyLimit"]


class _TooLargeError(Exception):
    pass


class BodyLimit:
    """Answers 413 to a body of more than *most* bytes, declared or streamed."""

    def __init__(self, app: ASGIApp, most: int) -> None:
        self._app, self._most = app, most

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Pass the request on, counting what it sends."""
        if scope["type"] != "http":
            await self._app(scope, receive, send)
            return
        declared = dict(scope["headers"]).get(b"content-length", b"0")
        if declared.isdigit() and int(declared) > self._most:
            await self._refuse(scope, receive, send)
            return
        seen = 0
        started = False

        async def counted() -> Message:
            nonlocal seen
            message = await receive()
            seen += len(message.get("body", b""))
            if seen > self._most:
                raise _TooLargeError
            return message

        async def noted(message: Message) -> None:
            nonlocal started
            started = True
            await send(message)

        try:
            await self._app(scope, counted, noted)
        except _TooLargeError:
            if not started:
                await self._refuse(scope, receive, send)

    async def _refuse(self, scope: Scope, receive: Receive, send: Send) -> None:
        detail = f"The body is over {self._most} bytes; send a smaller record."
        await problem(413, "The body is too large", detail)(scope, receive, send)
