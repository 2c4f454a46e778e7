"""The JSON-LD context of the vocabulary, and graphs written with it.

Terms keep their prefix (``lw:agent``), since ``agent`` is a prefix already. The context is kept as
``seed_data/context.jsonld``; :func:`write_context` makes it anew when the vocabulary has changed.
"""

from __future__ import annotations

import json
from functools import cache
from importlib import resources
from pathlib import Path
from typing import TYPE_CHECKING, Any

from leastwise.graph.knowledge.knowledge import Knowledge, load_knowledge, shipped_files
from leastwise.graph.names import PREFIXES

if TYPE_CHECKING:
    from rdflib import Graph
    from rdflib.term import Node

__all__ = [
    "CONTEXT_PREFIXES",
    "context_path",
    "context_text",
    "linked_json",
    "make_context",
    "shipped_context",
    "write_context",
]

#: The prefixes of what Leastwise publishes; those of exchange come to those of the knowledge.
CONTEXT_PREFIXES: dict[str, str] = {
    **PREFIXES,
    "aat": "http://vocab.getty.edu/aat/",
    "crm": "http://www.cidoc-crm.org/cidoc-crm/",
}
#: Properties of other vocabularies whose values are always things, never text.
_LINKS = (
    "dcterms:license", "dcterms:source", "prov:hadPlan", "prov:used", "prov:wasAssociatedWith",
    "prov:wasDerivedFrom", "prov:wasGeneratedBy", "rdfs:seeAlso", "skos:broader",
    "skos:broadMatch", "skos:closeMatch", "skos:exactMatch", "skos:inScheme", "skos:narrowMatch",
    "skos:relatedMatch",
)  # fmt: skip


def context_path() -> Path:
    """Return the file in which the context is kept."""
    return Path(str(resources.files("leastwise.seed_data"))) / "context.jsonld"


def make_context(vocabulary: Knowledge | None = None) -> dict[str, Any]:
    """Return the context of *vocabulary*, by default of the shipped knowledge.

    An object property takes IRIs as plain text; one with an XML Schema range that is no string
    takes the datatype; the others, and those whose values may be either, say it in each value.
    """
    vocabulary = vocabulary or load_knowledge(files=shipped_files("seed_data"))
    terms: dict[str, Any] = {name: {"@id": name, "@type": "@id"} for name in _LINKS}
    for name in vocabulary.instances("owl:ObjectProperty"):
        terms[name] = {"@id": name, "@type": "@id"}
    for name in vocabulary.instances("owl:DatatypeProperty"):
        reach = vocabulary.object(name, "rdfs:range") or ""
        if reach.startswith("xsd:") and reach != "xsd:string":
            terms[name] = {"@id": name, "@type": reach}
    return {"@context": {"@version": 1.1, **CONTEXT_PREFIXES, **dict(sorted(terms.items()))}}


def context_text() -> str:
    """Return the context as the text of its file."""
    return json.dumps(make_context(), indent=1) + "\n"


def write_context() -> None:
    """Write the context's file anew; for contributors, after a change of the vocabulary."""
    context_path().write_text(context_text(), "utf-8")


@cache
def shipped_context() -> dict[str, Any]:
    """Return the context that is kept with the knowledge."""
    context: dict[str, Any] = json.loads(context_path().read_text("utf-8"))
    return context


def linked_json(graph: Graph, context: str = "") -> str:
    """Return a graph as JSON-LD: the context, and one flat node for each subject, in fixed order.

    The same graph gives the same text, as long as its blank nodes keep their labels. With
    *context* an address stands for the context, which a reader then fetches once for all.
    """
    terms = dict(shipped_context()["@context"])
    terms |= {prefix: str(iri) for prefix, iri in graph.namespaces() if prefix in terms}
    writer = _Writer(terms)
    nodes: dict[str, dict[str, Any]] = {}
    for s, p, o in graph:
        subject, name = writer.name(s), writer.name(p)
        node = nodes.setdefault(subject, {"@id": subject})
        if name == "rdf:type":
            node.setdefault("@type", []).append(writer.name(o))
        else:
            node.setdefault(name, []).append(writer.value(name, o))
    whole = [_in_order(nodes[subject]) for subject in sorted(nodes)]
    document = {"@context": context or terms, "@graph": whole}
    return json.dumps(document, ensure_ascii=False, indent=1) + "\n"


def _in_order(node: dict[str, Any]) -> dict[str, Any]:
    """Sort what has no order of its own; a single value stands alone."""
    found: dict[str, Any] = {}
    for name in sorted(node):
        values = node[name]
        if isinstance(values, list):
            values = sorted(values, key=lambda one: json.dumps(one, sort_keys=True))
            values = values[0] if len(values) == 1 else values
        found[name] = values
    return found


class _Writer:
    """Names and values of nodes, as short as a context allows."""

    def __init__(self, context: dict[str, Any]) -> None:
        self._kinds = {n: t["@type"] for n, t in context.items() if isinstance(t, dict)}
        prefixes = [(iri, prefix) for prefix, iri in context.items() if isinstance(iri, str)]
        self._prefixes = sorted(prefixes, key=lambda pair: -len(pair[0]))

    def name(self, node: Node) -> str:
        """Return an IRI as short as may be, or the label of a blank node."""
        from rdflib import BNode  # noqa: PLC0415 - the context alone is made without rdflib

        text = str(node)
        if isinstance(node, BNode):
            return f"_:{text}"
        for iri, prefix in self._prefixes:
            if text.startswith(iri) and not text.startswith("//", len(iri)):
                return f"{prefix}:{text[len(iri) :]}"
        return text

    def value(self, name: str, node: Node) -> Any:
        """Return a value of the property *name*: text alone where the context tells its kind."""
        from rdflib import Literal  # noqa: PLC0415 - the context alone is made without rdflib

        kind = self._kinds.get(name)
        if not isinstance(node, Literal):
            return self.name(node) if kind == "@id" else {"@id": self.name(node)}
        text = str(node)
        if node.language:
            return {"@language": node.language, "@value": text}
        if node.datatype is None:
            return text if kind is None else {"@value": text}
        datatype = self.name(node.datatype)
        if datatype == "xsd:string":
            return text if kind is None else {"@value": text}
        return text if kind == datatype else {"@type": datatype, "@value": text}
