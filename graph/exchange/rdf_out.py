"""Graphs for other systems: the record of a case, one concept; and how a graph is written out.

Nothing here reads a clock or invents a blank node label, so that the same graph gives the same
text.
"""

from __future__ import annotations

from rdflib import Graph, Literal, URIRef
from rdflib.namespace import DCTERMS, RDFS, SKOS
from rdflib.term import IdentifiedNode, Node

from leastwise.graph.case.record import Case
from leastwise.graph.errors import LeastwiseError, NotFound
from leastwise.graph.exchange.jsonld import CONTEXT_PREFIXES, linked_json
from leastwise.graph.knowledge.knowledge import Knowledge
from leastwise.graph.knowledge.rules import RuleBook
from leastwise.graph.names import BASE, LW, iri_of
from leastwise.graph.shacl.rdf import decode, to_node
from leastwise.graph.shacl.terms import TermTable
from leastwise.graph.shacl.triples import Triples
from leastwise.graph.weighing.facts import case_base, write_case
from leastwise.graph.weighing.rows import Rows

__all__ = [
    "FORMATS",
    "INVENTED",
    "UnknownFormat",
    "add_labels",
    "case_graph",
    "concept_graph",
    "name",
    "new_graph",
    "published",
    "written",
]

#: Name of a format -> media type.
FORMATS = {
    "turtle": "text/turtle",
    "jsonld": "application/ld+json",
    "ntriples": "application/n-triples",
}
INVENTED = Literal("An invented demo case: object, place and people are made up.", lang="en")


class UnknownFormat(LeastwiseError):  # noqa: N818 - reads as what happened
    """A way of writing a graph that isn't one of FORMATS."""

    def __init__(self, given: str) -> None:
        super().__init__(f"format: got {given!r}; expected one of {', '.join(FORMATS)}.")


def name(curie: str) -> URIRef:
    """Return the rdflib name of what the knowledge calls by a CURIE, an IRI or a blank label.

    A blank node gets a name of its own, so that it can be spoken of outside its graph.
    """
    if curie.startswith("_:"):
        return URIRef(f"{BASE}.well-known/genid/{curie[2:]}")
    try:
        return URIRef(iri_of(curie))
    except KeyError:  # a name outside the known prefixes is kept whole
        return URIRef(curie)


def new_graph() -> Graph:
    """Return an empty graph that knows our prefixes and no others."""
    graph = Graph(bind_namespaces="none")
    for prefix, namespace in CONTEXT_PREFIXES.items():
        graph.bind(prefix, namespace)
    return graph


def case_graph(case: Case) -> Graph:
    """Return the record of a case in our own vocabulary, as the rules read it, with its notes."""
    rows = Rows(TermTable())
    write_case(case, rows)
    graph = _filled(decode(Triples.from_columns(rows.terms, rows.s, rows.p, rows.o)))
    base = case_base(case)
    record, thing = URIRef(f"{base}record"), URIRef(f"{base}object")
    notes = [(f"part/{p.id}", p.note) for p in case.parts]
    notes += [(f"damage/{d.id}", d.note) for d in case.damages]
    notes += [(f"contact/{i}", c.note) for i, c in enumerate(case.contacts)]
    notes += [(f"test/{i}", t.note) for i, t in enumerate(case.tests)]
    for local, note in notes:
        if note:
            graph.add((URIRef(base + local), SKOS.note, Literal(note)))
    made = ((DCTERMS.created, case.object.made), (DCTERMS.identifier, case.object.identifier))
    for predicate, text in made:
        if text != "unknown":
            graph.add((thing, predicate, Literal(text)))
    if case.demo:
        graph.add((record, SKOS.note, INVENTED))
    return graph


