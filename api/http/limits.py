"""Refuses request bodies over the limit before they are read whole."""

from __future__ import annotations

import re

from starlette.types import ASGIApp, Message, Receive, Scope, Send

from leastwise.api.http.problems import problem

__all__ = ["MOST_UPLOAD", "BodyLimit"]

#: Photographs come several at a time; they are read to disk, each is checked on its own.
MOST_UPLOAD = 100 * 1024 * 1024
_UPLOAD = re.compile(r"/cases/[^/]+/photographs")


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
        most = self._most_for(scope)
        declared = dict(scope["headers"]).get(b"content-length", b"0")
        if declared.isdigit() and int(declared) > most:
            await self._refuse(scope, receive, send, most)
            return
        seen = 0
        started = False

        async def counted() -> Message:
            nonlocal seen
            message = await receive()
            seen += len(message.get("body", b""))
            if seen > most:
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
                await self._refuse(scope, receive, send, most)

    def _most_for(self, scope: Scope) -> int:
        is_upload = scope["method"] == "POST" and _UPLOAD.fullmatch(scope["path"])
        return max(self._most, MOST_UPLOAD) if is_upload else self._most

    async def _refuse(self, scope: Scope, receive: Receive, send: Send, most: int) -> None:
        what = "fewer or smaller pictures" if most >= MOST_UPLOAD else "a smaller record"
        detail = f"The body is over {most} bytes; send {what}."
        await problem(413, "The body is too large", detail)(scope, receive, send)
