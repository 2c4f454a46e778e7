"""GET /health: is the service up, and on which knowledge; GET /metrics: figures of its work."""

from __future__ import annotations

from fastapi import APIRouter, Request, Response

from leastwise.api.asking.desk import desk_of
from leastwise.api.http.state import adviser_of
from leastwise.api.identity.access import Access, Action

__all__ = ["ACCESS", "router"]

router = APIRouter(tags=["service"])
ACCESS: Access = {"GET /health": Action.OPEN, "GET /metrics": Action.ADMINISTER}
#: The text form of Prometheus.
FIGURES = "text/plain; version=0.0.4; charset=utf-8"


@router.get("/health", summary="Is the service up, and on which knowledge?")
async def health(request: Request) -> dict[str, str]:
    """Return the digests of knowledge and rules."""
    adviser = adviser_of(request)  # no thread is needed, so a crowd at other routes doesn't matter
    return {
        "status": "up",
        "knowledge": adviser.knowledge.digest,
        "rules": adviser.rules.digest,
    }


@router.get(
    "/metrics",
    summary="Figures of requests and work, for Prometheus",
    response_class=Response,
    responses={200: {"content": {"text/plain": {"schema": {"type": "string"}}}}},
)
def metrics(request: Request) -> Response:
    """Return counts by route since the start, and what waits and is kept at this moment.

    For administrators, or a token with the scope ADMINISTER. No name of a case or person is in it.
    """
    desk = desk_of(request.app)
    working, waiting = desk.pool.under_way if desk.pool is not None else (0, 0)
    now = {"working": working, "waiting": waiting, "kept_bytes": desk.kept.held}
    return Response(request.app.state.figures.text(now), media_type=FIGURES)
