"""A content hash of RDF that does not depend on how it is written down.

RDF Dataset Canonicalization (RDFC-1.0, W3C Recommendation 2024, rdf-canon) names blank nodes by
what they are attached to; the canonical N-Quads are sorted and hashed with SHA-256. Two files
with the same statements have the same hash, and one changed word changes it.
"""

from __future__ import annotations

import hashlib
from dataclasses import dataclass

import pyoxigraph as ox

from leastwise.graph.errors import LeastwiseError

__all__ = ["Canonical", "NotRdf", "canonical"]

FORMATS = {
    "jsonld": ox.RdfFormat.JSON_LD,
    "turtle": ox.RdfFormat.TURTLE,
    "nquads": ox.RdfFormat.N_QUADS,
}


class NotRdf(LeastwiseError):  # noqa: N818 - reads as what happened
    """A text that isn't RDF in the format it claims to be in."""


@dataclass(frozen=True, slots=True)
class Canonical:
    """Canonical N-Quads (sorted, one a line) and their SHA-256 in hexadecimal."""

    nquads: str
    sha256: str


def canonical(text: str, form: str = "jsonld") -> Canonical:
    r"""Return the canonical form of an RDF text; *form* is jsonld, turtle or nquads.

    >>> canonical("_:x <http://ex/p> _:y .", "nquads").nquads
    '_:c14n1 <http://ex/p> _:c14n0 .\n'

    Raises:
        NotRdf: the text can't be parsed; says where.

    """
    try:
        dataset = ox.Dataset(ox.parse(text.encode(), format=FORMATS[form]))
    except (SyntaxError, ValueError) as error:
        raise NotRdf(f"{form}: {error}") from error
    dataset.canonicalize(ox.CanonicalizationAlgorithm.RDFC_1_0)
    lines = sorted(f"{quad} .\n" for quad in dataset)
    nquads = "".join(lines)
    return Canonical(nquads, hashlib.sha256(nquads.encode()).hexdigest())
