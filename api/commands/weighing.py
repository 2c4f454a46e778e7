"""Commands: weighing."""

from __future__ import annotations

import typer

__all__ = ["register"]


def register(app: typer.Typer) -> None:
    """Put the commands of this module on the command line."""
