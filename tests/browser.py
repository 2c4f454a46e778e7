"""A real Chromium and a real server, for the tests that need them.

A browser that is missing fails where ``CI`` is set and skips with a reason elsewhere.
"""

from __future__ import annotations

import os
import shutil
import socket
import threading
import time
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import pytest
import uvicorn
from fastapi import FastAPI

FLAGS = [
    "--no-sandbox",
    "--disable-gpu",
    "--disable-quic",
    "--no-first-run",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
]


#: Of what is found only the faults are told; the rule on regions is dear and no more than moderate.
AXE = {"resultTypes": ["violations"], "rules": {"region": {"enabled": False}}}


def missing(what: str, mend: str) -> None:
    """Fail in CI, skip elsewhere, because *what* isn't installed."""
    reason = f"{what} is not installed; {mend}"
    if os.environ.get("CI"):
        pytest.fail(reason)
    pytest.skip(reason)


def chromium_path() -> str:
    """Return where Chromium is."""
    for name in ("chromium", "chromium-browser", "google-chrome"):
        found = shutil.which(name)
        if found:
            return found
    missing("Chromium", "on Debian: apt-get install chromium")
    raise AssertionError


@contextmanager
def served(app: FastAPI) -> Iterator[str]:
    """Serve *app* on loopback, in a thread, and give its address."""
    with socket.socket() as sock:
        sock.bind(("127.0.0.1", 0))
        port = sock.getsockname()[1]
        server = uvicorn.Server(uvicorn.Config(app, log_level="warning", lifespan="off"))
        thread = threading.Thread(target=server.run, kwargs={"sockets": [sock]}, daemon=True)
        thread.start()
        until = time.monotonic() + 20
        while not server.started and time.monotonic() < until:
            time.sleep(0.02)
        assert server.started, "the server did not start"
        try:
            yield f"http://127.0.0.1:{port}"
        finally:
            server.should_exit = True
            thread.join(10)


def axe_faults(page: object) -> list[str]:
    """Return the serious and critical violations that axe-core finds on a page."""
    from axe_playwright_python.sync_playwright import Axe  # noqa: PLC0415 - only where a browser is

    found = Axe().run(page, options=AXE).response["violations"]
    return [
        f"{one['id']} ({one['impact']}): {node['html'][:200]}"
        for one in found
        if one["impact"] in ("serious", "critical")
        for node in one["nodes"]
    ]


def overflow(page: object) -> list[str]:
    """Return what sticks out of the window to the right, but for what scrolls in its own box."""
    return page.evaluate(  # type: ignore[attr-defined, no-any-return]
        """() => {
          const wide = document.documentElement.clientWidth, out = [];
          if (document.documentElement.scrollWidth > wide + 1)
            for (const e of document.querySelectorAll('body *')) {
              const r = e.getBoundingClientRect();
              if (r.width && r.right > wide + 1 && !e.closest('.scroll, .skip, .sr'))
                out.push(e.tagName + '.' + e.className + ' ' + Math.round(r.right));
            }
          return out.slice(0, 8);
        }"""
    )


def picture_to(folder: Path | None, page: object, name: str) -> None:
    """Keep a picture of the whole page, if a folder was asked for."""
    if folder is not None:
        page.screenshot(path=str(folder / f"{name}.png"), full_page=True)  # type: ignore[attr-defined]
