"""A service of our own for a bench: on loopback, over an empty store, ended afterwards."""

from __future__ import annotations

import json
import os
import socket
import subprocess
import sys
import time
import urllib.request
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Any

import yaml

from leastwise.graph.case.demo import demo_path

__all__ = ["invented", "percentile", "served"]

UP_S = 120.0


def invented() -> dict[str, Any]:
    """Return an invented case as JSON data; its days are texts there."""
    record = yaml.safe_load(demo_path("festival-dancer").read_text("utf-8"))
    data: dict[str, Any] = json.loads(json.dumps(record, default=str))
    return data


@contextmanager
def served(workers: int = 2) -> Iterator[str]:
    """Serve until the bench is done; give the address, which is always of this machine."""
    with socket.socket() as free:
        free.bind(("127.0.0.1", 0))
        port = free.getsockname()[1]
    address = f"http://127.0.0.1:{port}"
    with TemporaryDirectory(prefix="leastwise-bench-") as folder:
        command = [sys.executable, "-m", "leastwise.api", "serve", "--port", str(port),
                   "--workers", str(workers)]  # fmt: skip
        place = {"LEASTWISE_STORE": str(Path(folder) / "bench.sqlite")}
        service = subprocess.Popen(command, env=os.environ | place, stderr=subprocess.DEVNULL)  # noqa: S603
        try:
            _wait(address, service)
            yield address
        finally:
            service.terminate()
            service.wait(20)


def _wait(address: str, service: subprocess.Popen[bytes]) -> None:
    end = time.monotonic() + UP_S
    while time.monotonic() < end and service.poll() is None:
        try:
            with urllib.request.urlopen(f"{address}/health", timeout=5):  # noqa: S310 - our own
                return
        except OSError:
            time.sleep(0.2)
    raise SystemExit("The service did not come up.")


def percentile(found: list[float], share: float) -> float:
    """Return the value that *share* of those found don't exceed."""
    ordered = sorted(found)
    return ordered[min(len(ordered) - 1, int(share * len(ordered)))]
