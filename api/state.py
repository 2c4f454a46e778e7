"""What the routes share: the adviser and the settings, put on the app at its making."""

from __future__ import annotations

from typing import cast

from fastapi import Request

from leastwise.api.settings import Settings
from leastwise.graph import Adviser

__all__ = ["adviser_of", "settings_of"]


def adviser_of(request: Request) -> Adviser:
    """Return the adviser that the app was made with."""
    return cast(Adviser, request.app.state.adviser)


def settings_of(request: Request) -> Settings:
    """Return the settings that the app was made with."""
    return cast(Settings, request.app.state.settings)
