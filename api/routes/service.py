"""GET /health: whether the service is up, and on which knowledge."""

from __future__ import annotations

from fastapi import APIRouter, Request

from leastwise.api.http.state import adviser_of
from leastwise.api.identity.access import Access, Action

__all__ = ["ACCESS", "router"]

router = APIRouter(tags=["service"])
ACCESS: Access = {"GET /health": Action.OPEN}


@router.get("/health", summary="Is the service up, and on which knowledge?")
def health(request: Request) -> dict[str, str]:
    """Return the digests of knowledge and rules."""
    adviser = adviser_of(request)
    return {
        "status": "up",
        "knowledge": adviser.knowledge.digest,
        "rules": adviser.rules.digest,
    }
