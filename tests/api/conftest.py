"""Commands that run in this process share the adviser of the session, as shipped."""

from __future__ import annotations

from collections.abc import Iterator

import pytest
from fastapi.testclient import TestClient

from leastwise.api.app import create_app
from leastwise.api.settings import Settings
from leastwise.graph import Adviser


@pytest.fixture(autouse=True)
def _shared(loaded_once: None) -> None:
    """Commands in a process of their own load for themselves, and so it is tested that they do."""


@pytest.fixture(scope="module")
def client(adviser: Adviser) -> Iterator[TestClient]:
    """Return the service over what is shipped, on this machine only."""
    app = create_app(adviser, Settings(cache=None))
    with TestClient(app, base_url="http://127.0.0.1") as client:
        yield client
