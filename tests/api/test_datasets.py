"""The knowledge to take away: what /ns gives to whom, the files, and what describes them."""

from __future__ import annotations

import json
from collections import Counter
from collections.abc import Iterator

import pyoxigraph
import pytest
from fastapi.testclient import TestClient
from rdflib import RDF, Graph, URIRef
from rdflib.namespace import DCAT, DCTERMS, OWL, RDFS, SH, SKOS, VOID
from typer.testing import CliRunner

from leastwise.api.cli.app import app
from leastwise.api.settings import Settings
from leastwise.graph import Adviser
from leastwise.graph.exchange.dataset import DATASET
from leastwise.graph.exchange.derived import about_claims, about_concepts
from leastwise.graph.exchange.dumps import DUMPS, statements_of
from leastwise.graph.exchange.rules_out import plain_message
from leastwise.graph.exchange.statements import FORMS, lit, term, write
from leastwise.graph.names import BASE, LW
from tests.apps import Apps

ONTOLOGY = URIRef(f"{BASE}ns")
RDFLIB = {"ttl": "turtle", "nt": "nt", "rdf": "xml"}
KINDS = {OWL.ObjectProperty, OWL.DatatypeProperty, OWL.AnnotationProperty}


@pytest.fixture(scope="module")
def client(apps: Apps) -> Iterator[TestClient]:
    app_ = apps.anew(Settings(cache=None))
    with TestClient(app_, base_url="http://127.0.0.1") as one:
        yield one


@pytest.fixture(scope="module")
def vocabulary(adviser: Adviser) -> Graph:
    return Graph().parse(
        data=write(statements_of("vocabulary", adviser.knowledge), "nt"), format="nt"
    )


def test_a_browser_gets_a_page_and_a_program_the_ontology(client: TestClient) -> None:
    page = client.get("/ns", headers={"accept": "text/html"}, follow_redirects=False)
    graph = client.get("/ns", headers={"accept": "text/turtle"}, follow_redirects=False)

    assert (page.status_code, page.headers["location"]) == (303, "/knowledge/vocabulary")
    assert graph.headers["content-type"].startswith("text/turtle")
    assert graph.headers["vary"] == "Accept"
    assert 'rel="alternate"' in graph.headers["link"]
    assert (ONTOLOGY, RDF.type, OWL.Ontology) in Graph().parse(data=graph.text)


@pytest.mark.parametrize("ending", RDFLIB)
def test_each_ending_gives_the_same_ontology(
    client: TestClient, vocabulary: Graph, ending: str
) -> None:
    answer = client.get(f"/ns.{ending}")

    assert answer.headers["content-type"].startswith(FORMS[ending])
    assert len(Graph().parse(data=answer.text, format=RDFLIB[ending])) == len(vocabulary)


def test_jsonld_names_its_context_by_an_address_that_answers(client: TestClient) -> None:
    said = client.get("/ns.jsonld").json()

    assert said["@context"].endswith("/context.jsonld")
    assert client.get("/context.jsonld").status_code == 200
    said["@context"] = client.get("/context.jsonld").json()["@context"]
    quads = pyoxigraph.parse(json.dumps(said).encode(), format=pyoxigraph.RdfFormat.JSON_LD)
    found = {str(quad.triple) for quad in quads}
    assert f"<{LW}agent> <{RDF.type}> <{OWL.ObjectProperty}>" in found


def test_the_version_iri_answers_and_another_version_is_told(
    client: TestClient, vocabulary: Graph
) -> None:
    (version,) = vocabulary.objects(ONTOLOGY, OWL.versionIRI)
    here = str(version).removeprefix(BASE.rstrip("/"))

    assert client.get(here, headers={"accept": "text/turtle"}).status_code == 200
    assert client.get("/ns/0.0.1", headers={"accept": "text/turtle"}).status_code == 404


def test_what_cannot_be_given_is_told(client: TestClient) -> None:
    assert client.get("/ns", headers={"accept": "image/png"}).status_code == 406
    assert client.get("/dumps/nothing.ttl").status_code == 404
    assert client.get("/dumps/claims.docx").status_code == 404


@pytest.mark.parametrize("place", ["/void", "/.well-known/void", "/dcat", "/dataset"])
def test_the_data_set_is_described_where_readers_look(client: TestClient, place: str) -> None:
    graph = Graph().parse(data=client.get(place, headers={"accept": "text/turtle"}).text)
    me = URIRef(DATASET)

    assert {VOID.Dataset, DCAT.Dataset} <= set(graph.objects(me, RDF.type))
    assert (me, DCTERMS.license, None) in graph
    files = {str(one).removeprefix(BASE) for one in graph.objects(None, VOID.dataDump)}
    assert files == {f"dumps/{name}.{ending}" for name in DUMPS for ending in FORMS}


def test_the_counts_of_the_description_are_those_of_the_files(
    client: TestClient, adviser: Adviser
) -> None:
    graph = Graph().parse(data=client.get("/void", headers={"accept": "text/turtle"}).text)
    part = URIRef(f"{DATASET}/vocabulary")
    text = client.get("/dumps/vocabulary.nt").text

    assert graph.value(part, VOID.triples).toPython() == len(text.splitlines())  # type: ignore[union-attr]
    linked = Counter(str(one) for one in graph.subjects(RDF.type, VOID.Linkset))
    assert any("closeMatch" in one for one in linked)


def test_the_header_says_version_creator_licence_prefix_and_changes(vocabulary: Graph) -> None:
    vann = "http://purl.org/vocab/vann/preferredNamespace"
    said = {str(p): str(o) for p, o in vocabulary.predicate_objects(ONTOLOGY)}

    assert said[vann + "Prefix"] == "lw"
    assert said[vann + "Uri"] == LW
    assert said[str(OWL.versionIRI)] == f"{BASE}ns/{said[str(OWL.versionInfo)]}"
    for one in (DCTERMS.creator, DCTERMS.license, DCTERMS.description, SKOS.changeNote):
        assert said[str(one)]


