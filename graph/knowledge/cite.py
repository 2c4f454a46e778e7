"""Cited claims and the sources that they come from, as an answer carries them."""

from __future__ import annotations

from collections.abc import Iterable

from leastwise.graph.answer import ClaimView, SourceView
from leastwise.graph.knowledge.knowledge import Knowledge

__all__ = ["cite"]


def cite(k: Knowledge, claims: Iterable[str]) -> tuple[dict[str, ClaimView], dict[str, SourceView]]:
    """Return claims that are cited, and the sources that they come from, by name."""
    cited = {claim: k.made(("claim", claim), _claim) for claim in sorted(set(claims))}
    named = dict.fromkeys(view.source for view in cited.values() if view.source)
    return cited, {source: k.made(("source", source), _source) for source in named}


def _claim(k: Knowledge, key: tuple[str, str]) -> ClaimView:
    claim = key[1]
    return ClaimView(
        k.text(claim, "lw:statement"),
        (k.object(claim, "lw:basis") or "").removeprefix("lw:"),
        (k.object(claim, "lw:confidence") or "").removeprefix("lw:"),
        k.object(claim, "dcterms:source") or "",
        (k.object(claim, "lw:readAs") or "").removeprefix("lw:"),
    )


def _source(k: Knowledge, key: tuple[str, str]) -> SourceView:
    source = key[1]
    return SourceView(
        k.text(source, "dcterms:bibliographicCitation"), k.object(source, "rdfs:seeAlso") or ""
    )
