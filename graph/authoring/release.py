"""A release of the knowledge: its version, the digests that name it, and what it changes.

What an answer is stamped with are the digests; a release ties them to a version and a day, and
lists the verdicts and ranks that differ from the release before it.
"""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date

from leastwise.graph.authoring.compare import Comparison, Side
from leastwise.graph.authoring.compare_told import comparison_told
from leastwise.graph.exchange.statements import Statement, lit, term
from leastwise.graph.names import BASE

__all__ = ["release_statements"]


def release_statements(
    version: str, issued: date, side: Side, since: Comparison | None = None
) -> Iterator[Statement]:
    """Yield what a release is: version, day, digests, counts, and changes *since* another.

    The names are those by which PROV exports speak of the knowledge and the rules of an answer.
    """
    k, rules = side.adviser.knowledge, side.adviser.rules
    me = term(f"{BASE}release/knowledge/{k.digest}")
    ruled = term(f"{BASE}release/rules/{rules.digest}")
    yield me, term("rdf:type"), term("dcat:Dataset")
    yield me, term("rdf:type"), term("prov:Entity")
    yield me, term("dcterms:title"), lit(f"Knowledge of Leastwise, release {version}", "@en")
    yield me, term("owl:versionInfo"), lit(version)
    yield me, term("dcterms:issued"), lit(issued.isoformat(), "xsd:date")
    yield me, term("dcterms:identifier"), lit(k.digest)
    yield me, term("dcterms:requires"), ruled
    yield ruled, term("rdf:type"), term("prov:Entity")
    yield ruled, term("dcterms:title"), lit(f"Rules of Leastwise, release {version}", "@en")
    yield ruled, term("dcterms:identifier"), lit(rules.digest)
    counts = {
        "claims": len(k.instances("lw:Claim")),
        "sources": len(k.instances("lw:Source")),
        "concepts": len(k.instances("skos:Concept")),
        "rules": len(rules.rules),
    }
    told = ", ".join(f"{count} {what}" for what, count in counts.items())
    yield me, term("dcterms:extent"), lit(told, "@en")
    for note in _notes(since) if since is not None else ():
        yield me, term("skos:changeNote"), lit(note, "@en")


def _notes(found: Comparison) -> Iterator[str]:
    """Yield a note for each part of a comparison: what differs, then case by case."""
    block: list[str] = []
    for line in [*comparison_told(found), ""]:
        parts = line.split("\n")
        if len(parts) > 1 or not line:
            if block:
                yield "; ".join(one.strip() for one in block)
            block = []
        block += [one for one in parts if one]
