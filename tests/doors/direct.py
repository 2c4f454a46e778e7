"""Requests straight into the app, without a socket and without a thread of its own each time."""

from __future__ import annotations

import asyncio
import threading
from dataclasses import dataclass
from typing import Any
from urllib.parse import unquote_to_bytes, urlsplit

import httpx


@dataclass(frozen=True, slots=True)
class Answer:
    """What came back."""

    status: int
    body: bytes


class Direct:
    """Calls an app as a server would. An error that nobody caught is raised here."""

    def __init__(self, app: Any, **headers: str) -> None:
        self.app, self.headers, self.count = app, headers, 0
        self._loop = asyncio.new_event_loop()  # in a thread: a browser's may be running in ours
        self._thread = threading.Thread(target=self._loop.run_forever, daemon=True)
        self._thread.start()

    def close(self) -> None:
        asyncio.run_coroutine_threadsafe(
            self._loop.shutdown_default_executor(), self._loop
        ).result()
        self._loop.call_soon_threadsafe(self._loop.stop)
        self._thread.join()
        self._loop.close()

    def send(self, request: httpx.Request) -> Answer:
        """Send a request, with the headers that every request here has."""
        self.count += 1
        return asyncio.run_coroutine_threadsafe(self._send(request), self._loop).result()

    async def _send(self, request: httpx.Request) -> Answer:
        body = request.read()
        parts = urlsplit(str(request.url))
        fixed = {name.replace("_", "-") for name in self.headers}
        headers = [
            (name.lower(), value)
            for name, value in request.headers.raw
            if name.decode() not in fixed
        ]
        for name, value in self.headers.items():
            headers.append((name.replace("_", "-").encode(), value.encode()))
        scope = {
            "type": "http",
            "asgi": {"version": "3.0"},
            "http_version": "1.1",
            "method": request.method,
            "scheme": "http",
            "path": unquote_to_bytes(parts.path).decode("utf-8", "replace"),
            "raw_path": parts.path.encode(),
            "query_string": parts.query.encode(),
            "root_path": "",
            "headers": headers,
            "client": ("192.0.2.1", 5000),
            "server": ("127.0.0.1", 80),
        }
        sent, got, status = False, bytearray(), 0
        gone = asyncio.Event()

        async def receive() -> dict[str, Any]:
            nonlocal sent
            if sent:
                await gone.wait()
                return {"type": "http.disconnect"}
            sent = True
            return {"type": "http.request", "body": body, "more_body": False}

        async def send(message: Any) -> None:
            nonlocal status
            if message["type"] == "http.response.start":
                status = message["status"]
            elif message["type"] == "http.response.body":
                got.extend(message.get("body", b""))

        await self.app(scope, receive, send)
        return Answer(status, bytes(got))
