"""One case with everything beside it, kept once for the tests that walk over all pages."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field
from typing import Any

import pytest
from fastapi.testclient import TestClient

from leastwise.api.settings import Settings
from leastwise.api.shelf import Shelf
from leastwise.api.store import Store
from leastwise.graph import Adviser
from tests.apps import Apps
from tests.doors.addresses import Address
from tests.doors.full_case import HOSTILE, FullCase, keep_full_case
from tests.pages.conftest import app, page, site, store

__all__ = ["World", "app", "page", "site", "store", "world"]


@dataclass(frozen=True)
class World:
    """The service on a personal machine: *full* with real words, *plain* and *hostile* twins.

    The twins differ in nothing but what a person typed. *seen* holds the page that an address
    gave when it was first asked for, None where it is no page; *no_page* the routes that gave a
    document, which the twins needn't write again to have it left aside.
    """

    app: Any
    store: Store
    client: TestClient
    full: FullCase
    plain: FullCase
    hostile: FullCase
    seen: dict[str, str | None] = field(default_factory=dict)
    no_page: set[str] = field(default_factory=set)

    def take_in(self, asked: Address, answer: Any) -> None:
        """Keep what an address answered."""
        kind = answer.headers.get("content-type", "")
        self.seen[asked.address] = answer.text if kind.startswith("text/html") else None
        if answer.status_code == 200 and not kind.startswith("text/html"):
            self.no_page.add(asked.path)


@pytest.fixture(scope="module")
def world(
    adviser: Adviser, apps: Apps, tmp_path_factory: pytest.TempPathFactory
) -> Iterator[World]:
    """Keep the three cases, each with all that can lie beside a case."""
    folder = tmp_path_factory.mktemp("world")
    store = Store.open(f"sqlite:///{folder / 'store.sqlite'}")
    app = apps.anew(Settings(cache=None), store)
    app.state.shelf = Shelf()  # a page that holds what was asked before is not the first one
    words = "The weft is weak at the fold; it is turned with a support under it."
    with TestClient(app, base_url="http://127.0.0.1", headers={"accept": "text/html"}) as client:

        def keep(text: str, *, in_record: bool = True) -> FullCase:
            return keep_full_case(client, store, adviser, text, in_record=in_record)

        full = keep(words, in_record=False)
        yield World(app, store, client, full, keep(words), keep(HOSTILE))
    store.engine.dispose()
