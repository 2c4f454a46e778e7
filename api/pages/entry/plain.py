"""Data from a file made plain: only what JSON can hold, and text that every store can keep."""

from __future__ import annotations

import datetime as dt
import math
from typing import Any

from leastwise.api.pages.fields import clean

__all__ = ["plain_body"]


def plain_body(data: dict[Any, Any]) -> dict[str, Any]:
    """Return *data* with text for dates, for numbers that aren't finite, and for odd keys."""
    return {_key(key): _plain(value) for key, value in data.items()}


def _key(key: object) -> str:
    return clean(str(key))[:200]


def _plain(value: object) -> object:
    if isinstance(value, dict):
        return plain_body(value)
    if isinstance(value, list | tuple):
        return [_plain(one) for one in value]
    if isinstance(value, set | frozenset):
        return sorted(clean(str(one)) for one in value)
    return _leaf(value)


def _leaf(value: object) -> object:
    if value is None or isinstance(value, bool):
        return value
    if isinstance(value, int):
        return value if abs(value) < 2**53 else str(value)  # more no other reader of JSON can hold
    if isinstance(value, float) and math.isfinite(value):
        return value
    if isinstance(value, dt.datetime | dt.date):
        return value.isoformat()
    return clean(value.decode("utf-8", "replace") if isinstance(value, bytes) else str(value))
