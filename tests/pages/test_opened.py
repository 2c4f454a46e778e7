"""A stored case is opened as it stands in the store, whatever was opened before."""

from dataclasses import replace
from datetime import UTC, datetime
from types import SimpleNamespace
from typing import Any

import pytest

from leastwise.api.pages import opened
from leastwise.api.shelf import Shelf
from leastwise.api.store import Document
from leastwise.graph import Adviser

THEN = datetime(2026, 12, 1, tzinfo=UTC)
BODY: dict[str, Any] = {
    "leastwise_case": 2, "id": "a", "title": "A", "object": {"name": "an object"},
    "parts": [{"id": "a", "name": "a", "fibre": "silk"}], "aim": {"purpose": "display"},
}  # fmt: skip


def test_a_version_that_a_restored_backup_writes_anew_is_read_anew(
    adviser: Adviser, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Both bodies are version 1: the second came from a backup, under a running server."""
    first = Document("a", "case", "a", "A", "", 1, BODY, THEN, THEN, "")
    there = {"document": first}
    store = SimpleNamespace(read=lambda *_: there["document"])
    monkeypatch.setattr(opened, "store_of", lambda _: store)
    monkeypatch.setattr(opened, "adviser_of", lambda _: adviser)
    shelf = Shelf()
    monkeypatch.setattr(opened, "shelf_of", lambda _: shelf)

    before = opened.open_document(None, "a")  # type: ignore[arg-type]
    there["document"] = replace(first, body=BODY | {"title": "Another"})
    after = opened.open_document(None, "a")  # type: ignore[arg-type]

    assert before.case is not None
    assert after.case is not None
    assert (before.case.title, after.case.title) == ("A", "Another")
    assert before.digest != after.digest
