"""Values through a pipe: what a worker is told in whole, what it tells read back with care."""

from __future__ import annotations

import io
import pickle
from dataclasses import is_dataclass
from enum import Enum
from typing import Any, Final

from pydantic import BaseModel

__all__ = ["Strange", "packed", "unpacked"]

#: Whose values a worker may tell.
OURS: Final = "leastwise."
#: What such values are made of besides what a pickle says by itself.
PLAIN: Final = frozenset(
    {
        ("builtins", "frozenset"),
        ("builtins", "set"),
        ("builtins", "complex"),
        ("datetime", "date"),
        ("datetime", "datetime"),
        ("datetime", "timedelta"),
        ("datetime", "timezone"),
    }
)


class Strange(Exception):  # noqa: N818 - reads as what it is
    """A worker told something that is no value of ours."""


class _Values(pickle.Unpickler):
    """Makes values alone: dataclasses, records, words of a list; it calls no function.

    A worker reads what people send. Should one of them ever take it over, this keeps the service
    from doing what it says.
    """

    def find_class(self, module: str, name: str) -> Any:
        """Return a class of values.

        Raises:
            Strange: it is none.

        """
        if (module, name) in PLAIN:
            return super().find_class(module, name)
        found = super().find_class(module, name) if module.startswith(OURS) else None
        if isinstance(found, type) and _is_value(found):
            return found
        raise Strange(f"{module}.{name}")


def _is_value(kind: type) -> bool:
    return is_dataclass(kind) or issubclass(kind, (BaseModel, Enum, str, tuple))


def packed(value: object) -> bytes:
    """Return a value as bytes."""
    return pickle.dumps(value, pickle.HIGHEST_PROTOCOL)


def unpacked(told: bytes) -> Any:
    """Return what a worker told.

    Raises:
        Strange: it holds anything but values.

    """
    return _Values(io.BytesIO(told)).load()
