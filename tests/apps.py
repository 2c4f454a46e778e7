"""Apps and stores that a test gets as new, of parts that would come out the same each time."""

from __future__ import annotations

import shutil
from pathlib import Path

from fastapi import FastAPI
from starlette.datastructures import State

from leastwise.api.app import create_app
from leastwise.api.pages.behind import Behind
from leastwise.api.pages.knowledge.library import Library
from leastwise.api.settings import Settings
from leastwise.api.shelf import Shelf
from leastwise.api.store import Store
from leastwise.graph import Adviser


class Apps:
    """One app for each kind of settings; its routes are read once, its state is new each time."""

    def __init__(self, adviser: Adviser) -> None:
        self._adviser, self._library = adviser, Library(adviser)
        self._made: dict[Settings, tuple[FastAPI, dict[str, object]]] = {}

    def over(self, store: Store, settings: Settings) -> FastAPI:
        """Return the app over *store*, as ``create_app`` leaves it: nothing kept, nobody at work.

        There is one at a time of the same settings.
        """
        known = self._made.get(settings)
        if known is None:
            app = create_app(self._adviser, settings, store)
            known = self._made[settings] = app, {name: app.state[name] for name in app.state}
        app, state = known
        app.state = State(
            state
            | {
                "store": store,
                "shelf": Shelf(),
                "printed": Shelf(),
                "library": self._library,  # it only says what the knowledge says
                "behind": Behind(),
            }
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
