"""What a process may use, set from within: memory and, for one piece of work, time."""

from __future__ import annotations

import signal
import sys

__all__ = ["limit_memory", "ring"]


def limit_memory(most: int) -> None:
    """Allow *most* bytes of address space from now on, and no core file."""
    if sys.platform != "win32":
        import resource  # noqa: PLC0415 - not on every system

        resource.setrlimit(resource.RLIMIT_AS, (most, most))
        resource.setrlimit(resource.RLIMIT_CORE, (0, 0))


def ring(seconds: float) -> None:
    """End this process after *seconds* unless it is asked again before; 0 ends the waiting.

    It is ended even if nobody is left outside to do so.
    """
    if sys.platform != "win32":  # nobody handles the signal, so it ends the process
        signal.setitimer(signal.ITIMER_REAL, seconds)
