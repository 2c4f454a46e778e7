"""Pages: proposal."""

from __future__ import annotations

from fastapi import APIRouter

from leastwise.api.access import Access

__all__ = ["ACCESS", "router"]

router = APIRouter(tags=["pages"], include_in_schema=False)
ACCESS: Access = {}
