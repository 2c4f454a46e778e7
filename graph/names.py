"""Namespaces, and the two ways of writing a name: CURIE for people, IRI for graphs."""

from __future__ import annotations

from functools import lru_cache

__all__ = [
    "BASE",
    "ENGLISH",
    "EXAMPLES",
    "LW",
    "ONTOLOGY",
    "PREFIXES",
    "SCHEMES",
    "camel",
    "claim_named",
    "curie_of",
    "iri_of",
    "lw",
    "term_of",
]

BASE = "https://w3id.org/leastwise/"
#: The language that the knowledge is written in, and that stands in for a missing label.
ENGLISH = "en"
LW = BASE + "ns#"
#: The document of the vocabulary.
ONTOLOGY = BASE + "ns"

#: The kinds of concept that have a CURIE of their own, in the order in which pages list them.
SCHEMES = (
    "material",
    "damage",
    "need",
    "technique",
    "refused",
    "agent",
    "test",
    "condition",
    "caution",
    "aim",
    "axis",
    "contact",
    "equipment",
    "policy",
    "precedence",
    "claim",
    "source",
    "rule",
)

PREFIXES: dict[str, str] = {
    "lw": LW,
    **{scheme: f"{BASE}{scheme}/" for scheme in SCHEMES},
    "dcterms": "http://purl.org/dc/terms/",
    "owl": "http://www.w3.org/2002/07/owl#",
    "prov": "http://www.w3.org/ns/prov#",
    "rdf": "http://www.w3.org/1999/02/22-rdf-syntax-ns#",
    "rdfs": "http://www.w3.org/2000/01/rdf-schema#",
    "sh": "http://www.w3.org/ns/shacl#",
    "skos": "http://www.w3.org/2004/02/skos/core#",
    "xsd": "http://www.w3.org/2001/XMLSchema#",
}
#: Prefixes of the nodes by which an example file shows what a rule flags and lets pass.
EXAMPLES: dict[str, str] = {
    "ex": f"{BASE}example/",
    "flagged": f"{BASE}example/flagged/",
    "passing": f"{BASE}example/passing/",
}
_BY_LENGTH = sorted(PREFIXES.items(), key=lambda item: -len(item[1]))


def iri_of(curie: str) -> str:
    """Return the IRI of a CURIE with a known prefix.

    >>> iri_of("material:silk")
    'https://w3id.org/leastwise/material/silk'

    Raises:
        KeyError: if the prefix is not one of PREFIXES.

    """
    prefix, _, local = curie.partition(":")
    return PREFIXES[prefix] + local


def term_of(curie: str) -> str:
    """Return the graph term of a CURIE.

    >>> term_of("lw:Exposure")
    '<https://w3id.org/leastwise/ns#Exposure>'
    """
    return f"<{iri_of(curie)}>"


def lw(name: str) -> str:
    """Return the graph term of a name of the vocabulary.

    >>> lw("agent")
    '<https://w3id.org/leastwise/ns#agent>'
    """
    return f"<{LW}{name}>"


def curie_of(term: str) -> str:
    """Return the CURIE of a graph term or IRI; a name outside the known prefixes stays as it is.

    >>> curie_of("<https://w3id.org/leastwise/claim/M-093>")
    'claim:M-093'
    >>> curie_of("<http://example.org/x>")
    'http://example.org/x'
    """
    iri = term[1:-1] if term.startswith("<") else term
    for prefix, namespace in _BY_LENGTH:
        if iri.startswith(namespace):
            return f"{prefix}:{iri[len(namespace) :]}"
    return iri


def claim_named(given: str) -> str:
    """Return the CURIE of a claim that may be named by its number alone.

    >>> claim_named("M-093"), claim_named("claim:M-093")
    ('claim:M-093', 'claim:M-093')
    """
    return given if ":" in given else f"claim:{given}"


@lru_cache(maxsize=1024)
def camel(name: str) -> str:
    """Return the name of the vocabulary for a hyphenated value of a record.

    >>> camel("on-figure")
    'lw:onFigure'
    """
    first, *rest = name.split("-")
    return "lw:" + first + "".join(word.capitalize() for word in rest)
