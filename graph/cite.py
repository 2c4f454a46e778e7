"""Cited claims and the sources that they come from, as an answer carries them."""

from __future__ import annotations

from collections.abc import Iterable

from leastwise.graph.answer import ClaimView, SourceView
from leastwise.graph.knowledge import Knowledge

__all__ = ["cite"]


def cite(k: Knowledge, claims: Iterable[str]) -> tuple[dict[str, ClaimView], dict[str, SourceView]]:
    """Return claims that are cited, and the sources that they come from, by name."""
    cited, sources = {}, {}
    for claim in sorted(set(claims)):
        source = k.object(claim, "dcterms:source") or ""
        cited[claim] = ClaimView(
            k.text(claim, "lw:statement"),
            (k.object(claim, "lw:basis") or "").removeprefix("lw:"),
            (k.object(claim, "lw:confidence") or "").removeprefix("lw:"),
            source,
        )
        if source:
            sources[source] = SourceView(
                k.text(source, "dcterms:bibliographicCitation"),
                k.object(source, "rdfs:seeAlso") or "",
            )
    return cited, sources
