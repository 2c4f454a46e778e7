"""Pages that weigh: worked out in workers, the same as without them, within told limits."""

from __future__ import annotations

import re
import threading
import time
from collections.abc import Awaitable, Callable, Iterator
from concurrent.futures import ThreadPoolExecutor
from functools import partial
from pathlib import Path

import anyio
import pytest
from fastapi.testclient import TestClient
from starlette.requests import ClientDisconnect, Request
from starlette.types import Message

from leastwise.api.app import create_app
from leastwise.api.asking.desk import WorkFault, desk_of
from leastwise.api.asking.pieces import Piece
from leastwise.api.asking.weighty import Weighty, look
from leastwise.api.processes.carried import Strange, packed, unpacked
from leastwise.api.processes.pool import Ticket
from leastwise.api.settings import Settings
from leastwise.graph import Adviser
from leastwise.graph.ids import OptionId
from leastwise.graph.meanings import Verdict
from tests.doors.addresses import addresses, fixed
from tests.doors.conftest import World
from tests.doors.routes import routes_of

#: Documents that hold when they were written to the second, or are packed by it.
DATED = re.compile(r"\.(pdf|docx)(\?|$)")
TOKEN = re.compile(r'name="form_token" value="[^"]*"|name="form-token" content="[^"]*"')


@pytest.fixture(scope="module")
def beside(world: World, adviser: Adviser, cache: Path) -> Iterator[TestClient]:
    """A service with a worker over the store of the world."""
    yield from _beside(world, adviser, cache)


@pytest.fixture
def unasked(world: World, adviser: Adviser, tmp_path: Path) -> Iterator[TestClient]:
    """The same, of which nothing has been asked yet, so that nothing is kept."""
    yield from _beside(world, adviser, tmp_path)


def _beside(world: World, adviser: Adviser, cache: Path) -> Iterator[TestClient]:
    settings = Settings(cache=cache, workers=1, work_seconds=240)
    app = create_app(adviser, settings, world.store)
    headers = {"accept": "text/html"}
    with TestClient(app, base_url="http://127.0.0.1", headers=headers) as client:
        yield client
    desk_of(app).close()


def run_apart(ask: Callable[[], Awaitable[None]]) -> None:
    """Run in a thread of its own: a browser of another test may hold the loop of this one."""
    with ThreadPoolExecutor(1) as pool:
        pool.submit(anyio.run, ask).result()


def weighty(world: World) -> list[str]:
    """Return an address of every page that weighs."""
    paths = {
        route.path
        for route in routes_of(world.app.routes)
        if isinstance(route, Weighty) and "GET" in route.methods
    }
    known = addresses(world.app, fixed(world.full))
    return sorted({one.path: one.address for one in known if one.path in paths}.values())


@pytest.mark.slow
def test_a_page_from_a_worker_is_the_page_without_one(world: World, beside: TestClient) -> None:
    asked = weighty(world)
    differ = []
    for address in asked:
        here, there = world.client.get(address), beside.get(address)
        same = here.status_code == there.status_code == 200 and (
            bool(DATED.search(address)) or TOKEN.sub("", here.text) == TOKEN.sub("", there.text)
        )
        if not same:
            differ.append((address, here.status_code, there.status_code))

    assert len(asked) > 20
    assert differ == []


def test_what_a_page_may_not_take_is_told_on_a_page(world: World, unasked: TestClient) -> None:
    beside = unasked
    pool = desk_of(beside.app).pool  # type: ignore[arg-type]
    assert pool is not None
    case = world.full.id
    object.__setattr__(pool.limits, "seconds", 0.001)
    late = beside.get(f"/cases/{case}/options/shares")
    object.__setattr__(pool.limits, "seconds", 240.0)
    pool._running, before = pool.limits.workers, pool._running
    object.__setattr__(pool.limits, "waiting", 0)
    crowded = beside.get(f"/cases/{case}/proposal.pdf")
    quick = beside.get("/health"), beside.get("/")
    pool._running = before
    object.__setattr__(pool.limits, "waiting", 96)
    again = beside.get(f"/cases/{case}/options/shares")

    assert (late.status_code, crowded.status_code, again.status_code) == (504, 503, 200)
    assert "LEASTWISE_WORK_SECONDS" in late.text
    assert "<h1" in late.text
    assert int(crowded.headers["retry-after"]) > 0
    assert [one.status_code for one in quick] == [200, 200]


def test_a_fault_in_a_worker_is_told_as_ours(beside: TestClient) -> None:
    desk = desk_of(beside.app)  # type: ignore[arg-type]
    with pytest.raises(WorkFault, match="ZeroDivisionError"):
        desk.work(Piece(divmod, (1, 0)), "", Ticket())
    assert desk.work(Piece(divmod, (7, 2)), "", Ticket()) == (3, 1)  # it goes on


def test_a_worker_tells_values_alone() -> None:
    value = {"option": OptionId("crushed/steam"), "is": (Verdict.ACCEPTED, frozenset({1}))}

    assert unpacked(packed(value)) == value
    for trick in (partial(print, "run"), threading.Thread, Path("/"), print, re.compile("a")):
        with pytest.raises(Strange):
            unpacked(packed(trick))


def test_a_page_ends_with_its_client(world: World, adviser: Adviser, cache: Path) -> None:
    app = create_app(adviser, Settings(cache=cache, workers=1, work_seconds=240), world.store)
    pool = desk_of(app).pool
    assert pool is not None
    ended: list[float] = []

    async def ask() -> None:
        left = anyio.Event()

        async def receive() -> Message:
            await left.wait()
            return {"type": "http.disconnect"}

        async def send(message: Message) -> None:
            raise AssertionError("nobody is there to be answered")

        async def leave() -> None:
            while not (pool._all and pool._running):
                await anyio.sleep(0.01)
            left.set()

        path = f"/cases/{world.full.id}/proposal.pdf"
        scope = {
            "type": "http", "method": "GET", "path": path, "raw_path": path.encode(),
            "query_string": b"", "headers": [(b"host", b"127.0.0.1")], "scheme": "http",
            "http_version": "1.1", "server": ("127.0.0.1", 80), "client": ("127.0.0.1", 1),
            "root_path": "", "state": {},
        }  # fmt: skip
        async with anyio.create_task_group() as both:
            both.start_soon(leave)
            await app(scope, receive, send)
        ended.append(time.monotonic())

    run_apart(ask)
    assert ended
    assert pool._running == 0
    desk_of(app).close()


@pytest.mark.parametrize(("method", "goes_on"), [("POST", True), ("GET", False)])
def test_what_was_sent_is_kept_though_its_browser_is_closed(
    beside: TestClient, method: str, goes_on: bool
) -> None:
    done: list[str] = []
    gone = threading.Event()

    def page(request: Request) -> str:
        gone.wait(20)
        look(request)
        done.append("kept")
        return "kept"

    async def ask() -> None:
        async def receive() -> Message:
            gone.set()
            return {"type": "http.disconnect"}

        async def left() -> None:
            await anyio.sleep(0.2)
            gone.set()

        scope = {"type": "http", "app": beside.app, "method": method, "headers": [], "state": {}}
        route = Weighty("/page", page, methods=[method], include_in_schema=False)
        async with anyio.create_task_group() as both:
            both.start_soon(left)
            await route.endpoint(request=Request(scope, receive))

    if goes_on:
        run_apart(ask)
    else:
        with pytest.raises(BaseExceptionGroup) as raised:
            run_apart(ask)
        assert raised.group_contains(ClientDisconnect)
    assert done == ["kept"] * goes_on
