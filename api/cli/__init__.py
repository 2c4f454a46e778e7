"""The command line: each command reads, calls, prints."""

from __future__ import annotations

__all__ = ["main"]


def main() -> None:
    """Run the command line."""
    from leastwise.api.cli.app import app  # noqa: PLC0415 - the package itself costs nothing

    app()
