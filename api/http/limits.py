"""Refuses request bodies that are too large, before they are read whole, or never come."""

from __future__ import annotations

import re

import anyio
from starlette.types import ASGIApp, Message, Receive, Scope, Send

from leastwise.api.http.problems import problem
from leastwise.api.http.watched import number_of

__all__ = ["MOST_UPLOAD", "PATIENCE", "BodyLimit"]

#: Seconds that the next piece of a body may keep us waiting.
PATIENCE = 30.0

#: Photographs come several at a time; they are read to disk, each is checked on its own.
MOST_UPLOAD = 100 * 1024 * 1024
_UPLOAD = re.compile(r"/cases/[^/]+/photographs")


class _TooLargeError(Exception):
    pass


class BodyLimit:
    """Answers 413 to a body of more than *most* bytes, declared or streamed.

    A body of which nothing more comes for *patience* seconds is answered with 408.
    """

    def __init__(self, app: ASGIApp, most: int, patience: float = PATIENCE) -> None:
        self._app, self._most, self._patience = app, most, patience

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
        started = ended = False

        async def counted() -> Message:
            nonlocal seen, ended
            if ended:  # from here on it is only asked whether the client has left
                return await receive()
            with anyio.fail_after(self._patience):
                message = await receive()
            ended = not message.get("more_body", False)
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
        except TimeoutError:
            if started or ended:
                raise
            detail = f"Nothing more of the body came for {self._patience:g} s; send it again."
            answer = problem(408, "The body did not come", detail, number=number_of(scope))
            answer.headers["connection"] = "close"
            await answer(scope, receive, send)

    def _most_for(self, scope: Scope) -> int:
        is_upload = scope["method"] == "POST" and _UPLOAD.fullmatch(scope["path"])
        return max(self._most, MOST_UPLOAD) if is_upload else self._most

    async def _refuse(self, scope: Scope, receive: Receive, send: Send, most: int) -> None:
        what = "fewer or smaller pictures" if most >= MOST_UPLOAD else "a smaller record"
        detail = f"The body is over {most} bytes; send {what}."
        answer = problem(413, "The body is too large", detail, number=number_of(scope))
        await answer(scope, receive, send)
