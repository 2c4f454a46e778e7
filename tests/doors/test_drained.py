"""An answer that is there before the body of its request arrives, on a real connection."""

from __future__ import annotations

import socket
from collections.abc import Iterator
from concurrent.futures import ThreadPoolExecutor
from typing import Any
from urllib.parse import urlsplit

import anyio
import pytest
from starlette.types import Message

from leastwise.api.http.drained import Drained
from leastwise.api.settings import Settings
from leastwise.api.store import Store
from tests.apps import Apps, EmptyStore
from tests.browser import served

MUCH = 30 * 1024 * 1024


@pytest.fixture(scope="module")
def site(
    apps: Apps, empty_store: EmptyStore, tmp_path_factory: pytest.TempPathFactory
) -> Iterator[str]:
    path = tmp_path_factory.mktemp("drained") / "store.sqlite"
    store = Store.open(empty_store.copied_to(path))
    with served(apps.over(store, Settings(cache=None, shared=True, max_body=100_000))) as made:
        yield made
    store.engine.dispose()


def ask(site: str, path: str, *headers: str, body: bytes) -> bytes:
    """Send a request to the end as proxies do, and only then read what was answered."""
    place = urlsplit(site)
    lines = (f"POST {path} HTTP/1.1", f"Host: {place.netloc}", "Connection: close", *headers)
    with socket.create_connection((place.hostname or "", place.port or 0), 60) as sent:
        sent.sendall("".join(f"{line}\r\n" for line in lines).encode() + b"\r\n")
        sent.sendall(body)
        told = b""
        while more := sent.recv(65536):
            told += more
    return told


@pytest.mark.parametrize(
    ("path", "status", "chunked"),
    [
        ("/options", b"413", False),
        ("/options", b"401", True),
        ("/cases/x/photographs", b"401", False),
        ("/cases/x/photographs", b"401", True),
        ("/no/such/page", b"413", False),
        ("/no/such/page", b"404", True),
    ],
)
def test_who_sends_to_the_end_gets_the_answer(
    site: str, path: str, status: bytes, chunked: bool
) -> None:
    body, how = b" " * MUCH, f"Content-Length: {MUCH}"
    if chunked:
        body, how = b"%x\r\n%b\r\n0\r\n\r\n" % (MUCH, body), "Transfer-Encoding: chunked"
    told = ask(site, path, how, body=body)

    assert told.startswith(b"HTTP/1.1 " + status), told[:200]
    assert b"urn:uuid:" in told  # all of the problem


async def early(scope: Any, receive: Any, send: Any) -> None:
    """Answer without a look at the body."""
    await send({"type": "http.response.start", "status": 413, "headers": []})
    await send({"type": "http.response.body", "body": b"too large"})


def run(pieces: int, seconds: float, most: int, header: str = "content-length") -> list[Message]:
    """Return what is sent to a client that sends *pieces* of 100 bytes and then waits."""
    sent: list[Message] = []
    left = pieces

    async def receive() -> Message:
        nonlocal left
        if not left:
            await anyio.sleep(120)
        left -= 1
        return {"type": "http.request", "body": b" " * 100, "more_body": True}

    async def send(message: Message) -> None:
        sent.append(message)

    async def whole() -> None:
        scope = {"type": "http", "headers": [(header.encode(), b"1000000")]}
        await Drained(early, most=most, seconds=seconds)(scope, receive, send)

    with ThreadPoolExecutor(1) as apart:  # in ours a browser's loop may be running
        apart.submit(anyio.run, whole).result()
    return [*sent, {"read": pieces - left}]


def test_no_more_is_read_than_stated() -> None:
    *sent, told = run(pieces=50, seconds=100, most=1000)
    assert told["read"] == 10
    assert [one.get("more_body", False) for one in sent] == [False, True, False]


def test_nobody_is_waited_for_longer_than_stated() -> None:
    *sent, told = run(pieces=3, seconds=0.2, most=10**9)
    assert told["read"] == 3
    assert sent[-1] == {"type": "http.response.body", "body": b""}


def test_what_was_not_asked_for_is_not_waited_for() -> None:
    *sent, told = run(pieces=3, seconds=100, most=1000, header="expect")
    assert told["read"] == 0
    assert not any(one.get("more_body") for one in sent)
