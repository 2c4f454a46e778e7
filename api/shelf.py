"""Answers already made: the same case, knowledge and policy give the same answer."""

from __future__ import annotations

import threading
from collections import OrderedDict
from collections.abc import Callable, Hashable
from typing import Any, Final, TypeVar

__all__ = ["Shelf"]

T = TypeVar("T")
#: Seconds between looks whether somebody who waits still wants to.
LOOK: Final = 0.2


def _stay() -> None:
    """Go on waiting."""


class Shelf:
    """The newest results by key; each is made once, even if several ask at the same time."""

    def __init__(self, most: int = 64) -> None:
        self._most = most
        self._held: OrderedDict[Hashable, Any] = OrderedDict()
        self._making: dict[Hashable, threading.Lock] = {}
        self._lock = threading.Lock()

    def peek(self, key: Hashable) -> Any:
        """Return what is held under *key*, or None; nothing is made."""
        with self._lock:
            return self._held.get(key)

    def get(self, key: Hashable, make: Callable[[], T], look: Callable[[], None] = _stay) -> T:
        """Return what is held under *key*, made by *make* if it isn't there.

        Whoever waits while another makes it calls *look* now and then, and leaves with what that
        raises.
        """
        with self._lock:
            if key in self._held:
                self._held.move_to_end(key)
                return self._held[key]  # type: ignore[no-any-return]
            mine = self._making.setdefault(key, threading.Lock())
        while not mine.acquire(timeout=LOOK):
            look()
        try:
            with self._lock:
                if key in self._held:
                    return self._held[key]  # type: ignore[no-any-return]
            return self._made(key, make)
        finally:
            mine.release()

    def _made(self, key: Hashable, make: Callable[[], T]) -> T:
        try:
            made = make()
        except BaseException:
            with self._lock:
                self._making.pop(key, None)
            raise
        with self._lock:  # in one, or somebody who asks in between would make it again
            self._held[key] = made
            self._making.pop(key, None)
            while len(self._held) > self._most:
                self._held.popitem(last=False)
        return made
