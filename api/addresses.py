"""What a host name or address means."""

from __future__ import annotations

import ipaddress

__all__ = ["is_loopback"]


def is_loopback(name: str) -> bool:
    """Return whether a host name or address means this machine only.

    >>> [is_loopback(name) for name in ("localhost", "127.0.0.9", "::1", "0.0.0.0", "a.example")]
    [True, True, True, False, False]
    """
    if name.casefold() == "localhost":
        return True
    try:
        return ipaddress.ip_address(name).is_loopback
    except ValueError:
        return False
