"""Work timed by the clock on the wall and by the processor, and the machine that it ran on."""

from __future__ import annotations

import os
import platform
import resource
import statistics
import subprocess
import time
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from importlib.metadata import version
from pathlib import Path

__all__ = ["Spent", "both", "machine", "measured", "of_command"]


@dataclass(frozen=True)
class Spent:
    """Seconds that runs of one work took, by the clock and of the processor, in their order."""

    wall: tuple[float, ...]
    processor: tuple[float, ...]

    def p50(self) -> tuple[float, float]:
        """Return the medians (wall, processor)."""
        return statistics.median(self.wall), statistics.median(self.processor)

    def p95(self) -> tuple[float, float] | None:
        """Return what 95 of a hundred runs stay below; None of fewer than twenty runs."""
        if len(self.wall) < 20:
            return None
        return share(self.wall, 0.95), share(self.processor, 0.95)

    def each(self, number: int) -> Spent:
        """Return the time of one of *number* equal pieces of the work."""
        return Spent(
            tuple(one / number for one in self.wall), tuple(one / number for one in self.processor)
        )


def share(values: Sequence[float], part: float) -> float:
    """Return the value that a part of all are not above (nearest rank).

    >>> share([4, 1, 3, 2], 0.5), share([4, 1, 3, 2], 0.95)
    (2, 4)
    """
    ordered = sorted(values)
    return ordered[max(0, -int(-part * len(ordered) // 1) - 1)]


def both(work: Callable[[], object]) -> tuple[float, float]:
    """Return the seconds (wall, processor of this process) of one run."""
    wall, processor = time.perf_counter(), time.process_time()
    work()
    return time.perf_counter() - wall, time.process_time() - processor


def measured(works: Sequence[Callable[[], object]]) -> Spent:
    """Return the times of works run one after another, each once."""
    times = [both(work) for work in works]
    return Spent(tuple(wall for wall, _ in times), tuple(own for _, own in times))


def of_command(command: Sequence[str], env: Mapping[str, str]) -> tuple[float, float]:
    """Return the seconds (wall, processor) of a command, with all that it starts."""
    before, wall = resource.getrusage(resource.RUSAGE_CHILDREN), time.perf_counter()
    subprocess.run(command, env=dict(env), check=True, capture_output=True)  # noqa: S603
    spent, after = time.perf_counter() - wall, resource.getrusage(resource.RUSAGE_CHILDREN)
    return spent, after.ru_utime + after.ru_stime - before.ru_utime - before.ru_stime


def machine() -> str:
    """Return in a line what the figures were measured on, with its load at this moment."""
    versions = ", ".join(f"{one} {version(one)}" for one in ("numpy", "shacl", "pyshacl"))
    return (
        f"{_processor()}, {os.cpu_count()} cores, {platform.system()}, "
        f"Python {platform.python_version()}, {versions}; load {os.getloadavg()[0]:.1f}; "
        f"a plain loop over a million squares {yardstick() * 1000:.0f} ms of the processor"
    )


def yardstick() -> float:
    """Return the processor seconds of a plain loop: on a busy machine these grow too."""
    return min(both(lambda: sum(i * i for i in range(10**6)))[1] for _ in range(5))


def _processor() -> str:
    told = Path("/proc/cpuinfo")
    lines = told.read_text("utf-8").splitlines() if told.exists() else []
    names = [line.partition(":")[2].strip() for line in lines if line.startswith("model name")]
    return names[0] if names else platform.machine()
