"""A shared store with a clock that the tests set on, and the service over it."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

from leastwise.api.app import create_app
from leastwise.api.settings import Settings
from leastwise.api.store import Store
from leastwise.graph import Adviser
from tests.accounts.people import Clock


@pytest.fixture
def clock() -> Clock:
    return Clock()


@pytest.fixture
def store(tmp_path: Path, clock: Clock) -> Iterator[Store]:
    made = Store.open(f"sqlite:///{tmp_path / 'store.sqlite'}", clock)
    yield made
    made.engine.dispose()


@pytest.fixture
def app(adviser: Adviser, store: Store) -> Any:
    return create_app(adviser, Settings(cache=None, shared=True), store)
