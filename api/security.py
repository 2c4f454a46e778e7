"""Headers that tell a browser what it may not do with our pages."""

from __future__ import annotations

from starlette.datastructures import MutableHeaders
from starlette.types import ASGIApp, Message, Receive, Scope, Send

__all__ = ["POLICY", "SecurityHeaders"]

#: No script and no style but those of the package; nothing from another place.
POLICY = (
    "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self' data: blob:; "
    "connect-src 'self'; font-src 'self'; form-action 'self'; base-uri 'none'; "
    "frame-ancestors 'none'"
)
#: A drawing is a document of its own and carries its style with it, but no script.
DRAWING_POLICY = "default-src 'none'; style-src 'unsafe-inline'; frame-ancestors 'self'"


class SecurityHeaders:
    """Adds the headers to every answer that doesn't set its own."""

    def __init__(self, app: ASGIApp) -> None:
        self._app = app

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Pass the request on and add the headers to its answer."""
        if scope["type"] != "http":
            await self._app(scope, receive, send)
            return

        async def with_headers(message: Message) -> None:
            if message["type"] == "http.response.start":
                headers = MutableHeaders(scope=message)
                is_drawing = headers.get("content-type", "").startswith("image/svg")
                headers.setdefault(
                    "content-security-policy", DRAWING_POLICY if is_drawing else POLICY
                )
                headers.setdefault("x-content-type-options", "nosniff")
                headers.setdefault("referrer-policy", "same-origin")
                headers.setdefault("cross-origin-opener-policy", "same-origin")
                headers.setdefault("cross-origin-resource-policy", "same-origin")
                headers.setdefault("permissions-policy", "geolocation=(), microphone=()")
            await send(message)

        await self._app(scope, receive, with_headers)
