"""The pages over a store of their own: a client in the process, and a real browser."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest
from fastapi.testclient import TestClient

from leastwise.api.settings import Settings
from leastwise.api.shelf import Shelf
from leastwise.api.store import Document, Store
from leastwise.graph import Adviser
from leastwise.graph.case.demo import read_demo
from tests.apps import Apps, EmptyStore
from tests.browser import served


@pytest.fixture
def store(tmp_path: Path, empty_store: EmptyStore) -> Iterator[Store]:
    made = Store.open(empty_store.copied_to(tmp_path / "store.sqlite"))
    yield made
    made.engine.dispose()


@pytest.fixture
def app(apps: Apps, store: Store) -> Any:
    return apps.over(store, Settings(cache=None))


@pytest.fixture
def empty_shelf(app: Any) -> None:
    """Let nothing be worked out yet, for a test that looks at how it comes onto the shelf."""
    app.state.shelf = Shelf()


@pytest.fixture
def client(app: Any) -> Iterator[TestClient]:
    """A browser without scripts: it asks for pages and keeps cookies."""
    with TestClient(app, base_url="http://127.0.0.1", headers={"accept": "text/html"}) as one:
        yield one


@pytest.fixture
def keep(store: Store, adviser: Adviser) -> Callable[..., Document]:
    """Return a keeper of cases: a demo by name, or a record given as JSON data."""

    def put(case: str | dict[str, Any] = "festival-dancer") -> Document:
        body = (
            read_demo(case, adviser.knowledge).model_dump(mode="json")
            if isinstance(case, str)
            else case
        )
        return store.create("case", body, who="me", what="begun", title=body["title"])

    return put


def form_token(client: TestClient, path: str = "/") -> str:
    """Return the token that forms have to carry, as a page hands it out."""
    client.get(path)
    return client.cookies["leastwise_form"]


@pytest.fixture
def site(app: Any) -> Iterator[str]:
    with served(app) as address:
        yield address


@pytest.fixture
def page(browser: Any, site: str) -> Iterator[Any]:
    """A page of a real Chromium, 1280 wide, that fails the test on any error of a script."""
    context = browser.new_context(base_url=site, viewport={"width": 1280, "height": 900})
    one = context.new_page()
    faults: list[str] = []
    one.on("pageerror", lambda error: faults.append(str(error)))
    one.on(
        "console",
        lambda said: (
            faults.append(said.text)
            if said.type == "error" and "Failed to load resource" not in said.text  # a status
            else None
        ),
    )
    yield one
    context.close()
    assert not faults, faults
