"""What a process may use, set from within: memory and, for one piece of work, time."""

from __future__ import annotations

import contextlib
import os
import signal
import sys

__all__ = ["limit_memory", "ring", "step_back"]

#: How far workers stand behind the service that talks to people, as ``nice`` counts.
BEHIND = 10


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


def step_back() -> None:
    """Let the service go first where both want the same processor."""
    if sys.platform != "win32":
        with contextlib.suppress(OSError):
            os.nice(BEHIND)
