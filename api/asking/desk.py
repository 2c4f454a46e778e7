"""The desk where questions are handed in: kept answers, the workers, and whose turn it is."""

from __future__ import annotations

import sys
import threading
from collections import Counter
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from typing import Any, Final

from anyio import CapacityLimiter
from fastapi import FastAPI

from leastwise.api.asking.asked import Asked, answer
from leastwise.api.asking.kept import Kept, digest_of, digests_of
from leastwise.api.asking.pieces import PIECE, Piece, worked
from leastwise.api.http.problems import Told, told
from leastwise.api.http.state import made_once
from leastwise.api.processes.carried import packed, unpacked
from leastwise.api.processes.pool import Busy, Ended, GaveUp, Limits, Pool, Ticket, TookTooLong
from leastwise.api.settings import MEBIBYTE, Settings
from leastwise.graph import Adviser
from leastwise.graph.errors import LeastwiseError, Problem

__all__ = ["COME_AGAIN", "Desk", "Refused", "WorkFault", "desk_of"]

COMMAND: Final = (sys.executable, "-P", "-m", "leastwise.api.asking.worker")
#: Seconds after which somebody who was turned away may come again.
COME_AGAIN: Final = 5
#: Questions that may wait for a worker, over all people and for one of them.
WAITING: Final = 96
EACH: Final = 64
#: Seconds between looks whether somebody who waits for another's answer has left.
LOOK: Final = 0.2


class Refused(Exception):  # noqa: N818 - reads as what happened
    """Why a question isn't answered."""

    def __init__(self, told: Told) -> None:
        self.told = told
        super().__init__(told.detail)


class WorkFault(Exception):  # noqa: N818 - reads as what happened
    """A worker met an error that nobody foresaw; its text is the traceback there."""


@dataclass(frozen=True, slots=True)
class _Setup:
    """What a worker loads."""

    adviser: Adviser
    settings: Settings

    def frame(self, limits: Limits) -> dict[str, Any]:
        """Return the first frame for a worker."""
        s = self.settings
        return {
            "overlays": [str(folder) for folder in s.overlays],
            "cache": str(s.cache) if s.cache else "",
            "language": s.language,
            "digests": digests_of(self.adviser),
            "memory": limits.memory,
            "seconds": limits.seconds,
        }


