"""The command line: each command reads, calls, prints."""

from __future__ import annotations

import gc

__all__ = ["main"]

#: So many new values are looked through at once for circles that nothing refers to.
MOST_YOUNG = 400_000


def main() -> None:
    """Run the command line."""
    # loading makes a hundred thousand values that stay to the end; looking through them again and
    # again for circles took a quarter of a short command
    gc.set_threshold(MOST_YOUNG, 20, 50)
    from leastwise.api.cli.app import app  # noqa: PLC0415 - the package itself costs nothing

    app()
