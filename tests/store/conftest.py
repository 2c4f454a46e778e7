"""Stores on SQLite and on PostgreSQL: a test that takes *store* or *url* runs on both."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest

from leastwise.api.store import Store
from tests.apps import EmptyStore
from tests.store.postgres import Server


@pytest.fixture(scope="session")
def postgres() -> Iterator[Server]:
    server = Server()
    yield server
    server.close()


@pytest.fixture(params=["sqlite", "postgresql"])
def url(request: pytest.FixtureRequest, tmp_path: Path, empty_store: EmptyStore) -> str:
    """Return the URL of a store: empty for a test that takes *store*, else not made yet."""
    is_made = "store" in request.fixturenames
    if request.param == "sqlite":
        path = tmp_path / "store" / "records.sqlite"
        return empty_store.copied_to(path) if is_made else f"sqlite:///{path}"
    server: Server = request.getfixturevalue("postgres")
    return server.empty_store() if is_made else server.database()


@pytest.fixture
def another(request: pytest.FixtureRequest, url: str, tmp_path: Path) -> Callable[[], str]:
    """Return a maker of further empty places on the same kind of database."""
    numbers = iter(range(100))

    def make() -> str:
        if url.startswith("sqlite"):
            return f"sqlite:///{tmp_path / f'other-{next(numbers)}.sqlite'}"
        server: Server = request.getfixturevalue("postgres")
        return server.database()

    return make


@pytest.fixture
def opened() -> Iterator[Callable[..., Store]]:
    """Return an opener whose stores are closed when the test is over."""
    stores: list[Store] = []

    def make(url: str, **options: Any) -> Store:
        stores.append(Store.open(url, **options))
        return stores[-1]

    yield make
    for store in stores:
        store.engine.dispose()


@pytest.fixture
def store(url: str, opened: Callable[..., Store]) -> Store:
    return opened(url)


def body(name: str = "collar", **more: Any) -> dict[str, Any]:
    """Return a small draft of a case."""
    return {
        "leastwise_case": 2,
        "demo": True,
        "object": {"name": name, "keeper": "Guild hall (invented)", "identifier": "demo 1"},
        "aim": {"purpose": "display", "also": ["study"]},
        **more,
    }


def filled(store: Store) -> str:
    """Put into a store one of everything that it holds, and return the case's id."""
    case = store.create("case", body(), who="ann", what="begun", title="A collar").id
    store.save(case, 1, body("collar of lace"), who="ben", what="object named better")
    words = store.create("words", {"aim": "Überall «so»"}, who="ann", what="words", case=case)
    store.save(words.id, 1, {"aim": "anew\u2028"}, who="ann", what="words changed")
    store.share(case, "cleo", "read", who="ann")
    store.share(case, "dan", "write", who="ann")
    store.share(case, "cleo", "", who="ann")
    shot = {"media_type": "image/png", "size": (1, 1), "who": "ann"}
    store.add_picture(case, b"first file", name="front.png", **shot)  # type: ignore[arg-type]
    gone = store.add_picture(case, b"second file", name="back.png", **shot)  # type: ignore[arg-type]
    store.remove_picture(case, gone.id, who="ann")
    lost = store.create("case", body("gone"), who="ann", what="begun", title="Gone").id
    store.remove(lost, who="ann")
    store.create("cohort", {"name": "2026"}, who="tutor", what="begun")
    return case
