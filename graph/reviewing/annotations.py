"""What reviewers said, as W3C Web Annotations, and how a version came about, as PROV-O.

Each remark, argument, request, rating, decision and signature is one annotation with one
motivation (Web Annotation Data Model, W3C Recommendation 2017). Its target is the frozen version
of the proposal, narrowed by a selector: a fragment for an option, a claim or a step, a quotation
for a sentence. What Web Annotation has no word for (a verdict, what an argument attacks) is said
with our own terms.
"""

from __future__ import annotations

import json
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import Any

from leastwise.graph.names import BASE, LW

__all__ = ["MOTIVATIONS", "Said", "as_annotations", "provenance"]

#: What somebody said -> motivation, from the list of the Web Annotation Vocabulary.
MOTIVATIONS = {
    "remark": "commenting",
    "answer": "replying",
    "argument": "assessing",
    "test": "questioning",
    "rating": "assessing",
    "decision": "assessing",
    "signature": "assessing",
}
CONTEXT = ["http://www.w3.org/ns/anno.jsonld", {"lw": LW}]


@dataclass(frozen=True, slots=True)
class Said:
    """One thing that was said of a frozen version.

    *anchor* is ``option:…``, ``claim:…``, ``step:…``, ``sentence:…``, the id of another entry, or
    empty for the whole; *quote* is the sentence as it stood. *more* are our own terms.
    """

    id: str
    what: str
    by: str
    at: str  # ISO 8601
    text: str
    anchor: str = ""
    quote: str = ""
    more: Mapping[str, Any] | None = None


def as_annotations(frozen: str, said: Iterable[Said], base: str = BASE) -> str:
    """Return the annotations on the frozen version with IRI *frozen* as a JSON-LD page."""
    items = [_annotation(frozen, one, base) for one in said]
    page = {
        "@context": CONTEXT,
        "id": f"{frozen}/annotations",
        "type": "AnnotationPage",
        "items": items,
    }
    return json.dumps(page, ensure_ascii=False, indent=1, sort_keys=True) + "\n"


def _annotation(frozen: str, one: Said, base: str) -> dict[str, Any]:
    found: dict[str, Any] = {
        "id": f"{base}review/{one.id}",
        "type": "Annotation",
        "motivation": MOTIVATIONS[one.what],
        "created": one.at,
        "creator": {"type": "Person", "name": one.by},
        "target": _target(frozen, one, base),
        "lw:said": one.what,
    }
    if one.text:
        found["body"] = {"type": "TextualBody", "value": one.text, "format": "text/plain"}
    for key, value in (one.more or {}).items():
        found[f"lw:{key}"] = value
    return found


def _target(frozen: str, one: Said, base: str) -> Any:
    kind, _, rest = one.anchor.partition(":")
    if not one.anchor:
        return frozen
    if kind == "entry":
        return f"{base}review/{rest}"
    if kind == "sentence":
        selector = {"type": "TextQuoteSelector", "exact": one.quote}
        return {"source": frozen, "selector": selector}
    if kind == "claim":
        return {"source": f"{base}claim/{rest}", "scope": frozen}
    return {"source": frozen, "selector": {"type": "FragmentSelector", "value": one.anchor}}


def provenance(  # noqa: PLR0913 - what a version is told by
    frozen: str,
    *,
    sha256: str,
    by: str,
    at: str,
    knowledge: str,
    rules: str,
    before: str,
    said: Iterable[Said],
    base: str = BASE,
) -> str:
    """Return how a frozen version came about and what became of it, in PROV-O as JSON-LD.

    *before* is the IRI of the version that it revises, or empty.
    """
    release = f"{base}release/"
    made = [f"{release}knowledge/{knowledge}", f"{release}rules/{rules}"]
    entity: dict[str, Any] = {
        "@id": frozen,
        "@type": ["prov:Entity", "prov:Plan"],
        "dcterms:identifier": f"sha256:{sha256}",
        "prov:wasGeneratedBy": {
            "@id": f"{frozen}/freezing",
            "@type": "prov:Activity",
            "prov:endedAtTime": _time(at),
            "prov:wasAssociatedWith": _person(by),
            "prov:used": [{"@id": one} for one in made],
        },
        "prov:wasDerivedFrom": [{"@id": one} for one in made],
    }
    if before:
        entity["prov:wasRevisionOf"] = {"@id": before}
    acts = [
        {
            "@id": f"{base}review/{one.id}",
            "@type": "prov:Activity",
            "dcterms:type": one.what,
            "prov:used": {"@id": frozen},
            "prov:endedAtTime": _time(one.at),
            "prov:wasAssociatedWith": _person(one.by),
        }
        for one in said
    ]
    whole = {
        "@context": {
            "prov": "http://www.w3.org/ns/prov#",
            "dcterms": "http://purl.org/dc/terms/",
            "xsd": "http://www.w3.org/2001/XMLSchema#",
        },
        "@graph": [entity, *acts],
    }
    return json.dumps(whole, ensure_ascii=False, indent=1, sort_keys=True) + "\n"


def _time(at: str) -> dict[str, str]:
    return {"@value": at, "@type": "xsd:dateTime"}


def _person(name: str) -> dict[str, Any]:
    return {
        "@type": ["prov:Agent", "prov:Person"],
        "http://www.w3.org/2000/01/rdf-schema#label": name,
    }
