"""Lines of text at the width of the terminal; a pipe or a file gets them unbroken."""

from __future__ import annotations

import os
import shutil
import sys
import textwrap

import typer

__all__ = ["broken", "say"]

HANG = 2  # columns that a line goes on behind its own beginning


def say(text: str = "") -> None:
    """Print lines of text, each broken between words where the terminal ends."""
    width = _width()
    for line in text.split("\n"):
        for row in broken(line, width):
            typer.echo(row)


def broken(line: str, width: int | None) -> list[str]:
    """Return a line as rows of at most *width* columns; whole without one.

    >>> broken("  - a test on silk", 12)
    ['  - a test', '    on silk']
    """
    if width is None or len(line) <= width:
        return [line]
    own = line[: len(line) - len(line.lstrip())]
    return textwrap.wrap(line, width, subsequent_indent=own + " " * HANG, break_on_hyphens=False)


def _width() -> int | None:
    """Return the columns of the terminal, or of ``COLUMNS``; None where neither is there."""
    if not sys.stdout.isatty() and not os.environ.get("COLUMNS", "").isdigit():
        return None
    return shutil.get_terminal_size().columns
