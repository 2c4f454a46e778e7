"""What nobody foresaw is answered as a problem with a number; a body that never comes ends."""

from __future__ import annotations

import logging
from concurrent.futures import ThreadPoolExecutor
from typing import Any

import anyio
import pytest
from fastapi import FastAPI, Request
from fastapi.testclient import TestClient
from starlette.requests import ClientDisconnect

from leastwise.api.app import create_app
from leastwise.api.http import problems
from leastwise.api.http.limits import BodyLimit
from leastwise.api.http.security import SecurityHeaders
from leastwise.api.http.unexpected import Unexpected
from leastwise.api.settings import Settings
from leastwise.graph import Adviser


@pytest.fixture
def broken() -> TestClient:
    app = FastAPI()
    app.add_middleware(Unexpected)
    app.add_middleware(SecurityHeaders)
    problems.install(app)

    @app.get("/broken")
    def _broken() -> None:
        raise ZeroDivisionError("the secret of the house")

    @app.get("/left")
    def _left() -> None:
        raise ClientDisconnect

    return TestClient(app)


def test_an_error_that_nobody_foresaw_is_a_problem_with_headers_and_a_number(
    broken: TestClient, caplog: pytest.LogCaptureFixture
) -> None:
    with caplog.at_level(logging.ERROR):
        answer = broken.get("/broken")

    assert answer.status_code == 500
    assert answer.headers["content-type"] == "application/problem+json"
    assert answer.headers["x-content-type-options"] == "nosniff"
    assert "default-src 'none'" in answer.headers["content-security-policy"]
    assert "secret" not in answer.text
    (record,) = caplog.records
    number = answer.json()["detail"].rsplit(" ", 1)[1].rstrip(".")
    assert number in record.getMessage()
    assert record.exc_info is not None
    assert record.exc_info[0] is ZeroDivisionError


def test_the_service_answers_so_too(adviser: Adviser) -> None:
    app = create_app(adviser, Settings(cache=None))
    kept = [one.cls for one in app.user_middleware]

    assert kept.index(SecurityHeaders) < kept.index(Unexpected) < kept.index(BodyLimit)  # type: ignore[arg-type]


def test_a_client_that_left_leaves_nothing_in_the_log(
    broken: TestClient, caplog: pytest.LogCaptureFixture
) -> None:
    with caplog.at_level(logging.ERROR), pytest.raises(AssertionError):  # there is no answer
        broken.get("/left")

    assert not caplog.records


def _sent(patience: float, *pieces: dict[str, Any]) -> list[dict[str, Any]]:
    """Return what a service says to a client that sends these pieces and then nothing more."""
    said: list[dict[str, Any]] = []

    async def reads(scope: Any, receive: Any, send: Any) -> None:
        body = await Request(scope, receive).body()
        await send({"type": "http.response.start", "status": 200, "headers": []})
        await send({"type": "http.response.body", "body": body})

    async def run() -> None:
        coming = iter(pieces)

        async def receive() -> dict[str, Any]:
            piece = next(coming, None)
            if piece is None:
                await anyio.sleep_forever()
            return {"type": "http.request"} | (piece or {})

        async def send(message: dict[str, Any]) -> None:
            said.append(message)

        scope = {"type": "http", "method": "POST", "path": "/options", "headers": []}
        await BodyLimit(reads, most=100, patience=patience)(scope, receive, send)  # type: ignore[arg-type]

    with ThreadPoolExecutor(1) as apart:  # in ours a browser's loop may be running
        apart.submit(anyio.run, run).result()
    return said


def test_a_body_that_never_comes_is_given_up() -> None:
    start, *_ = _sent(0.02, {"body": b"leastwise_case: ", "more_body": True})

    assert start["status"] == 408
    assert (b"connection", b"close") in start["headers"]


def test_a_body_that_comes_slowly_is_read() -> None:
    start, content = _sent(5, {"body": b"a", "more_body": True}, {"body": b"b"})

    assert (start["status"], content["body"]) == (200, b"ab")
