"""What the service tells of its requests: a number for each, figures by route, a line in the log.

A route is named by its form, such as ``/cases/{case}/options``, never by the address that was
asked for: addresses hold names of cases, and the secrets of links.
"""

from __future__ import annotations

import logging
import math
import threading
import time
import uuid
from collections import Counter, defaultdict
from collections.abc import Mapping
from typing import Final, cast

from starlette.datastructures import MutableHeaders
from starlette.types import ASGIApp, Message, Receive, Scope, Send

__all__ = ["HEADER", "Figures", "Watched", "number_of"]

LOG = logging.getLogger("leastwise.requests")
HEADER: Final = "x-request-id"
#: Name of the number in the state of a request.
NUMBER: Final = "number"
#: Where no route answered: the way in was closed, or there is no such page.
NO_ROUTE: Final = "none"
#: Status of a request whose client left before the answer began, as proxies write it.
LEFT: Final = 499
METHODS: Final = frozenset({"GET", "HEAD", "POST", "PUT", "PATCH", "DELETE", "OPTIONS"})
SECONDS: Final = (0.05, 0.2, 1.0, 5.0, 30.0)


class Figures:
    """Counts of one app's requests, in the text form 0.0.4 of Prometheus.

    Labels are methods, forms of routes, numbers and our own words; none needs to be escaped.
    """

    def __init__(self) -> None:
        self._requests: Counter[tuple[str, str, int]] = Counter()
        self._within: Counter[tuple[str, str, float]] = Counter()
        self._seconds: defaultdict[tuple[str, str], float] = defaultdict(float)
        self._lock = threading.Lock()

    def count(self, method: str, route: str, status: int, seconds: float) -> None:
        """Count one request."""
        with self._lock:
            self._requests[method, route, status] += 1
            self._seconds[method, route] += seconds
            for most in (*SECONDS, math.inf):
                self._within[method, route, most] += seconds <= most

    def text(self, now: Mapping[str, float]) -> str:
        """Return all figures as text; *now* are those that hold at this moment."""
        with self._lock:
            requests, within = sorted(self._requests.items()), sorted(self._within.items())
            seconds = dict(self._seconds)
        lines = _heading("leastwise_requests_total", "counter", "Requests answered")
        for (method, route, status), times in requests:
            told = {"method": method, "route": route, "status": status}
            lines.append(_line("leastwise_requests_total", told, times))
        name = "leastwise_request_seconds"
        lines += _heading(name, "histogram", "Time until a request was answered")
        for (method, route, most), times in within:
            told = {"method": method, "route": route, "le": "+Inf" if most == math.inf else most}
            lines.append(_line(f"{name}_bucket", told, times))
            if most == math.inf:  # the last of each
                of_both = {"method": method, "route": route}
                lines.append(_line(f"{name}_sum", of_both, round(seconds[method, route], 6)))
                lines.append(_line(f"{name}_count", of_both, times))
        lines += _heading("leastwise_now", "gauge", "What there is at this moment")
        lines += [_line("leastwise_now", {"what": what}, value) for what, value in now.items()]
        return "\n".join(lines) + "\n"


def _line(name: str, labels: Mapping[str, object], value: float) -> str:
    told = ",".join(f'{label}="{one}"' for label, one in labels.items())
    return f"{name}{{{told}}} {value}"


def _heading(name: str, kind: str, says: str) -> list[str]:
    return [f"# HELP {name} {says}", f"# TYPE {name} {kind}"]


class Watched:
    """Gives each request a number, counts it, and writes one line about it."""

    def __init__(self, app: ASGIApp, *, figures: Figures) -> None:
        self._app, self._figures = app, figures

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Pass the request on; its answer carries the number."""
        if scope["type"] != "http":
            await self._app(scope, receive, send)
            return
        number = str(uuid.uuid4())
        scope.setdefault("state", {})[NUMBER] = number
        begun, status = time.monotonic(), LEFT

        async def numbered(message: Message) -> None:
            nonlocal status
            if message["type"] == "http.response.start":
                status = message["status"]
                MutableHeaders(scope=message)[HEADER] = number
            await send(message)

        try:
            await self._app(scope, receive, numbered)
        finally:
            self._tell(scope, number, status, time.monotonic() - begun)

    def _tell(self, scope: Scope, number: str, status: int, seconds: float) -> None:
        method = scope["method"] if scope["method"] in METHODS else "other"
        route = getattr(scope.get("route"), "path", "") or NO_ROUTE
        self._figures.count(method, route, status, seconds)
        said = {"request": number, "method": method, "route": route, "status": status}
        told = {**said, "seconds": round(seconds, 4)}
        LOG.info("%s %s %s", method, route, status, extra=told)


def number_of(scope: Scope) -> str:
    """Return the number of a request; empty where nobody watches."""
    return cast(str, scope.get("state", {}).get(NUMBER, ""))
