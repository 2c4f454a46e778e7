"""The version of the program, which stands once, in pyproject.toml."""

from __future__ import annotations

from functools import cache

__all__ = ["program_version"]


@cache
def program_version() -> str:
    """Return the version of the program as it is installed."""
    from importlib.metadata import version  # noqa: PLC0415 - only where it is asked for

    return version("leastwise")
