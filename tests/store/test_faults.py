"""A full disk, a read-only folder, a database that is gone: a sentence, and nothing is lost."""

from __future__ import annotations

import os
import subprocess
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

import pytest
from fastapi import FastAPI
from fastapi.testclient import TestClient
from sqlalchemy import event, text

from leastwise.api.app import create_app
from leastwise.api.http import problems
from leastwise.api.settings import Settings
from leastwise.api.store import (
    Store,
    StoreBusy,
    StoreError,
    StoreFull,
    StoreReadOnly,
    StoreUnreachable,
)
from leastwise.api.store.backup.verify import verify
from leastwise.graph import Adviser
from tests.store.conftest import body

Opener = Callable[..., Store]
LARGE = {"note": "x" * 40_000}


@contextmanager
def mounted(folder: Path, *options: str) -> Iterator[None]:
    """Mount something on a folder as root; elsewhere skip, and fail in CI."""
    folder.mkdir(exist_ok=True)
    made = subprocess.run(  # noqa: S603 - our own command
        ["mount", *options, str(folder)],  # noqa: S607
        check=False,
        capture_output=True,
        text=True,
    )
    if made.returncode:
        reason = f"nothing can be mounted here: {made.stderr.strip()}"
        if os.environ.get("CI") and os.getuid() == 0:
            pytest.fail(reason)
        pytest.skip(reason)
    try:
        yield
    finally:
        subprocess.run(["umount", "-l", str(folder)], check=True)  # noqa: S603, S607


def fill(store: Store) -> tuple[list[str], StoreFull]:
    """Write until there is no room left; return what was acknowledged and what was said then."""
    kept: list[str] = []
    for n in range(200):
        try:
            kept.append(store.create("case", body(f"{n}", **LARGE), who="me", what="begun").id)
        except StoreFull as full:
            return kept, full
    raise AssertionError("the disk never became full")


def test_a_disk_that_is_really_full_loses_nothing_and_is_told(
    tmp_path: Path, opened: Opener
) -> None:
    place = tmp_path / "small"
    with mounted(place, "-t", "tmpfs", "-o", "size=1m", "tmpfs"):
        store = opened(str(place / "a.sqlite"))
        kept, full = fill(store)
        assert "a.sqlite: the disk is full" in str(full)
        assert "Nothing that was kept before is lost" in str(full)
        assert "still in the form" in str(full)
        store.engine.dispose()

        subprocess.run(  # noqa: S603 - our own command
            ["mount", "-o", "remount,size=8m", str(place)],  # noqa: S607
            check=True,
        )
        again = opened(str(place / "a.sqlite"))
        found = verify(again)
        assert found.faults == ()
        assert found.events == len(kept) > 2
        assert {again.read(name).id for name in kept} == set(kept)
        again.create("case", body(**LARGE), who="me", what="begun")
        again.engine.dispose()


def test_a_store_that_may_not_grow_loses_nothing_and_is_told(
    tmp_path: Path, opened: Opener
) -> None:
    store = opened(str(tmp_path / "a.sqlite"))
    with store.reading() as session:
        pages = session.execute(text("PRAGMA page_count")).scalar_one()

    @event.listens_for(store.engine, "connect")
    def _limit(connection: Any, _: object) -> None:
        connection.execute(f"PRAGMA max_page_count={pages + 100}")

    store.engine.dispose()
    kept, _ = fill(store)
    store.engine.dispose()

    again = opened(str(tmp_path / "a.sqlite"))
    assert verify(again).faults == ()
    assert sorted(row.id for row in again.cases(limit=500)[0]) == sorted(kept)


def test_a_folder_that_became_read_only_is_told_and_reading_goes_on(
    tmp_path: Path, opened: Opener
) -> None:
    place = tmp_path / "store"
    place.mkdir()
    with mounted(place, "-t", "tmpfs", "-o", "size=8m", "tmpfs"):
        store = opened(str(place / "a.sqlite"))
        case = store.create("case", body(), who="me", what="begun").id
        # by a second mount, since root may write wherever only the mode forbids it; the files
        # that are open already keep the mount they were opened on
        read_only = tmp_path / "read-only"
        with mounted(read_only, "--bind", str(place)):
            subprocess.run(  # noqa: S603 - our own command
                ["mount", "-o", "remount,ro,bind", str(read_only)],  # noqa: S607
                check=True,
            )
            elsewhere = opened(str(read_only / "a.sqlite"))
            assert elsewhere.read(case).body == body()
            with pytest.raises(StoreReadOnly, match=r"a\.sqlite: the store or its folder can't be"):
                elsewhere.save(case, 1, body("x"), who="me", what="x")
            with pytest.raises(StoreReadOnly):
                Store.open(str(read_only / "new" / "b.sqlite"))
            elsewhere.engine.dispose()
            store.engine.dispose()  # takes the log with it, and a new one can't be begun
            with pytest.raises(StoreReadOnly):
                Store.open(str(read_only / "a.sqlite")).read(case)
        again = opened(str(place / "a.sqlite"))
        assert (again.read(case).version, verify(again).faults) == (1, ())
        again.engine.dispose()


