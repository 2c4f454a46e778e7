"""The workers that run queries, from outside: at most so many, each ended at its limit.

A worker is started with the first query that needs it, and lives on. One that outlives its time
or its memory is ended and replaced with the next query; what it loads are the same files.
"""

from __future__ import annotations

import contextlib
import subprocess
import sys
import threading
import weakref
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any, Protocol

from leastwise.api.sparql.worker import Reply, read_frame, write_frame

__all__ = ["Busy", "Ended", "Limits", "Loads", "Pool", "Setup", "TookTooLong"]

#: Seconds that a worker may take to load the knowledge, which no query is charged for.
LOADING = 90.0
_COMMAND = (sys.executable, "-P", "-m", "leastwise.api.sparql.worker")


class Busy(Exception):  # noqa: N818 - reads as what happened
    """All workers are at work and enough requests wait already."""


class TookTooLong(Exception):  # noqa: N818 - reads as what happened
    """The query was ended at its time limit."""


class Ended(Exception):  # noqa: N818 - reads as what happened
    """The worker came to its end during the query: for want of memory, as a rule."""


@dataclass(frozen=True, slots=True)
class Limits:
    """What a query may use.

    Attributes:
        seconds: time of one query.
        memory: bytes of address space of a worker, with the knowledge in it.
        rows: rows or triples of one result.
        size: bytes of one result.
        workers: queries at the same time.
        waiting: further requests that may wait for a worker.

    """

    seconds: float = 10.0
    memory: int = 2 * 1024**3
    rows: int = 10_000
    size: int = 10 * 1024**2
    workers: int = 2
    waiting: int = 20


class Loads(Protocol):
    """What a worker is told before the first question."""

    def frame(self, limits: Limits) -> dict[str, Any]:
        """Return the first frame for a worker."""
        ...


@dataclass(frozen=True, slots=True)
class Setup:
    """What a worker loads: graph -> Turtle files, the prefixes, and where names are published."""

    graphs: Mapping[str, Sequence[Path]]
    prefixes: Mapping[str, str]
    base: str
    shipped_base: str
    vocabulary: str

    def frame(self, limits: Limits) -> dict[str, Any]:
        """Return the first frame for a worker."""
        return {
            "graphs": {
                graph: [str(path) for path in files] for graph, files in self.graphs.items()
            },
            "prefixes": dict(self.prefixes),
            "base": self.base,
            "shipped_base": self.shipped_base,
            "vocabulary": self.vocabulary,
            "memory": limits.memory,
            "seconds": limits.seconds,
        }


class _Worker:
    """One process and its pipes; used by one thread at a time."""

    def __init__(self, command: Sequence[str]) -> None:
        self._process = subprocess.Popen(  # noqa: S603 - our own module, no input of a user
            command,
            stdin=subprocess.PIPE,
            stdout=subprocess.PIPE,
            stderr=subprocess.DEVNULL,
        )

    @property
    def pid(self) -> int:
        """Return the id of the process."""
        return self._process.pid

    def ask(self, header: dict[str, Any], seconds: float) -> Reply:
        """Send a frame and return the reply, ending the process after *seconds*.

        Raises:
            TookTooLong: it was ended.
            Ended: it came to its end by itself.

        """
        late = threading.Event()

        def end() -> None:
            late.set()
            self._process.kill()

        timer = threading.Timer(seconds, end)
        timer.daemon = True
        timer.start()
        pipes = self._process.stdin, self._process.stdout
        assert pipes[0] is not None  # noqa: S101 - both were asked for
        assert pipes[1] is not None  # noqa: S101
        try:
            write_frame(pipes[0], header)
            reply = read_frame(pipes[1])
        except OSError:
            reply = None
        finally:
            timer.cancel()
        if reply is None or late.is_set():  # late even where the reply came with the last breath
            raise TookTooLong if late.is_set() else Ended
        return reply

    def end(self) -> None:
        """End the process and wait until it is gone."""
        self._process.kill()
        for pipe in (self._process.stdin, self._process.stdout):
            with contextlib.suppress(OSError):
                if pipe is not None:
                    pipe.close()
        self._process.wait()


def _end_all(workers: set[_Worker]) -> None:
    while workers:
        workers.pop().end()


@dataclass
class Pool:
    """Gives each query to a worker that has nothing to do; see :meth:`ask`."""

    setup: Loads
    limits: Limits = field(default_factory=Limits)
    command: Sequence[str] = _COMMAND

    def __post_init__(self) -> None:
        self._free: list[_Worker] = []
        self._all: set[_Worker] = set()
        self._running = self._waiting = 0
        self._turn = threading.Condition()
        self._closed = False
        # also when the program ends without closing us, or nobody holds us any more
        self._finalizer = weakref.finalize(self, _end_all, self._all)

    @property
    def pids(self) -> list[int]:
        """Return the processes of the workers there are."""
        with self._turn:
            return [worker.pid for worker in self._all]

    def ask(self, asked: dict[str, Any]) -> Reply:
        """Return what a worker answers to *asked*; waits for one where all are at work.

        Raises:
            Busy: enough requests wait already, or the pool is closed.
            TookTooLong: the query was ended at its limit.
            Ended: the worker ended in the middle of it.

        """
        self._take_turn()
        worker: _Worker | None = None
        try:
            worker = self._ready()
            reply = worker.ask(asked, self.limits.seconds)
        except BaseException:
            if worker is not None:
                self._drop(worker)
            self._leave(None)
            raise
        if reply[0].get("status") == "memory":  # what it couldn't get it may lack from now on
            self._drop(worker)
            self._leave(None)
            raise Ended
        self._leave(worker)
        return reply

    def _take_turn(self) -> None:
        with self._turn:
            if self._closed or (
                self._running >= self.limits.workers and self._waiting >= self.limits.waiting
            ):
                raise Busy
            self._waiting += 1
            try:
                self._turn.wait_for(lambda: self._closed or self._running < self.limits.workers)
            finally:
                self._waiting -= 1
            if self._closed:
                raise Busy
            self._running += 1

    def _ready(self) -> _Worker:
        with self._turn:
            if self._free:
                return self._free.pop()
            worker = _Worker(self.command)
            self._all.add(worker)
        try:
            worker.ask(self.setup.frame(self.limits), LOADING)
        except BaseException:
            self._drop(worker)
            raise
        return worker

    def _drop(self, worker: _Worker) -> None:
        with self._turn:
            self._all.discard(worker)
        worker.end()

    def _leave(self, worker: _Worker | None) -> None:
        with self._turn:
            self._running -= 1
            if worker is not None and not self._closed:
                self._free.append(worker)
            self._turn.notify()

    def close(self) -> None:
        """End all workers; a query that runs ends with them, and none is taken any more."""
        with self._turn:
            self._closed = True
            self._free.clear()
            ended, self._all = self._all, set()
            self._turn.notify_all()
        self._finalizer.detach()
        _end_all(ended)
