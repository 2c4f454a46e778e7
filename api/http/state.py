"""What the routes share: adviser, settings, store and shelf, put on the app at its making."""

from __future__ import annotations

import threading
from collections.abc import Callable
from typing import TYPE_CHECKING, Protocol, TypeVar, cast

from fastapi import FastAPI, Request

from leastwise.api.settings import Settings
from leastwise.graph import Adviser

if TYPE_CHECKING:
    from leastwise.api.shelf import Shelf
    from leastwise.api.store import Store

__all__ = ["adviser_of", "made_once", "printed_of", "settings_of", "shelf_of", "store_of"]


class _Made(Protocol):
    """What is made for one adviser and ends processes when it is closed."""

    @property
    def adviser(self) -> Adviser:
        """Return the adviser that it was made for."""

    def close(self) -> None:
        """End what it has begun."""


T = TypeVar("T", bound=_Made)
_making = threading.Lock()


def made_once(app: FastAPI, name: str, make: Callable[[Adviser, Settings], T]) -> T:
    """Return what stands under *name* on an app, made when it is first asked for.

    Where the knowledge was exchanged since, it is closed and made anew.
    """
    with _making:
        known: T | None = getattr(app.state, name, None)
        adviser = cast(Adviser, app.state.adviser)
        if known is None or known.adviser is not adviser:
            if known is not None:
                known.close()
            known = make(adviser, app.state.settings)
            setattr(app.state, name, known)
        return known


def adviser_of(request: Request) -> Adviser:
    """Return the adviser that the app was made with."""
    return cast(Adviser, request.app.state.adviser)


def settings_of(request: Request) -> Settings:
    """Return the settings that the app was made with."""
    return cast(Settings, request.app.state.settings)


def store_of(request: Request) -> Store:
    """Return the store that the app was made with."""
    return cast("Store", request.app.state.store)


def shelf_of(request: Request) -> Shelf:
    """Return the shelf of answers already made."""
    return cast("Shelf", request.app.state.shelf)


def printed_of(request: Request) -> Shelf:
    """Return the shelf of documents already printed."""
    return cast("Shelf", request.app.state.printed)
