"""Commands that run in this process share the adviser of the session, as shipped."""

from __future__ import annotations

from collections.abc import Iterable
from pathlib import Path

import pytest

from leastwise.graph import Adviser, load
from leastwise.graph.names import ENGLISH


@pytest.fixture(autouse=True)
def _loaded_once(adviser: Adviser, monkeypatch: pytest.MonkeyPatch) -> None:
    """Load what is shipped once, not for each command; a folder or a language of one's own anew.

    Commands in a process of their own load for themselves, and so it is tested that they do.
    """
    anew = load.load_adviser

    def loaded(
        folders: Iterable[Path] = (), *, cache: Path | None = None, language: str = ENGLISH
    ) -> Adviser:
        folders = tuple(folders)
        if not folders and language == ENGLISH:
            return adviser
        return anew(folders, cache=cache, language=language)

    monkeypatch.setattr(load, "load_adviser", loaded)
