"""What a browser may do with our pages, and which requests are let in at all."""

from __future__ import annotations

from urllib.parse import urlsplit

from starlette.datastructures import Headers, MutableHeaders
from starlette.types import ASGIApp, Message, Receive, Scope, Send

from leastwise.api.addresses import is_loopback
from leastwise.api.http.problems import problem
from leastwise.api.http.watched import number_of

__all__ = ["POLICY", "Doorway", "SecurityHeaders"]

#: No script and no style but those of the package; nothing from another place.
POLICY = (
    "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self' data: blob:; "
    "connect-src 'self'; font-src 'self'; form-action 'self'; base-uri 'none'; "
    "frame-ancestors 'none'"
)
#: A drawing is a document of its own and carries its style with it, but no script.
DRAWING_POLICY = "default-src 'none'; style-src 'unsafe-inline'; frame-ancestors 'self'"
#: A year; said only where cookies travel over HTTPS only, that is behind a proxy that ends TLS.
STRICT_TRANSPORT = "max-age=31536000"
SAFE = frozenset({"GET", "HEAD", "OPTIONS", "TRACE"})


class SecurityHeaders:
    """Adds the headers to every answer that doesn't set its own.

    *secure* says that people come over HTTPS only, *private* that they sign in: then nothing but
    the static files may be kept by a browser or a proxy.
    """

    def __init__(self, app: ASGIApp, *, secure: bool = False, private: bool = False) -> None:
        self._app, self._secure, self._private = app, secure, private

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Pass the request on and add the headers to its answer."""
        if scope["type"] != "http":
            await self._app(scope, receive, send)
            return
        is_static = scope["path"].startswith("/static/")

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
                if self._secure:
                    headers.setdefault("strict-transport-security", STRICT_TRANSPORT)
                if self._private and not is_static:
                    headers["cache-control"] = "no-store"
            await send(message)

        await self._app(scope, receive, with_headers)


class Doorway:
    """Refuses requests that a page from elsewhere makes through the browser of a person here.

    Host: a name that somebody else can point at this machine (DNS rebinding) is not ours; on a
    personal machine only loopback names are, with accounts that of *address* as well. Links that
    let somebody set a password are made with the name asked for, so it must not be a stranger's.
    Origin: a change has to come from one of our own pages, or from a program, which names none.
    """

    def __init__(self, app: ASGIApp, *, address: str = "") -> None:
        self._app = app
        self._own = (urlsplit(address).hostname or "") if address else ""

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Pass the request on, or answer 403."""
        refusal = "" if scope["type"] != "http" else self._refusal(scope)
        if not refusal:
            await self._app(scope, receive, send)
            return
        answer = problem(403, "The request comes from elsewhere", refusal, number=number_of(scope))
        await answer(scope, receive, send)

    def _refusal(self, scope: Scope) -> str:
        headers = Headers(scope=scope)
        host = headers.get("host", "")
        name = _name_of(host)
        if not self._is_ours(name):
            return (
                f"The host {name[:80]!r} is not this service. Use "
                + (self._own or "the address that it was started with, such as 127.0.0.1")
                + "."
            )
        if scope["method"] in SAFE:
            return ""
        site = headers.get("sec-fetch-site", "")
        origin = headers.get("origin", "")
        if site not in ("", "same-origin", "none") or (
            origin and _place_of(origin) != host.casefold()
        ):
            return "A change must come from one of the pages of this service, not from elsewhere."
        return ""

    def _is_ours(self, name: str) -> bool:
        return is_loopback(name) or bool(self._own and name == self._own)


def _name_of(host: str) -> str:
    """Return the name in a Host header, without port and brackets."""
    if host.startswith("["):
        return host[1:].partition("]")[0].casefold()
    return host.partition(":")[0].casefold()


def _place_of(origin: str) -> str:
    """Return host and port of an Origin header; ``null`` and nonsense have none."""
    try:
        return urlsplit(origin).netloc.casefold()
    except ValueError:
        return ""