class Desk:
    """Answers questions for one app, in workers where the settings ask for some.

    Without workers a question is answered in the thread that asks, and nothing ends it.
    """

    def __init__(self, adviser: Adviser, settings: Settings) -> None:
        self.adviser, self.limits = adviser, _limits(settings)
        self.kept = Kept()
        self._asking: Counter[str] = Counter()
        self._begun: dict[str, threading.Event] = {}
        self._lock = threading.Lock()
        self.pool = (
            Pool(_Setup(adviser, settings), COMMAND, self.limits) if settings.workers else None
        )
        #: Threads that wait for workers; those of the pages stay free.
        self.threads = CapacityLimiter(self.limits.workers + self.limits.waiting + 2)

    def close(self) -> None:
        """End the workers, if there are any."""
        if self.pool is not None:
            self.pool.close()

    def name_of(self, asked: Asked) -> str:
        """Return the name under which an answer is kept; another knowledge gives another name."""
        return digest_of(asked, *digests_of(self.adviser))

    def answer(self, asked: Asked, who: str, ticket: Ticket) -> bytes:
        """Return the answer to a question, kept or new; takes as long as the limit allows.

        The same question is worked out once, however many ask it at the same time.

        Raises:
            Refused: it can't be answered, or not now; with status and reason.
            GaveUp: the *ticket* was given up.

        """
        name = self.name_of(asked)
        with self._turn_of(who):
            while True:
                with self._lock:
                    found, begun = self.kept.get(name), self._begun.get(name)
                    if found is None and begun is None:
                        mine = self._begun[name] = threading.Event()
                        break
                if found is not None:
                    return found
                if begun is not None and not begun.wait(LOOK) and ticket.given_up:
                    raise GaveUp
            try:
                found = self._work(asked, ticket)
                self.kept.keep(name, found)
            finally:
                with self._lock:
                    del self._begun[name]
                mine.set()
        return found

    def work(self, piece: Piece, who: str, ticket: Ticket) -> Any:
        """Return what a piece of work comes to; within the limits of questions.

        Raises:
            Refused: it can't be worked, or not now; with status and reason.
            LeastwiseError: as the piece itself raises it, where there are no workers.
            GaveUp: the *ticket* was given up.

        """
        if ticket.given_up:
            raise GaveUp
        if self.pool is None:
            return worked(self.adviser, piece)
        with self._turn_of(who):
            return unpacked(self._asked({"question": PIECE}, packed(piece), ticket))

    @contextmanager
    def _turn_of(self, who: str) -> Iterator[None]:
        with self._lock:
            if self.pool is not None and self._asking[who] >= EACH:
                raise Refused(_TOO_MANY)
            self._asking[who] += 1
        try:
            yield
        finally:
            with self._lock:
                self._asking[who] -= 1
                if not self._asking[who]:
                    del self._asking[who]

    def _work(self, asked: Asked, ticket: Ticket) -> bytes:
        if self.pool is None:
            try:
                return answer(self.adviser, asked).encode()
            except LeastwiseError as error:
                raise Refused(told(error)) from error
        frame = {
            "question": asked.question,
            "is_json": asked.is_json,
            "policy": asked.policy,
            "given": dict(asked.given),
        }
        return self._asked(frame, asked.text.encode("utf-8", "replace"), ticket)

    def _asked(self, frame: dict[str, Any], given: bytes, ticket: Ticket) -> bytes:
        assert self.pool is not None  # noqa: S101 - the callers have looked
        try:
            said, body = self.pool.ask(frame, given, ticket)
        except GaveUp:
            raise
        except (Busy, TookTooLong, Ended) as error:
            raise Refused(self._over_limit(error)) from error
        if said["status"] == "refused":
            raise Refused(_received(said["problem"]))
        if said["status"] == "fault":
            raise WorkFault(said["trace"])
        if said["status"] != "ok":
            raise Refused(_OTHER)
        return body

    def _over_limit(self, error: Exception) -> Told:
        if isinstance(error, Busy):
            return _BUSY
        if isinstance(error, TookTooLong):
            what = (
                f"It took longer than {self.limits.seconds:g} s and was ended. Ask for fewer "
                "damages at once, or raise LEASTWISE_WORK_SECONDS."
            )
            return Told(504, "The question took too long", what)
        what = (
            f"It needed more than {self.limits.memory // MEBIBYTE} MiB of memory and was ended. "
            "Ask for fewer damages at once, or raise LEASTWISE_WORK_MEMORY."
        )
        return Told(507, "The question needed too much", what)


def desk_of(app: FastAPI) -> Desk:
    """Return the desk of an app, made when the first question comes."""
    return made_once(app, "desk", Desk)


_BUSY: Final = Told(
    503,
    "Too many questions at once",
    f"Too many questions wait already; come again in {COME_AGAIN} seconds.",
)
_TOO_MANY: Final = Told(
    429,
    "Too many questions at once",
    f"{EACH} questions of yours are under way already; wait until one is answered.",
)
_OTHER: Final = Told(
    503,
    "The knowledge has changed",
    "The files of the knowledge were changed since the service started; start it again.",
)


def _limits(settings: Settings) -> Limits:
    return Limits(
        seconds=settings.work_seconds,
        memory=settings.work_memory * MEBIBYTE,
        workers=max(1, settings.workers),
        waiting=WAITING,
    )


def _received(said: dict[str, Any]) -> Told:
    problems = tuple(Problem(**one) for one in said["problems"])
    return Told(said["status"], said["title"], said["detail"], problems)
