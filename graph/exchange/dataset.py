"""The data set as VoID and DCAT describe it: counts, vocabularies, files, service, licence."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator

from leastwise.graph.exchange.derived import from_header
from leastwise.graph.exchange.dumps import DUMPS, statements_of
from leastwise.graph.exchange.statements import FORMS, Statement, lit, term
from leastwise.graph.knowledge.knowledge import Knowledge
from leastwise.graph.names import BASE, ONTOLOGY

__all__ = ["DATASET", "dataset_statements"]

DATASET = f"{BASE}dataset"
_EVERYTHING = "knowledge"
_HEADER = ("dcterms:license", "dcterms:creator", "dcterms:created", "dcterms:modified",
           "owl:versionInfo")  # fmt: skip
_MATCHES = ("skos:exactMatch", "skos:closeMatch", "skos:broadMatch", "skos:narrowMatch",
            "skos:relatedMatch")  # fmt: skip
#: Where matches lead: beginning of the address -> name of the other vocabulary.
_ELSEWHERE = {
    "http://vocab.getty.edu/aat/": "Art & Architecture Thesaurus",
    "http://www.wikidata.org/entity/": "Wikidata",
}


def dataset_statements(k: Knowledge) -> Iterator[Statement]:
    """Yield the description of the data set, of its parts, and of where its files are."""
    me = term(DATASET)
    yield me, term("rdf:type"), term("void:Dataset")
    yield me, term("rdf:type"), term("dcat:Dataset")
    yield me, term("dcterms:title"), lit("Leastwise", "@en")
    yield me, term("dcterms:description"), lit(DUMPS[_EVERYTHING].about, "@en")
    yield me, term("dcterms:identifier"), lit(k.digest)
    yield me, term("void:sparqlEndpoint"), term(f"{BASE}sparql")
    yield me, term("void:uriSpace"), lit(BASE)
    yield me, term("void:exampleResource"), term("material:silk")
    yield me, term("dcterms:conformsTo"), term(ONTOLOGY)
    yield me, term("dcat:landingPage"), term(f"{BASE}knowledge")
    for word in ("costume", "textiles", "conservation", "materials", "treatment"):
        yield me, term("dcat:keyword"), lit(word, "@en")
    for tag in k.languages:
        yield me, term("dcterms:language"), lit(tag)
    for vocabulary in ("owl", "prov", "sh", "skos", "dcterms", "lw"):
        yield me, term("void:vocabulary"), term(f"{vocabulary}:")
    yield from from_header(k, me, _HEADER)
    yield me, term("dcterms:publisher"), term("lw:authors")
    for said in k.objects("lw:authors", "rdfs:label"):
        yield term("lw:authors"), term("rdfs:label"), said
    yield from _parts(k)
    yield from _linksets(k)


def _parts(k: Knowledge) -> Iterator[Statement]:
    """Yield each part with its counts and its files."""
    for name, dump in DUMPS.items():
        me = term(DATASET if name == _EVERYTHING else f"{DATASET}/{name}")
        said = statements_of(name, k)
        if name != _EVERYTHING:
            yield term(DATASET), term("void:subset"), me
            yield me, term("rdf:type"), term("void:Dataset")
            yield me, term("dcterms:title"), lit(dump.title, "@en")
            yield me, term("dcterms:description"), lit(dump.about, "@en")
            yield from from_header(k, me, ["dcterms:license"])
        kinds = Counter(o for _, p, o in said if p == term("rdf:type"))
        counts = {
            "void:triples": len(said),
            "void:distinctSubjects": len({s for s, _, _ in said}),
            "void:properties": len({p for _, p, _ in said}),
            "void:entities": kinds[term(dump.counts)],
        }
        for predicate, count in counts.items():
            yield me, term(predicate), lit(str(count), "xsd:integer")
        yield from _files(name, dump.title, me)


def _files(name: str, title: str, part: str) -> Iterator[Statement]:
    for ending, media in FORMS.items():
        place = term(f"{BASE}dumps/{name}.{ending}")
        file = term(f"{DATASET}/{name}/{ending}")
        yield part, term("void:dataDump"), place
        yield term(DATASET), term("dcat:distribution"), file
        yield file, term("rdf:type"), term("dcat:Distribution")
        yield file, term("dcterms:title"), lit(f"{title} as {media}", "@en")
        yield file, term("dcat:downloadURL"), place
        yield (
            file,
            term("dcat:mediaType"),
            term(f"https://www.iana.org/assignments/media-types/{media}"),
        )


def _linksets(k: Knowledge) -> Iterator[Statement]:
    """Yield how many matches of which kind lead to which other vocabulary."""
    found: Counter[tuple[str, str]] = Counter()
    for one in k.instances("skos:Concept"):
        for kind in _MATCHES:
            for to in k.objects(one, kind):
                place = next((p for p in _ELSEWHERE if to.startswith(p)), "")
                found[place, kind] += bool(place)
    for (place, kind), count in sorted(found.items()):
        if not count:
            continue
        me = term(f"{DATASET}/{kind.partition(':')[2]}/{_ELSEWHERE[place].split()[0].lower()}")
        other = term(place.rstrip("/"))
        yield term(DATASET), term("void:subset"), me
        yield me, term("rdf:type"), term("void:Linkset")
        yield me, term("void:linkPredicate"), term(kind)
        yield me, term("void:subjectsTarget"), term(DATASET)
        yield me, term("void:objectsTarget"), other
        yield other, term("rdf:type"), term("void:Dataset")
        yield other, term("dcterms:title"), lit(_ELSEWHERE[place], "@en")
        yield me, term("void:triples"), lit(str(count), "xsd:integer")
