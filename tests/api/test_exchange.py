"""Exports over command line and HTTP: the same graphs, in whatever way they are written."""

from __future__ import annotations

import json
import os
import subprocess
import sys
from collections.abc import Callable, Iterator
from pathlib import Path

import pyoxigraph
import pytest
from fastapi.testclient import TestClient
from rdflib import Graph, Literal, URIRef
from rdflib.compare import isomorphic
from rdflib.namespace import DCTERMS, RDF, SKOS
from typer.testing import CliRunner

from leastwise.api.app import create_app
from leastwise.api.cli.app import app
from leastwise.api.http.negotiation import preferred
from leastwise.api.services.exports import export_graph
from leastwise.api.settings import Settings
from leastwise.graph import Adviser, Case, read_demo
from leastwise.graph.case.demo import demo_path
from leastwise.graph.exchange.jsonld import context_path, context_text, make_context
from leastwise.graph.exchange.rdf_out import FORMATS, UnknownFormat, concept_graph, name, written
from leastwise.graph.names import BASE, LW
from tests.apps import Apps

#: rdflib's own reader of JSON-LD still uses a class that rdflib has deprecated.
pytestmark = pytest.mark.filterwarnings("ignore:ConjunctiveGraph is deprecated:DeprecationWarning")

ENV = {"COLUMNS": "140", "NO_COLOR": "1"}
KINDS = ("crm", "prov", "case")
PARSERS = {"turtle": "turtle", "jsonld": "json-ld", "ntriples": "nt"}
NTRIPLES = pyoxigraph.RdfFormat.N_TRIPLES
YAML = {"content-type": "application/yaml"}


def run(*args: str, **env: str):  # type: ignore[no-untyped-def]
    return CliRunner(env=ENV | env).invoke(app, list(args))


def read(text: str, form: str) -> Graph:
    return Graph().parse(data=text, format=PARSERS[form])


@pytest.fixture(scope="module")
def client(apps: Apps) -> Iterator[TestClient]:
    app = apps.anew(Settings(cache=None))
    with TestClient(app, base_url="http://127.0.0.1", raise_server_exceptions=False) as client:
        yield client


@pytest.mark.parametrize("form", FORMATS)
@pytest.mark.parametrize(
    "title", ['a "b" \\ <c>', "two\nlines", "a\u2028b\u0085c", "\u00e4\U0001f9f5", " "]
)
def test_any_text_of_a_record_survives(
    make_case: Callable[..., Case], adviser: Adviser, title: str, form: str
) -> None:
    graph = export_graph("case", make_case(title=title), adviser, BASE)

    assert isomorphic(read(written(graph, form), form), graph)
    assert title in {str(o) for o in graph.objects(None, DCTERMS.title)}


@pytest.mark.parametrize(
    ("called", "iri"),
    [
        ("material:silk", f"{BASE}material/silk"),
        ("https://museum.example/claim/1", "https://museum.example/claim/1"),
        ("_:f1n2", f"{BASE}.well-known/genid/f1n2"),
    ],
)
def test_what_a_collection_names_elsewhere_has_a_name_in_an_export(called: str, iri: str) -> None:
    assert name(called) == URIRef(iri)


@pytest.mark.parametrize("kind", KINDS)
def test_another_reader_of_jsonld_finds_the_same(adviser: Adviser, kind: str) -> None:
    case = read_demo("furnishing-panel", adviser.knowledge)
    graph = export_graph(kind, case, adviser, BASE)
    quads = pyoxigraph.parse(written(graph, "jsonld"), format=pyoxigraph.RdfFormat.JSON_LD)
    lines = pyoxigraph.serialize((quad.triple for quad in quads), format=NTRIPLES)

    assert isomorphic(read((lines or b"").decode(), "ntriples"), graph)


@pytest.mark.parametrize("kind", KINDS)
def test_turtle_jsonld_and_ntriples_say_the_same(adviser: Adviser, kind: str) -> None:
    case = read_demo("furnishing-panel", adviser.knowledge)
    graph = export_graph(kind, case, adviser, BASE)

    for form in FORMATS:
        assert isomorphic(read(written(graph, form), form), graph), form


def test_a_round_trip_through_both_syntaxes_loses_nothing(adviser: Adviser) -> None:
    for concept in ("technique:steam", "claim:M-001", "test:acetone-drop", "policy:conservative"):
        graph = concept_graph(concept, adviser.knowledge, adviser.rules)
        there = read(written(graph, "jsonld"), "jsonld")
        back = read(written(there, "turtle"), "turtle")

        assert len(graph) > 5
        assert isomorphic(back, graph), concept


