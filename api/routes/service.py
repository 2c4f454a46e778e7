"""GET /health: whether the service is up, and on which knowledge."""

from __future__ import annotations

from fastapi import APIRouter, Request

from leastwise.api.http.state import adviser_of
from leastwise.api.identity.access import Access, Action

__all__ = ["ACCESS", "router"]

router = APIRouter(tags=["service"])
ACCESS: Access = {"GET /health": Action.OPEN}


@router.get("/health", summary="Is the service up, and on which knowledge?")
async def health(request: Request) -> dict[str, str]:
    """Return the digests of knowledge and rules."""
    adviser = adviser_of(request)  # no thread is needed, so a crowd at other routes doesn't matter
    return {
        "status": "up",
        "knowledge": adviser.knowledge.digest,
        "rules": adviser.rules.digest,
    }
