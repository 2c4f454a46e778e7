"""The real server in a process of its own."""

from __future__ import annotations

import json
import re
import socket
import subprocess
import sys
import time
import urllib.error
import urllib.request
from collections.abc import Iterator

import pytest

from leastwise.graph.case.demo import demo_path


@pytest.fixture(scope="module")
def address() -> Iterator[str]:
    with socket.socket() as free:
        free.bind(("127.0.0.1", 0))
        port = free.getsockname()[1]
    command = [
        sys.executable,
        "-c",
        "from leastwise.api.cli import main; main()",
        "serve",
        "--port",
        str(port),
    ]
    server = subprocess.Popen(command, stderr=subprocess.PIPE, text=True)  # noqa: S603 - our own command
    url = f"http://127.0.0.1:{port}"
    try:
        _wait(url, server)
        yield url
    finally:
        server.terminate()
        server.communicate(timeout=20)


def _wait(url: str, server: subprocess.Popen[str]) -> None:
    for _ in range(150):
        assert server.poll() is None, server.communicate()[1]
        try:
            urllib.request.urlopen(f"{url}/health", timeout=1)  # noqa: S310 - loopback
        except (urllib.error.URLError, OSError):
            time.sleep(0.2)
        else:
            return
    raise AssertionError("the server did not come up")


def post(url: str, body: bytes, kind: str) -> dict[str, object]:
    request = urllib.request.Request(f"{url}/options", body, {"content-type": kind})  # noqa: S310
    with urllib.request.urlopen(request, timeout=30) as response:  # noqa: S310 - loopback
        return json.loads(response.read())  # type: ignore[no-any-return]


def test_a_case_is_answered_over_a_real_connection(address: str) -> None:
    answer = post(address, demo_path("festival-dancer").read_bytes(), "application/yaml")

    assert answer["case"]["demo"]  # type: ignore[index]
    assert re.fullmatch("[0-9a-f]{16}", answer["stamp"]["knowledge"])  # type: ignore[index]


def test_the_documentation_page_is_there(address: str) -> None:
    with urllib.request.urlopen(f"{address}/openapi.json", timeout=10) as response:  # noqa: S310
        assert "/options" in json.loads(response.read())["paths"]
