"""The rules as any SHACL engine can use them: with names, groups and messages without templates.

Our own engine fills the braces of a message; another would print them. Here ``sh:message`` is
plain and the template stands beside it as ``lw:template``. A node shape is named by
``rdfs:label`` and ``rdfs:comment``, since ``sh:name`` and ``sh:description`` are for property
shapes, which get theirs from the property that they speak of.
"""

from __future__ import annotations

import re
from collections.abc import Iterator

from leastwise.graph.exchange.derived import from_header
from leastwise.graph.exchange.statements import Statement, all_said, lit, term
from leastwise.graph.knowledge.knowledge import Knowledge, shipped_files
from leastwise.graph.knowledge.turtle import load_triples
from leastwise.graph.names import BASE, ONTOLOGY
from leastwise.graph.sentences import sentence_case
from leastwise.graph.shacl.terms import split_literal

__all__ = ["described_rules", "plain_message"]

DOCUMENT = f"{BASE}shapes"
_HEADER = ("dcterms:license", "dcterms:creator", "owl:versionInfo", "dcterms:modified")
_BRACES = re.compile(r"\{(\w+)\}")
#: What a placeholder stands for where there is no case that fills it.
_INSTEAD = {"via": "", "open": "what is open", "work": "the earlier work"}
_EFFECTS = {
    "lw:defeats": "What it flags defeats the option.",
    "lw:leavesUndecided": "What it flags leaves the option undecided until it is settled.",
    "lw:cautions": "What it flags asks for care and a reason.",
    "lw:records": "What it flags asks for an entry in the record.",
}


def plain_message(template: str) -> str:
    """Return a message whose placeholders are replaced by what they stand for in general.

    >>> plain_message("{Part} has not been tested for {agent}{via}.")
    'The part has not been tested for the agent.'
    """

    def word(found: re.Match[str]) -> str:
        name = found[1]
        said = _INSTEAD.get(name.lower(), f"the {name.lower()}")
        return sentence_case(said) if name[:1].isupper() else said

    return sentence_case(_BRACES.sub(word, template))


def described_rules(k: Knowledge) -> Iterator[Statement]:
    """Yield the shipped shapes as published; *k* names the properties that they speak of."""
    shapes = Knowledge(*load_triples(shipped_files("shapes"), None))
    yield from _header(k)
    for s, p, o in all_said(shapes):
        if p == term("sh:message") and "{" in o:
            text = split_literal(o)[0]
            yield s, term("lw:template"), o
            yield s, p, lit(plain_message(text), "@en")
        else:
            yield s, p, o
    order: dict[str, int] = {}
    for shape in shapes.instances("sh:NodeShape"):
        if shape[:2] != "_:":
            yield from _named(shapes, shape, order)
            yield from _properties(shapes, shape, k)


def _header(k: Knowledge) -> Iterator[Statement]:
    me = term(DOCUMENT)
    yield me, term("rdf:type"), term("owl:Ontology")
    yield me, term("dcterms:title"), lit("Rules and forms of Leastwise", "@en")
    yield me, term("owl:imports"), term(ONTOLOGY)
    yield from from_header(k, me, _HEADER)


def _local(name: str) -> str:
    """Return the last part of a name in words."""
    return re.split("[:/]", name)[-1].replace("-", " ")


def _named(shapes: Knowledge, shape: str, order: dict[str, int]) -> Iterator[Statement]:
    """Yield label, comment, order within its theme, and the document of a node shape."""
    me, theme = term(shape), shapes.text(shape, "lw:theme", "form")
    order[theme] = order.get(theme, 0) + 1
    told = [plain_message(said) for said in shapes.texts(shape, "sh:message")]
    told.append(_EFFECTS.get(shapes.object(shape, "lw:verdictEffect") or "", ""))
    yield me, term("rdfs:label"), lit(sentence_case(_local(shape)), "@en")
    yield me, term("rdfs:comment"), lit(" ".join(filter(None, told)) or "A form.", "@en")
    yield me, term("sh:order"), lit(str(order[theme]), "xsd:integer")
    yield me, term("rdfs:isDefinedBy"), term(DOCUMENT)


def _properties(shapes: Knowledge, shape: str, k: Knowledge) -> Iterator[Statement]:
    """Yield name, description, order and group of the property shapes of a node shape."""
    group = f"{shape}-group"
    for place, inner in enumerate(shapes.objects(shape, "sh:property"), start=1):
        path = shapes.object(inner, "sh:path") or ""
        me = term(inner)
        yield me, term("sh:order"), lit(str(place), "xsd:integer")
        yield me, term("sh:group"), term(group)
        yield term(group), term("rdf:type"), term("sh:PropertyGroup")
        yield term(group), term("rdfs:label"), lit(_local(shape), "@en")
        if path[:2] != "_:":
            yield me, term("sh:name"), lit(k.label(path), "@en")
            said = k.text(path, "rdfs:comment")
            if said:
                yield me, term("sh:description"), lit(said, "@en")
