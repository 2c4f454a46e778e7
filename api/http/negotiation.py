"""Which media type a client wants, by its Accept header (RFC 9110, section 12.5.1)."""

from __future__ import annotations

from collections.abc import Sequence

__all__ = ["preferred"]


def preferred(accept: str, offered: Sequence[str]) -> str | None:
    """Return the media type of *offered* that the client likes best, or None if it takes none.

    Of equals the one offered first counts. An empty header takes anything.

    >>> preferred("text/turtle;q=0.5, application/ld+json", ["text/turtle", "application/ld+json"])
    'application/ld+json'
    """
    ranges = [_read(one) for one in accept.split(",") if one.strip()] or [("*/*", 1.0)]
    liked = [(_liking(media, ranges), media) for media in offered]
    most = max(like for like, _ in liked)
    return next((media for like, media in liked if like == most), None) if most > 0 else None


def _liking(media: str, ranges: Sequence[tuple[str, float]]) -> float:
    """Return the weight of the most specific range that the media type falls into."""
    for wanted in (media, media.partition("/")[0] + "/*", "*/*"):
        weights = [weight for name, weight in ranges if name == wanted]
        if weights:
            return max(weights)
    return 0.0


def _read(one: str) -> tuple[str, float]:
    name, *parameters = (piece.strip().lower() for piece in one.split(";"))
    for parameter in parameters:
        if parameter.startswith("q="):
            try:
                return name, min(max(float(parameter[2:]), 0.0), 1.0)
            except ValueError:  # a weight that isn't one doesn't count
                return name, 1.0
    return name, 1.0
