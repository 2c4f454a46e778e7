"""After a save the answer is made ready in the background, so that the first look is quick.

One thread, a few cases at most, the newest save of each; a case that is saved again while it
waits is weighed once. A request that comes for the same answer meanwhile waits for this work and
doesn't do it twice (the shelf sees to that). Nothing depends on it: without a warmer, or if it
fails, the request does the work itself. Failures are logged.
"""

from __future__ import annotations

import logging
import threading
import time
from collections import OrderedDict
from collections.abc import Callable
from typing import Final

from fastapi import Request

from leastwise.api.store import NotStored

__all__ = ["LOG", "REST_S", "Warmer", "warm"]

LOG = logging.getLogger("leastwise.pages")
#: Who types on sends saves in a row; the case is weighed when typing pauses for so long.
REST_S: Final = 0.3
MOST_WAITING: Final = 8


class Warmer:
    """One background thread that weighs the cases it is told of."""

    def __init__(self, work: Callable[[str], None], rest: float = REST_S) -> None:
        self._work, self._rest = work, rest
        self._waiting: OrderedDict[str, float] = OrderedDict()  # case -> when it was last saved
        self._told = threading.Condition()
        self._busy = False
        threading.Thread(target=self._run, name="warm", daemon=True).start()

    def tell(self, case: str) -> None:
        """Note that a case was saved; returns at once. The oldest of too many is let go."""
        with self._told:
            self._waiting.pop(case, None)
            self._waiting[case] = time.monotonic()
            while len(self._waiting) > MOST_WAITING:
                self._waiting.popitem(last=False)
            self._told.notify_all()

    def idle(self, timeout: float) -> bool:
        """Wait until nothing is left to do; return whether that came about in *timeout* s."""
        with self._told:
            return self._told.wait_for(lambda: not (self._waiting or self._busy), timeout)

    def _next(self) -> str:
        """Return the case that has rested longest, once it has rested long enough."""
        with self._told:
            while True:
                self._told.wait_for(lambda: bool(self._waiting))
                case, saved = next(iter(self._waiting.items()))
                left = saved + self._rest - time.monotonic()
                if left <= 0:
                    self._waiting.pop(case)
                    self._busy = True
                    return case
                self._told.wait(left)

    def _run(self) -> None:
        while True:
            case = self._next()
            try:
                self._work(case)
            except NotStored:
                LOG.info("case %s was removed before it was weighed in the background", case)
            except Exception:  # nothing a page depends on; the request will meet it and tell
                LOG.exception("case %s could not be weighed in the background", case)
            finally:
                with self._told:
                    self._busy = False
                    self._told.notify_all()


def warm(request: Request, case: str) -> None:
    """Have a case weighed in the background after a save, if this service does so."""
    warmer: Warmer | None = getattr(request.app.state, "warmer", None)
    if warmer is not None:
        warmer.tell(case)
