"""Workers from outside: turns, time, and work that nobody waits for any more."""

from __future__ import annotations

import sys
import threading
import time
from collections.abc import Iterator
from typing import Any

import pytest

from leastwise.api.processes.pool import Busy, Ended, GaveUp, Limits, Pool, Ticket, TookTooLong

#: A worker that answers with its process, after as many seconds as it is asked to take.
WORKER = """
import os, sys, time
from leastwise.api.processes.frames import read_frame, write_frame
read_frame(sys.stdin.buffer)
write_frame(sys.stdout.buffer, {"status": "ready"})
while (frame := read_frame(sys.stdin.buffer)) is not None:
    said, body = frame
    time.sleep(said.get("take", 0))
    if said.get("die"):
        os._exit(1)
    write_frame(sys.stdout.buffer, {"status": said.get("status", "ok"), "pid": os.getpid()}, body)
"""


class _Nothing:
    def frame(self, limits: Limits) -> dict[str, Any]:
        return {"seconds": limits.seconds}


@pytest.fixture
def pool() -> Iterator[Pool]:
    limits = Limits(seconds=20, workers=1, waiting=2)
    with_worker = Pool(_Nothing(), (sys.executable, "-c", WORKER), limits)
    yield with_worker
    with_worker.close()


def _in_thread(
    pool: Pool, said: dict[str, Any], ticket: Ticket
) -> tuple[threading.Thread, list[str]]:
    came: list[str] = []

    def ask() -> None:
        try:
            came.append(pool.ask(said, b"", ticket)[0]["status"])
        except (Busy, Ended, GaveUp, TookTooLong) as error:
            came.append(type(error).__name__)

    thread = threading.Thread(target=ask)
    thread.start()
    return thread, came


def _until(true: Any, seconds: float = 20) -> None:
    end = time.monotonic() + seconds
    while not true():
        assert time.monotonic() < end
        time.sleep(0.01)


def test_a_body_comes_back_and_the_worker_stays(pool: Pool) -> None:
    first, body = pool.ask({}, b"a record")
    second, _ = pool.ask({}, b"")

    assert body == b"a record"
    assert first["pid"] == second["pid"]


def test_work_that_is_given_up_is_ended_and_the_next_is_done(pool: Pool) -> None:
    (pid,) = {pool.ask({})[0]["pid"]}
    ticket = Ticket()
    begun = time.monotonic()
    thread, came = _in_thread(pool, {"take": 15}, ticket)
    _until(lambda: pool._running == 1 and not pool._free)
    time.sleep(0.2)  # it is at work by now
    ticket.give_up()
    thread.join(10)

    assert came == ["GaveUp"]
    assert time.monotonic() - begun < 10
    assert pool.ask({})[0]["pid"] != pid


def test_who_gives_up_waiting_takes_no_worker_with_it(pool: Pool) -> None:
    (pid,) = {pool.ask({})[0]["pid"]}
    at_work, first = _in_thread(pool, {"take": 1.0}, Ticket())
    _until(lambda: pool._running == 1)
    ticket = Ticket()
    waiting, came = _in_thread(pool, {"take": 15}, ticket)
    _until(lambda: pool._waiting == 1)
    ticket.give_up()
    waiting.join(10)
    at_work.join(10)

    assert (came, first) == (["GaveUp"], ["ok"])
    assert pool.ask({})[0]["pid"] == pid


def test_a_ticket_given_up_before_is_no_work(pool: Pool) -> None:
    ticket = Ticket()
    ticket.give_up()

    with pytest.raises(GaveUp):
        pool.ask({"take": 15}, b"", ticket)
    assert pool.pids == []


def test_a_worker_that_lacks_memory_or_dies_is_replaced(pool: Pool) -> None:
    (pid,) = {pool.ask({})[0]["pid"]}
    with pytest.raises(Ended):
        pool.ask({"status": "memory"})
    (other,) = {pool.ask({})[0]["pid"]}
    with pytest.raises(Ended):
        pool.ask({"die": True})

    assert len({pid, other, pool.ask({})[0]["pid"]}) == 3


def test_a_crowd_beyond_the_queue_is_turned_away(pool: Pool) -> None:
    pool.ask({})
    crowd = [_in_thread(pool, {"take": 0.5}, Ticket()) for _ in range(6)]
    for thread, _ in crowd:
        thread.join(20)

    assert sorted(came for _, (came,) in crowd) == ["Busy"] * 3 + ["ok"] * 3
