"""The shelf of answers already made."""

from __future__ import annotations

import threading
from collections.abc import Hashable
from typing import Any

import pytest

from leastwise.api.shelf import Shelf


def test_a_value_is_made_once_and_the_oldest_is_let_go() -> None:
    shelf, made = Shelf(most=2), []

    for key in ("a", "b", "a", "c", "b"):
        shelf.get(key, lambda key=key: made.append(key) or key)  # type: ignore[misc]

    assert made == ["a", "b", "c", "b"]
    assert shelf.peek("a") is None
    assert shelf.peek("b") == "b"


def test_a_value_is_on_the_shelf_before_the_lock_of_its_key_is_dropped() -> None:
    shelf = Shelf()
    there: list[bool] = []

    class Locks(dict[Hashable, Any]):
        def pop(self, key: Hashable, *default: Any) -> Any:
            there.append(key in shelf._held)
            return super().pop(key, *default)

    shelf._making = Locks()
    shelf.get("answer", lambda: 1)

    assert there == [True]
    assert shelf._making == {}


def test_who_asks_while_it_is_made_gets_what_is_made() -> None:
    shelf, begun, go, made = Shelf(), threading.Event(), threading.Event(), []

    def make() -> object:
        begun.set()
        go.wait(10)
        made.append(object())
        return made[-1]

    got: list[object] = []
    threads = [threading.Thread(target=lambda: got.append(shelf.get(1, make))) for _ in range(4)]
    for thread in threads:
        thread.start()
    begun.wait(10)
    go.set()
    for thread in threads:
        thread.join(10)

    assert len(made) == 1
    assert got == made * 4


def test_what_could_not_be_made_is_tried_again() -> None:
    shelf = Shelf()

    def fail() -> int:
        raise ValueError("no")

    with pytest.raises(ValueError, match="no"):
        shelf.get(1, fail)

    assert shelf.get(1, lambda: 7) == 7
    assert shelf._making == {}
