"""Commands: accounts of those who share a store."""

from __future__ import annotations

import typer

__all__ = ["register"]


def register(app: typer.Typer) -> None:
    """Add the commands to *app*."""