def test_a_store_opened_for_reading_only_is_told(tmp_path: Path, opened: Opener) -> None:
    store = opened(str(tmp_path / "a.sqlite"))
    case = store.create("case", body(), who="me", what="begun").id

    @event.listens_for(store.engine, "connect")
    def _forbid(connection: Any, _: object) -> None:
        connection.execute("PRAGMA query_only=ON")

    store.engine.dispose()
    with pytest.raises(StoreReadOnly):
        store.save(case, 1, body("x"), who="me", what="x")
    assert store.read(case).version == 1


def test_waiting_for_others_too_long_is_told(tmp_path: Path, opened: Opener) -> None:
    store, other = opened(str(tmp_path / "a.sqlite")), opened(str(tmp_path / "a.sqlite"))

    @event.listens_for(other.engine, "connect")
    def _hurry(connection: Any, _: object) -> None:
        connection.execute("PRAGMA busy_timeout=50")

    other.engine.dispose()
    with store.session() as session:
        session.execute(text("SELECT 1"))  # from here on it has the right to write
        with pytest.raises(StoreBusy, match="others were writing for too long"):
            other.create("case", body(), who="me", what="begun")


def test_a_postgresql_that_may_only_be_read_is_told(postgres: Any, opened: Opener) -> None:
    url = postgres.database()
    store = opened(url)
    case = store.create("case", body(), who="me", what="begun").id
    postgres.sql(f"ALTER DATABASE {store.engine.url.database} SET default_transaction_read_only=on")
    store.engine.dispose()

    with pytest.raises(StoreReadOnly):
        store.save(case, 1, body("x"), who="me", what="x")
    assert store.read(case).version == 1


def test_a_postgresql_whose_connection_is_cut_is_told_and_then_found_again(
    postgres: Any, opened: Opener
) -> None:
    store = opened(postgres.database())

    def work() -> None:
        with store.session() as session:
            pid = session.execute(text("SELECT pg_backend_pid()")).scalar()
            postgres.sql(f"SELECT pg_terminate_backend({pid})")
            session.execute(text("SELECT 1"))

    with pytest.raises(StoreUnreachable, match="the store can't be reached"):
        work()

    assert store.cases() == ([], 0)


@pytest.mark.parametrize(
    ("error", "status", "title"),
    [
        (StoreFull("/data/a.sqlite"), 507, "The disk is full"),
        (StoreReadOnly("/data/a.sqlite"), 503, "The store can't be used just now"),
        (StoreBusy("/data/a.sqlite"), 503, "The store can't be used just now"),
    ],
)
def test_over_http_it_is_a_status_and_a_sentence(
    error: StoreError, status: int, title: str
) -> None:
    app = FastAPI()
    problems.install(app)

    @app.get("/")
    def _fail() -> None:
        raise error

    answer = TestClient(app).get("/", headers={"accept": "application/json"})

    assert answer.status_code == status
    assert answer.json()["title"] == title
    assert answer.json()["detail"] == str(error)


def test_in_a_browser_it_is_a_page_that_says_what_to_do(
    adviser: Adviser, tmp_path: Path, opened: Opener, monkeypatch: pytest.MonkeyPatch
) -> None:
    store = opened(str(tmp_path / "a.sqlite"))

    def cases(**_: object) -> None:
        raise StoreFull(store.place)

    monkeypatch.setattr(store, "cases", cases)
    client = TestClient(create_app(adviser, Settings(cache=None), store))

    answer = client.get("http://127.0.0.1/", headers={"accept": "text/html"})

    assert answer.status_code == 507
    assert "make room on the disk, go back and save again" in answer.text
