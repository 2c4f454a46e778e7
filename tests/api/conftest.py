"""Commands that run in this process share the adviser of the session, as shipped."""

from __future__ import annotations

import pytest


@pytest.fixture(autouse=True)
def _shared(loaded_once: None) -> None:
    """Commands in a process of their own load for themselves, and so it is tested that they do."""
