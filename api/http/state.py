"""What the routes share: adviser, settings, store and shelf, put on the app at its making."""

from __future__ import annotations

from typing import TYPE_CHECKING, cast

from fastapi import Request

from leastwise.api.settings import Settings
from leastwise.graph import Adviser

if TYPE_CHECKING:
    from leastwise.api.shelf import Shelf
    from leastwise.api.store import Store

__all__ = ["adviser_of", "settings_of", "shelf_of", "store_of"]


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
