"""Workers from outside: processes of one kind, at most so many, each ended at its limit.

A worker is started with the first work that needs it, and lives on. One that outlives its time
or its memory is ended and replaced with the next work; what it loads are the same files.
"""

from __future__ import annotations

import contextlib
import subprocess
import threading
import weakref
from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from typing import Any, Protocol

from leastwise.api.processes.frames import Reply, read_frame, write_frame

__all__ = ["Busy", "Ended", "GaveUp", "Limits", "Loads", "Pool", "Ticket", "TookTooLong"]

#: Seconds that a worker may take to load the knowledge, which no work is charged for.
LOADING = 90.0


class Busy(Exception):  # noqa: N818 - reads as what happened
    """All workers are at work and enough requests wait already."""


class TookTooLong(Exception):  # noqa: N818 - reads as what happened
    """The work was ended at its time limit."""


class Ended(Exception):  # noqa: N818 - reads as what happened
    """The worker came to its end during the work: for want of memory, as a rule."""


class GaveUp(Exception):  # noqa: N818 - reads as what happened
    """Whoever asked has left, and the work was ended with that."""


class Ticket:
    """Somebody's request; giving it up ends the work on it, or the waiting for a worker."""

    def __init__(self) -> None:
        self._end: Callable[[], None] | None = None
        self._lock = threading.Lock()
        self.given_up = False

    def give_up(self) -> None:
        """End what is done for this request; at once, from any thread."""
        with self._lock:
            self.given_up = True
            if self._end is not None:
                self._end()

    def ended_by(self, end: Callable[[], None] | None) -> None:
        """Say how the work on it is ended from now on; None where nothing is under way.

        Raises:
            GaveUp: it was given up meanwhile.

        """
        with self._lock:
            self._end = end
            if self.given_up and end is not None:
                raise GaveUp


@dataclass(frozen=True, slots=True)
class Limits:
    """What a piece of work may use.

    Attributes:
        seconds: time of one piece of work.
        memory: bytes of address space of a worker, with the knowledge in it.
        workers: pieces of work at the same time.
        waiting: further requests that may wait for a worker.

    """

    seconds: float = 10.0
    memory: int = 2 * 1024**3
    workers: int = 2
    waiting: int = 20


class Loads(Protocol):
    """What a worker is told before the first question."""

    def frame(self, limits: Limits) -> dict[str, Any]:
        """Return the first frame for a worker."""
        ...


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

    def _exchanged(self, header: dict[str, Any], body: bytes) -> Reply | None:
        pipes = self._process.stdin, self._process.stdout
        assert pipes[0] is not None  # noqa: S101 - both were asked for
        assert pipes[1] is not None  # noqa: S101
        write_frame(pipes[0], header, body)
        return read_frame(pipes[1])

    def ask(self, header: dict[str, Any], seconds: float, body: bytes = b"") -> Reply:
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
        try:
            reply = self._exchanged(header, body)
        except OSError:
            reply = None
        finally:
            timer.cancel()
        if reply is None or late.is_set():  # late even where the reply came with the last breath
            raise TookTooLong if late.is_set() else Ended
        return reply

    def kill(self) -> None:
        """End the process, whatever it does."""
        self._process.kill()

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
    """Gives each piece of work to a worker that has nothing to do; see :meth:`ask`."""

    setup: Loads
    command: Sequence[str]
    limits: Limits = field(default_factory=Limits)

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

    @property
    def under_way(self) -> tuple[int, int]:
        """Return how many pieces of work are done at this moment, and how many wait."""
        with self._turn:
            return self._running, self._waiting

    def ask(self, asked: dict[str, Any], body: bytes = b"", ticket: Ticket | None = None) -> Reply:
        """Return what a worker answers to *asked*; waits for one where all are at work.

        Raises:
            Busy: enough requests wait already, or the pool is closed.
            TookTooLong: the work was ended at its limit.
            Ended: the worker ended in the middle of it.
            GaveUp: the *ticket* was given up.

        """
        ticket = ticket or Ticket()
        self._take_turn(ticket)
        try:
            worker = self._ready()
        except BaseException:
            self._leave(None)
            raise
        try:
            ticket.ended_by(worker.kill)
        except GaveUp:  # while it was loading; it has done nothing yet
            self._leave(worker)
            raise
        return self._asked(worker, asked, body, ticket)

    def _asked(self, worker: _Worker, asked: dict[str, Any], body: bytes, ticket: Ticket) -> Reply:
        try:
            reply = worker.ask(asked, self.limits.seconds, body)
            ticket.ended_by(None)
        except BaseException as error:
            self._drop(worker)
            self._leave(None)
            if isinstance(error, Ended) and ticket.given_up:
                raise GaveUp from error
            raise
        # what it couldn't get it may lack from now on; given up, it ended after its last word
        lacks = reply[0].get("status") == "memory"
        if lacks or ticket.given_up:
            self._drop(worker)
            self._leave(None)
            raise Ended if lacks else GaveUp
        self._leave(worker)
        return reply

    def _take_turn(self, ticket: Ticket) -> None:
        with self._turn:
            if self._closed or (
                self._running >= self.limits.workers and self._waiting >= self.limits.waiting
            ):
                raise Busy
            ticket.ended_by(self._wake)
            self._waiting += 1
            try:
                self._turn.wait_for(
                    lambda: self._closed or ticket.given_up or self._running < self.limits.workers
                )
            finally:
                self._waiting -= 1
            if self._closed:
                raise Busy
            if ticket.given_up:
                self._turn.notify()  # the turn that woke us may be another's
                raise GaveUp
            self._running += 1

    def _wake(self) -> None:
        """Let those who wait look whether they still want to; never waits itself."""
        threading.Thread(target=self._look_again, daemon=True).start()

    def _look_again(self) -> None:
        with self._turn:
            self._turn.notify_all()

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
        """End all workers; what runs ends with them, and none is taken any more."""
        with self._turn:
            self._closed = True
            self._free.clear()
            ended, self._all = self._all, set()
            self._turn.notify_all()
        self._finalizer.detach()
        _end_all(ended)
