"""A shared store with a clock that the tests set on, and the service over it."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

from leastwise.api.settings import Settings
from leastwise.api.store import Store
from tests.accounts.people import Clock
from tests.apps import Apps, EmptyStore


@pytest.fixture
def clock() -> Clock:
    return Clock()


@pytest.fixture
def store(tmp_path: Path, empty_store: EmptyStore, clock: Clock) -> Iterator[Store]:
    made = Store.open(empty_store.copied_to(tmp_path / "store.sqlite"), clock)
    yield made
    made.engine.dispose()


@pytest.fixture
def app(apps: Apps, store: Store) -> Any:
    return apps.over(store, Settings(cache=None, shared=True))