def test_the_kept_context_is_the_one_that_the_vocabulary_gives() -> None:
    code = "from leastwise.graph.exchange.jsonld import write_context; write_context()"
    mend = f"run: python -c '{code}'"

    assert context_path().read_text("utf-8") == context_text(), mend


def test_the_context_names_every_property_whose_values_are_of_one_kind(adviser: Adviser) -> None:
    terms, k = make_context()["@context"], adviser.knowledge
    ours = {name for name in terms if name.startswith("lw:")}

    assert ours >= set(k.instances("owl:ObjectProperty"))
    assert not ours & set(k.instances("owl:AnnotationProperty"))
    assert {terms[one]["@type"] for one in ours} == {
        "@id", "xsd:boolean", "xsd:decimal", "xsd:integer",
    }  # fmt: skip
    assert terms["lw:agent"]["@type"] == "@id"
    assert terms["lw:meetsAim"]["@type"] == "xsd:boolean"


def test_the_context_reads_plain_json_as_our_vocabulary() -> None:
    data = json.loads(context_path().read_text("utf-8"))
    data |= {"@id": "claim:own", "lw:agent": "agent:heat"}
    graph = read(json.dumps(data), "jsonld")

    assert (
        URIRef(BASE + "claim/own"),
        URIRef(LW + "agent"),
        URIRef(BASE + "agent/heat"),
    ) in graph


@pytest.mark.parametrize(
    ("kind", "form"), [("crm", "jsonld"), ("prov", "turtle"), ("case", "ntriples")]
)
def test_the_command_writes_what_http_gives(client: TestClient, kind: str, form: str) -> None:
    printed = run("export", "demo:furnishing-panel", "--as", kind, "--format", form)
    sent = client.post(
        f"/export?as={kind}",
        content=demo_path("furnishing-panel").read_bytes(),
        headers=YAML | {"accept": FORMATS[form]},
    )

    assert printed.exit_code == 0
    assert sent.status_code == 200
    assert sent.headers["content-type"].startswith(FORMATS[form])
    assert sent.text == printed.stdout
    assert len(read(sent.text, form)) > 100


def test_an_export_goes_to_a_file(tmp_path: Path) -> None:
    target = tmp_path / "panel.ttl"
    result = run("export", "demo:furnishing-panel", "--as", "case", "--output", str(target))

    assert (result.exit_code, result.stdout) == (0, "")
    graph = Graph().parse(target)
    record = URIRef(f"{BASE}case/furnishing-panel/record")
    assert (record, RDF.type, URIRef(LW + "Case")) in graph
    assert "invented" in str(graph.value(record, SKOS.note))


@pytest.mark.parametrize(
    ("args", "words"),
    [
        (["export", "demo:none"], "furnishing-panel"),
        (["export", "nowhere.yaml"], "nowhere.yaml"),
        (["export", "demo:furnishing-panel", "--as", "xml"], "crm"),
        (["export", "demo:furnishing-panel", "--format", "xml"], "turtle"),
        (["export", "demo:furnishing-panel", "--as", "case", "--output", "/nowhere/x"], "/nowhere"),
        (["weigh", "demo:furnishing-panel", "--lang", "xx"], "en, de"),
    ],
)
def test_a_mistake_is_a_sentence_and_code_2(args: list[str], words: str) -> None:
    result = run(*args)

    assert result.exit_code == 2
    assert words in result.stderr
    assert "Traceback" not in result.stderr


@pytest.mark.slow
def test_an_export_is_the_same_text_whatever_the_hash_seed(tmp_path: Path) -> None:
    program = "from leastwise.api.cli import main; main()"
    args = ["export", "demo:furnishing-panel", "--as", "crm", "--format", "jsonld"]
    texts = [
        subprocess.run(  # noqa: S603 - our own program
            [sys.executable, "-c", program, *args],
            env=os.environ | ENV | {"PYTHONHASHSEED": seed},
            capture_output=True,
            check=True,
        ).stdout
        for seed in ("1", "2")
    ]

    assert texts[0] == texts[1]
    assert texts[0]


def test_an_unknown_way_of_writing_is_told() -> None:
    with pytest.raises(UnknownFormat, match="turtle, jsonld, ntriples"):
        written(Graph(), "xml")


@pytest.mark.parametrize(
    ("query", "headers", "body", "status"),
    [
        ("?as=xml", {}, b"{}", 422),
        ("", {}, b"{}", 422),
        ("", {"accept": "image/png"}, b"{}", 406),
        ("", {"accept": "text/turtle;q=0"}, b"{}", 406),
    ],
)
def test_what_cannot_be_exported_is_a_problem(
    client: TestClient, query: str, headers: dict[str, str], body: bytes, status: int
) -> None:
    response = client.post(f"/export{query}", content=body, headers=headers)

    assert response.status_code == status
    assert response.headers["content-type"] == "application/problem+json"


