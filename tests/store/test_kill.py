"""kill -9 in the middle of writing: all that was acknowledged is there, and nothing is torn."""

from __future__ import annotations

import os
import random
import signal
import subprocess
import sys
import time
from collections.abc import Callable
from typing import Any

import pytest
from sqlalchemy import text

from leastwise.api.store import NotStored, Store, StoreError
from leastwise.api.store.backup.verify import verify
from tests.store.postgres import Server

WRITES = 1000
KILLS = 5
#: Writes records and versions without end, and acknowledges each on a pipe once it is kept.
CHILD = """
import sys
from leastwise.api.store import Store
store = Store.open(sys.argv[1])
if store.engine.dialect.name == "postgresql":
    from sqlalchemy import text
    from sqlalchemy.pool import StaticPool
    with store.reading() as session:
        print("pid", session.execute(text("SELECT pg_backend_pid()")).scalar(), flush=True)
n = 0
while True:
    kept = store.create("case", {"n": n, "note": "x" * (n * 37 % 3000)}, who="me", what="begun")
    print("kept", kept.id, 1, n, flush=True)
    store.save(kept.id, 1, {"n": n, "second": True}, who="me", what="changed")
    print("kept", kept.id, 2, n, flush=True)
    n += 1
"""


class Writer:
    """A process that writes, and what it has acknowledged."""

    def __init__(self, url: str) -> None:
        self.backend = 0
        self.process = subprocess.Popen(  # noqa: S603 - our own command
            [sys.executable, "-c", CHILD, url],
            stdout=subprocess.PIPE,
            stderr=subprocess.DEVNULL,
            text=True,
        )

    def read(self, most: int) -> list[tuple[str, int, int]]:
        """Return up to *most* acknowledgements, fewer where the process ends before."""
        assert self.process.stdout is not None
        found: list[tuple[str, int, int]] = []
        while len(found) < most:
            line = self.process.stdout.readline()
            if not line.endswith("\n"):
                break
            word, *said = line.split()
            if word == "pid":
                self.backend = int(said[0])
            else:
                found.append((said[0], int(said[1]), int(said[2])))
        return found

    def end(self) -> list[tuple[str, int, int]]:
        """Kill the process if it still runs, and return what it had acknowledged till then."""
        self.process.kill()
        rest = self.read(10**9)
        assert self.process.stdout is not None
        self.process.stdout.close()
        self.process.wait(30)
        return rest


def check(store: Store, acknowledged: list[tuple[str, int, int]]) -> None:
    """Find every acknowledged write again, and nothing torn."""
    lost = []
    for name, version, n in acknowledged:
        try:
            found = store.as_of(name, version=version).body
        except NotStored:
            found = {}
        if (found.get("n"), found.get("second", False)) != (n, version == 2):
            lost.append((name, version))
    assert lost == []
    assert verify(store).faults == ()


@pytest.mark.slow
def test_a_killed_writer_loses_nothing_that_was_acknowledged(
    url: str, opened: Callable[..., Store]
) -> None:
    chance, acknowledged = random.Random(7), []  # noqa: S311 - moments, not secrets
    for turn in range(KILLS):
        writer = Writer(url)
        acknowledged += writer.read(WRITES // KILLS)
        time.sleep(chance.uniform(0, 0.01))  # somewhere within a write
        acknowledged += writer.end()
        assert len(acknowledged) >= (turn + 1) * (WRITES // KILLS)
        store = opened(url)
        check(store, acknowledged[-200:])
        store.engine.dispose()

    assert len(acknowledged) >= WRITES
    check(opened(url), acknowledged)


@pytest.mark.slow
@pytest.mark.parametrize("what", ["backend", "server"])
def test_a_killed_postgresql_loses_nothing_that_was_acknowledged(
    postgres: Server, opened: Callable[..., Store], what: str
) -> None:
    url = postgres.database()
    writer = Writer(url)
    acknowledged = writer.read(200)
    assert writer.backend
    if what == "backend":
        os.kill(writer.backend, signal.SIGKILL)  # the server then restarts itself, from its log
    else:
        postgres.kill()
    acknowledged += writer.end()
    if what == "server":
        postgres.start()

    check(_again(url, opened), acknowledged)
    assert len(acknowledged) >= 200


def _again(url: str, opened: Callable[..., Store]) -> Store:
    """Open the store once the server has recovered."""
    last: Any = None
    until = time.monotonic() + 120
    while time.monotonic() < until:
        try:
            store = opened(url)
            with store.reading() as session:
                session.execute(text("SELECT 1"))
        except StoreError as error:
            last = error
            time.sleep(0.1)
        else:
            return store
    raise last
