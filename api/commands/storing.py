"""Commands: backup, restore, verify, export-all, import-all."""

from __future__ import annotations

import typer

__all__ = ["register"]


def register(app: typer.Typer) -> None:
    """Add the commands to *app*."""
