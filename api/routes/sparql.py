"""Route: sparql."""

from __future__ import annotations

from fastapi import APIRouter

from leastwise.api.access import Access

__all__ = ["ACCESS", "router"]

router = APIRouter(tags=["knowledge"])
ACCESS: Access = {}