def test_every_term_has_label_comment_and_document(vocabulary: Graph) -> None:
    terms = {
        *vocabulary.subjects(RDF.type, OWL.Class),
        *vocabulary.subjects(RDF.type, RDF.Property),
    }
    named = {one for one in terms if str(one).startswith(LW)}

    assert len(named) > 350
    for predicate in (RDFS.label, RDFS.comment, RDFS.isDefinedBy):
        assert not [one for one in named if (one, predicate, None) not in vocabulary]


def test_every_property_is_of_one_kind_and_the_declared_kind_is_the_used_one(
    vocabulary: Graph, adviser: Adviser
) -> None:
    k = adviser.knowledge
    kind = {
        p: KINDS & set(vocabulary.objects(p, RDF.type))
        for p in vocabulary.subjects(RDF.type, RDF.Property)
    }
    assert not [p for p, kinds in kind.items() if len(kinds) != 1]
    used: dict[str, set[bool]] = {}
    for one in k.subjects():
        for predicate, objects in k.predicates(one).items():
            used.setdefault(predicate, set()).update(o[:1] == '"' for o in objects)
    for p, (only,) in kind.items():
        text = used.get(str(p).replace(LW, "lw:"), set())
        assert only == OWL.AnnotationProperty or len(text) < 2, p
        assert only != OWL.ObjectProperty or True not in text, p
        assert only != OWL.DatatypeProperty or False not in text, p


def test_what_a_property_is_said_of_and_leads_to_is_of_the_declared_class(
    vocabulary: Graph, adviser: Adviser
) -> None:
    k = adviser.knowledge

    def kinds(one: str) -> set[URIRef]:
        own = [URIRef(term(c)[1:-1]) for c in k.objects(one, "rdf:type")]
        return {up for c in own for up in vocabulary.transitive_objects(c, RDFS.subClassOf)}

    wrong = []
    for one in k.subjects():
        if one[:2] == "_:":
            continue
        for predicate, objects in k.predicates(one).items():
            me = URIRef(term(predicate)[1:-1])
            for domain in vocabulary.objects(me, RDFS.domain):
                wrong += [(one, predicate)] if domain not in kinds(one) else []
            for reach in vocabulary.objects(me, RDFS.range):
                named = [o for o in objects if o[:1] not in '"_']
                wrong += [(o, predicate) for o in named if reach not in kinds(o)]
    assert not wrong


def test_top_concepts_notations_and_relations_follow(adviser: Adviser) -> None:
    said = set(about_concepts(adviser.knowledge))
    k = adviser.knowledge

    assert (term("lw:agents"), term("skos:hasTopConcept"), term("agent:light")) in said
    assert (term("material:silk"), term("skos:notation"), lit("silk")) in said
    assert (term("material:silk"), term("skos:topConceptOf"), term("lw:materials")) not in said
    related = {(s, o) for s, p, o in said if p == term("skos:related")}
    assert related == {(o, s) for s, o in related} != set()
    british = [o for s, p, o in said if p == term("skos:prefLabel")]
    assert '"mould stain"@en-GB' in british
    assert len(british) < len(k.instances("skos:Concept"))


def test_a_claim_says_who_judged_it_or_where_it_was_read(adviser: Adviser) -> None:
    k = adviser.knowledge
    said = set(about_claims(k))
    told = {
        s for s, p, _ in said if p in (term("prov:wasDerivedFrom"), term("prov:wasAttributedTo"))
    }
    silent = [one for one in k.instances("lw:Claim") if term(one) not in told]

    assert not [one for one in silent if not k.objects(one, "dcterms:creator")]


@pytest.mark.parametrize(
    ("template", "plain"),
    [
        ("{Part} hangs.", "The part hangs."),
        ("{agent} reaches {material}{via}.", "The agent reaches the material."),
        ("No braces here.", "No braces here."),
    ],
)
def test_a_message_can_be_printed_by_an_engine_that_knows_no_cases(
    template: str, plain: str
) -> None:
    assert plain_message(template) == plain


def test_published_rules_have_names_and_no_braces(adviser: Adviser) -> None:
    said = write(statements_of("rules", adviser.knowledge), "nt")
    graph = Graph().parse(data=said, format="nt")
    rules = [one for one in graph.subjects(RDF.type, SH.NodeShape) if isinstance(one, URIRef)]

    assert len(rules) > 300
    assert not [o for o in graph.objects(None, SH.message) if "{" in o]
    for predicate in (RDFS.label, RDFS.comment, SH.order):
        assert not [one for one in rules if (one, predicate, None) not in graph]
    assert len(set(graph.objects(None, SH.name))) > 50
    assert len(set(graph.subjects(RDF.type, SH.PropertyGroup))) > 20
    assert (None, URIRef(f"{LW}template"), None) in graph


def test_the_command_writes_what_http_gives(client: TestClient) -> None:
    printed = CliRunner().invoke(app, ["dump", "vocabulary", "--format", "nt"])

    assert printed.exit_code == 0
    assert printed.stdout == client.get("/dumps/vocabulary.nt").text


@pytest.mark.parametrize(
    ("args", "words"),
    [(["dump", "nothing"], "vocabulary"), (["dump", "claims", "--format", "docx"], "jsonld")],
)
def test_a_mistake_is_a_sentence_and_code_2(args: list[str], words: str) -> None:
    result = CliRunner().invoke(app, args)

    assert result.exit_code == 2
    assert words in result.stderr