def concept_graph(curie: str, knowledge: Knowledge, rules: RuleBook) -> Graph:
    """Return all that is said of a concept, claim, source or rule, inner nodes with it.

    Raises:
        NotFound: nothing is called so.

    """
    graph = new_graph()
    if curie in rules.rules:
        _add_rule(curie, rules, graph)
    elif curie in knowledge:
        waiting, done = [curie], set[str]()
        while waiting:
            subject = waiting.pop()
            done.add(subject)
            for predicate, objects in knowledge.predicates(subject).items():
                for one in objects:
                    graph.add((_subject(subject), _subject(predicate), _node(one)))
                waiting += [o for o in objects if o[:2] == "_:" and o not in done]
    else:
        raise NotFound("concept", curie, [])
    return graph


def _add_rule(curie: str, rules: RuleBook, graph: Graph) -> None:
    rule, me = rules.rules[curie], name(curie)
    graph.add((me, name("rdf:type"), name("sh:NodeShape")))
    graph.add((me, name("sh:message"), Literal(rule.message, lang="en")))
    graph.add((me, name("sh:severity"), name(f"sh:{rule.severity}")))
    graph.add((me, name("lw:verdictEffect"), name(f"lw:{rule.effect}")))
    graph.add((me, name("lw:theme"), Literal(rule.theme)))
    for predicate, things in (
        ("lw:caution", rule.cautions),
        ("lw:liftedBy", rule.lifted_by),
        ("lw:restsOn", rule.rests_on),
    ):
        for thing in things:
            graph.add((me, name(predicate), name(thing)))


def _node(text: str) -> Node:
    """Return the node of what the knowledge holds: literal term, blank label, CURIE or IRI."""
    return to_node(text) if text[:1] == '"' else _subject(text)


def _subject(text: str) -> IdentifiedNode:
    if text[:2] == "_:":
        node = to_node(text)
        assert isinstance(node, IdentifiedNode)  # noqa: S101 - a blank label is never a literal
        return node
    return name(text)


def _filled(triples: Graph) -> Graph:
    graph = new_graph()
    for triple in triples:
        graph.add(triple)
    return graph


def published(graph: Graph, base: str = BASE) -> Graph:
    """Return the graph with our names under *base*; the terms of the vocabulary stay the same."""
    if base == BASE:
        return graph
    moved = new_graph()
    for prefix, namespace in CONTEXT_PREFIXES.items():
        if namespace.startswith(BASE) and namespace != LW:
            moved.bind(prefix, base + namespace.removeprefix(BASE), replace=True)

    def move(node: Node) -> Node:
        if isinstance(node, URIRef) and node.startswith(BASE) and not node.startswith(LW):
            return URIRef(base + node.removeprefix(BASE))
        return node

    for s, p, o in graph:
        moved.add((move(s), p, move(o)))
    return moved


def add_labels(graph: Graph, knowledge: Knowledge, curie: str) -> None:
    """Add the preferred labels of a concept, in every language, and its matches elsewhere."""
    me = name(curie)
    for term in knowledge.objects(curie, "skos:prefLabel"):
        graph.add((me, SKOS.prefLabel, to_node(term)))
    for term in knowledge.objects(curie, "rdfs:label"):
        graph.add((me, RDFS.label, to_node(term)))
    for kind in ("closeMatch", "exactMatch", "broadMatch", "narrowMatch", "relatedMatch"):
        for iri in knowledge.objects(curie, f"skos:{kind}"):
            graph.add((me, SKOS[kind], _subject(iri)))


def written(graph: Graph, form: str) -> str:
    """Return the graph as text in one of FORMATS; the same graph gives the same text.

    Raises:
        UnknownFormat: *form* is none of them; the message lists those there are.

    """
    if form not in FORMATS:
        raise UnknownFormat(form)
    if form == "turtle":
        return graph.serialize(format="turtle")
    if form == "ntriples":
        lines = graph.serialize(format="nt").split("\n")  # U+2028 ends no line here
        return "".join(f"{line}\n" for line in sorted(filter(None, lines)))
    return linked_json(graph)
