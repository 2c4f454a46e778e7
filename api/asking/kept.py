"""Answers kept by what was asked, up to so many bytes; the oldest goes first."""

from __future__ import annotations

import hashlib
import json
import threading
from collections import OrderedDict
from typing import Final

from leastwise.api.asking.asked import Asked
from leastwise.graph import Adviser

__all__ = ["Kept", "digest_of", "digests_of"]

MEBIBYTE: Final = 1024 * 1024


def digest_of(asked: Asked, *knowledge: str) -> str:
    """Return the name of a question: the same for the same record, policy and what is given.

    *knowledge* names what it is answered from.
    """
    rest = [asked.question, asked.is_json, asked.policy, sorted(asked.given.items()), *knowledge]
    whole = json.dumps(rest) + "\n" + asked.text
    return hashlib.sha256(whole.encode("utf-8", "surrogatepass")).hexdigest()


def digests_of(adviser: Adviser) -> list[str]:
    """Return what names knowledge and rules by their content."""
    return [adviser.knowledge.digest, adviser.rules.digest]


class Kept:
    """The newest answers by the digest of their question, together at most *most* bytes."""

    def __init__(self, most: int = 64 * MEBIBYTE) -> None:
        self._most, self._held = most, 0
        self._answers: OrderedDict[str, bytes] = OrderedDict()
        self._lock = threading.Lock()

    @property
    def held(self) -> int:
        """Return the bytes that are kept."""
        return self._held

    def get(self, digest: str) -> bytes | None:
        """Return the answer to a question, if it is kept."""
        with self._lock:
            if digest not in self._answers:
                return None
            self._answers.move_to_end(digest)
            return self._answers[digest]

    def keep(self, digest: str, answer: bytes) -> None:
        """Keep an answer, unless it is larger than everything may be together."""
        if len(answer) > self._most:
            return
        with self._lock:
            self._held += len(answer) - len(self._answers.pop(digest, b""))
            self._answers[digest] = answer
            while self._held > self._most:
                _, oldest = self._answers.popitem(last=False)
                self._held -= len(oldest)
