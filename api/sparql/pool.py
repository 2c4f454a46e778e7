"""The processes that run queries: what they load, and what a query may use."""

from __future__ import annotations

import sys
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any, Final

from leastwise.api.processes.pool import Limits

__all__ = ["COMMAND", "QueryLimits", "Setup"]

COMMAND: Final = (sys.executable, "-P", "-m", "leastwise.api.sparql.worker")


@dataclass(frozen=True, slots=True)
class QueryLimits(Limits):
    """What a query may use.

    Attributes:
        rows: rows or triples of one result.
        size: bytes of one result.

    """

    rows: int = 10_000
    size: int = 10 * 1024**2


@dataclass(frozen=True, slots=True)
class Setup:
    """What a worker loads: graph -> Turtle files, the prefixes, and where names are published."""

    graphs: Mapping[str, Sequence[Path]]
    prefixes: Mapping[str, str]
    base: str
    shipped_base: str
    vocabulary: str

    def frame(self, limits: Limits) -> dict[str, Any]:
        """Return the first frame for a worker."""
        return {
            "graphs": {
                graph: [str(path) for path in files] for graph, files in self.graphs.items()
            },
            "prefixes": dict(self.prefixes),
            "base": self.base,
            "shipped_base": self.shipped_base,
            "vocabulary": self.vocabulary,
            "memory": limits.memory,
            "seconds": limits.seconds,
        }
