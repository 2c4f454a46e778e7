"""Passwords as argon2id hashes.

Parameters: the second recommended option of RFC 9106, section 4 (64 MiB, 3 passes, 4 lanes).
"""

from __future__ import annotations

import threading
from functools import cache

from argon2 import PasswordHasher, Type
from argon2.exceptions import InvalidHashError, VerificationError

from leastwise.api.identity.rules import LONGEST, plain

__all__ = ["hashed", "is_outdated", "matches"]

_HASHER = PasswordHasher(
    time_cost=3, memory_cost=64 * 1024, parallelism=4, hash_len=32, salt_len=16, type=Type.ID
)
#: Each takes 64 MiB while it is worked out; many at once must not eat the memory.
_TURN = threading.BoundedSemaphore(4)


def hashed(password: str) -> str:
    """Return the hash of a password."""
    with _TURN:
        return _HASHER.hash(plain(password))


def matches(password: str, kept: str) -> bool:
    """Return whether a password has this hash; without a hash it takes as long, and is False."""
    with _TURN:
        try:
            found = _HASHER.verify(kept or _nobodys(), plain(password)[: LONGEST + 1])
        except (VerificationError, InvalidHashError):
            return False
    return found and bool(kept)


def is_outdated(kept: str) -> bool:
    """Return whether a hash was made with weaker parameters than today's."""
    return _HASHER.check_needs_rehash(kept)


@cache
def _nobodys() -> str:
    """Return the hash that stands in for an account that isn't there."""
    return _HASHER.hash("the password of nobody at all")