def test_the_example_of_the_documentation_is_exported(client: TestClient) -> None:
    openapi = client.get("/openapi.json").json()
    body = openapi["paths"]["/export"]["post"]["requestBody"]["content"]["application/json"]

    response = client.post("/export", json=body["examples"]["collar"]["value"])

    assert response.status_code == 200
    assert response.headers["content-type"].startswith("text/turtle")
    assert "E29_Design_or_Procedure" in response.text


def test_the_context_is_served(client: TestClient) -> None:
    response = client.get("/context.jsonld")

    assert response.headers["content-type"] == "application/ld+json"
    assert response.json()["@context"]["lw"] == LW


@pytest.mark.parametrize("form", FORMATS)
@pytest.mark.parametrize(
    "concept", ["material:silk", "claim:M-001", "lw:agent", "source:aat-extract"]
)
def test_a_concept_comes_as_triples_where_they_are_asked_for(
    client: TestClient, adviser: Adviser, concept: str, form: str
) -> None:
    response = client.get(f"/concepts/{concept}", headers={"accept": FORMATS[form]})

    assert response.status_code == 200
    assert response.headers["content-type"].startswith(FORMATS[form])
    assert response.headers["vary"] == "Accept"
    expected = concept_graph(concept, adviser.knowledge, adviser.rules)
    assert isomorphic(read(response.text, form), expected)


def test_a_rule_comes_as_triples_too(client: TestClient, adviser: Adviser) -> None:
    rule = sorted(adviser.rules.rules)[0]
    text = client.get(f"/concepts/{rule}", headers={"accept": "text/turtle"}).text

    assert adviser.rules.rules[rule].message in text


@pytest.mark.parametrize(
    "accept", ["", "*/*", "application/json", "text/turtle;q=0.5, application/json"]
)
def test_a_concept_is_json_otherwise(client: TestClient, accept: str) -> None:
    response = client.get("/concepts/material:silk", headers={"accept": accept})

    assert response.headers["content-type"] == "application/json"
    assert response.json()["label"] == "silk"


@pytest.mark.parametrize("accept", ["text/turtle", "application/ld+json"])
def test_an_unknown_concept_is_a_problem_in_any_syntax(client: TestClient, accept: str) -> None:
    response = client.get("/concepts/material:silkk", headers={"accept": accept})

    assert response.status_code == 404
    assert response.headers["content-type"] == "application/problem+json"


def test_names_are_published_under_the_base_and_the_vocabulary_stays(adviser: Adviser) -> None:
    base = "https://museum.example/lw/"
    with TestClient(
        create_app(adviser, Settings(cache=None, base=base)), base_url="http://127.0.0.1"
    ) as client:
        turtle = client.get("/concepts/material:silk", headers={"accept": "text/turtle"}).text
        linked = client.get("/concepts/material:silk", headers={"accept": "application/ld+json"})
        case = client.post(
            "/export?as=case", content=demo_path("furnishing-panel").read_bytes(), headers=YAML
        ).text
    graph, other = read(turtle, "turtle"), read(linked.text, "jsonld")

    assert isomorphic(graph, other)
    assert (URIRef(f"{base}material/silk"), SKOS.prefLabel, Literal("silk", lang="en")) in graph
    assert (URIRef(f"{base}material/silk"), SKOS.inScheme, URIRef(LW + "materials")) in graph
    assert BASE + "material" not in turtle + case
    assert LW in case


@pytest.mark.parametrize(
    ("accept", "media"),
    [
        ("", "a/x"),
        ("*/*", "a/x"),
        ("a/*;q=0.1, b/y;q=0.2", "b/y"),
        ("b/y, a/x", "a/x"),
        ("*/*;q=0.5, a/x;q=0.1", "b/y"),
        ("A/X", "a/x"),
        ("a/x;q=high", "a/x"),
        ("c/z", None),
        ("a/x;q=0", None),
    ],
)
def test_the_accept_header_chooses(accept: str, media: str | None) -> None:
    assert preferred(accept, ["a/x", "b/y"]) == media


def test_labels_are_german_by_option_and_by_setting() -> None:
    case = "demo:furnishing-panel"
    by_option = run("weigh", case, "--lang", "de")
    by_setting = run("weigh", case, LEASTWISE_LANG="de")
    over_setting = run("weigh", case, "--lang", "en", LEASTWISE_LANG="de")

    assert "Fadenverlust in einer Richtung" in by_option.stdout
    assert by_setting.stdout == by_option.stdout
    assert "Fadenverlust" not in over_setting.stdout


def test_the_help_says_that_sentences_stay_english() -> None:
    assert "every sentence, is English" in " ".join(run("weigh", "--help").stdout.split())
