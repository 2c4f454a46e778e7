"""Apps and stores that a test gets as new, of parts that would come out the same each time."""

from __future__ import annotations

import shutil
from collections.abc import Callable, Hashable
from pathlib import Path
from typing import Any

from fastapi import FastAPI
from starlette.datastructures import State

from leastwise.api.app import create_app
from leastwise.api.pages.behind import Behind
from leastwise.api.pages.knowledge.library import Library
from leastwise.api.settings import Settings
from leastwise.api.shelf import Shelf
from leastwise.api.store import Store
from leastwise.graph import Adviser

#: So many results stay at hand, of all cases that the tests of a session ask about.
MOST = 120


class SharedShelf(Shelf):
    """The shelf of one app, on which what comes of a case alone lies for all apps of a session.

    Its key says so: what it is, the digests of case, knowledge and rules, and the policy. So does
    what comes of the knowledge alone. All else (a document by its id, what people have said)
    belongs to one store and stays with it.
    """

    def __init__(self, adviser: Adviser, of_cases: Shelf) -> None:
        super().__init__()
        self._read = (adviser.knowledge.digest, adviser.rules.digest)
        self._of_cases = of_cases

    def _is_shared(self, key: Hashable) -> bool:
        return isinstance(key, tuple) and (key[3:] == self._read or key[0] == "dump")

    def peek(self, key: Hashable) -> Any:
        return self._of_cases.peek(key) if self._is_shared(key) else super().peek(key)

    def get(self, key: Hashable, make: Callable[[], Any], *look: Callable[[], None]) -> Any:
        return (self._of_cases if self._is_shared(key) else super()).get(key, make, *look)


class Apps:
    """One app for each kind of settings; its routes are read once, its state is new each time."""

    def __init__(self, adviser: Adviser) -> None:
        self._adviser, self._library = adviser, Library(adviser)
        self._made: dict[Settings, tuple[FastAPI, dict[str, object]]] = {}
        self._of_cases = Shelf(MOST)

    def _shared(self) -> dict[str, object]:
        """Return what comes out the same for every app, by its name in the state of one."""
        return {
            "shelf": SharedShelf(self._adviser, self._of_cases),
            "library": self._library,  # it only says what the knowledge says
        }

    def anew(self, settings: Settings, store: Store | None = None) -> FastAPI:
        """Return an app that nobody else has."""
        app = create_app(self._adviser, settings, store)
        app.state = State({name: app.state[name] for name in app.state} | self._shared())
        return app

    def over(self, store: Store, settings: Settings) -> FastAPI:
        """Return the app over *store*, as ``create_app`` leaves it: nobody is at work.

        There is one at a time of the same settings.
        """
        known = self._made.get(settings)
        if known is None:
            app = create_app(self._adviser, settings, store)
            known = self._made[settings] = app, {name: app.state[name] for name in app.state}
        app, state = known
        app.state = State(
            state | self._shared() | {"store": store, "printed": Shelf(), "behind": Behind()}
        )
        return app


class EmptyStore:
    """A file of SQLite in the newest form with nothing in it, made once and copied."""

    def __init__(self, folder: Path) -> None:
        self._file = folder / "empty.sqlite"
        Store.open(f"sqlite:///{self._file}").engine.dispose()

    def copied_to(self, path: Path) -> str:
        """Return the URL of a copy."""
        path.parent.mkdir(mode=0o700, parents=True, exist_ok=True)
        shutil.copy(self._file, path)
        return f"sqlite:///{path}"
