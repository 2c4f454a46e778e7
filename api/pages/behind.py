"""Work that goes on behind a page: a few pieces at a time, and no more than so many to come."""

from __future__ import annotations

import threading
from collections.abc import Callable
from concurrent.futures import Future, ThreadPoolExecutor
from typing import Final, TypeVar

__all__ = ["Behind"]

T = TypeVar("T")
THREADS: Final = 2
MOST: Final = 16


class Behind:
    """Begins work in a thread of its own, unless enough is under way already."""

    def __init__(self, threads: int = THREADS, most: int = MOST) -> None:
        self._threads = ThreadPoolExecutor(threads, "behind")
        self._room = threading.BoundedSemaphore(most)

    def begin(self, make: Callable[[], T]) -> Future[T] | None:
        """Return the work begun, or None where enough is under way."""
        if not self._room.acquire(blocking=False):
            return None
        work = self._threads.submit(make)
        work.add_done_callback(lambda _: self._room.release())
        return work
