"""/sparql: the protocol, what is refused, the limits, and the processes that queries run in."""

from __future__ import annotations

import csv
import gc
import io
import json
import os
import signal
import subprocess
import sys
import threading
import time
from collections.abc import Iterator
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path
from typing import Any

import pytest
import rdflib
from fastapi.testclient import TestClient
from rdflib.compare import isomorphic

from leastwise.api.app import create_app
from leastwise.api.processes.pool import Busy, Ended, Limits, Pool, TookTooLong
from leastwise.api.settings import Settings
from leastwise.api.sparql.examples import EXAMPLES
from leastwise.api.sparql.pool import COMMAND
from leastwise.api.sparql.service import Answered, Asked, Refused, SparqlService
from leastwise.api.sparql.text import check_query
from leastwise.graph import Adviser
from leastwise.graph.knowledge.knowledge import shipped_files
from leastwise.graph.knowledge.rules import shipped_rules
from leastwise.graph.names import BASE, PREFIXES
from tests.browser import axe_faults, overflow

FOREVER = "SELECT (COUNT(*) AS ?n) { ?a ?b ?c . ?d ?e ?f . ?g ?h ?i }"
HOG = "SELECT ?a ?d { ?a ?b ?c . ?d ?e ?f } ORDER BY ?f ?c"
ASK = "ASK { material:silk a lw:Fibre }"
DIRECT = {"content-type": "application/sparql-query"}
JSON, XML = "application/sparql-results+json", "application/sparql-results+xml"


@pytest.fixture(scope="module")
def door(adviser: Adviser) -> Iterator[TestClient]:
    """A program at the door: it asks for nothing in particular."""
    settings = Settings(cache=None, sparql_seconds=60)
    with TestClient(create_app(adviser, settings), base_url="http://127.0.0.1") as one:
        yield one


@pytest.fixture(scope="module")
def service(adviser: Adviser) -> Iterator[SparqlService]:
    """A service with tight limits."""
    made = SparqlService(adviser, Settings(cache=None, sparql_seconds=2, sparql_memory=400))
    yield made
    made.close()


def asked(door: TestClient, query: str, accept: str = "", **more: Any) -> Any:
    return door.get("/sparql", params={"query": query, **more}, headers={"accept": accept})


# The protocol


@pytest.mark.parametrize("way", ["get", "form", "direct"])
def test_a_query_can_come_in_three_ways(door: TestClient, way: str) -> None:
    if way == "get":
        answer = asked(door, ASK)
    elif way == "form":
        answer = door.post("/sparql", data={"query": ASK})
    else:
        kind = {"content-type": "application/sparql-query"}
        answer = door.post("/sparql", content=ASK, headers=kind)

    assert answer.status_code == 200, answer.text
    assert answer.headers["content-type"] == JSON
    assert answer.json()["boolean"] is True
    assert "accept" in answer.headers["vary"].lower()


QUERY = "SELECT ?l { material:silk skos:prefLabel ?l FILTER(LANG(?l) = 'en') }"


@pytest.mark.parametrize(
    ("accept", "kind", "holds"),
    [
        ("", JSON, '"value": "silk"'),
        ("*/*", JSON, '"xml:lang": "en"'),
        (XML, XML, '<literal xml:lang="en">silk</literal>'),
        ("text/csv", "text/csv; charset=utf-8", "l\r\nsilk\r\n"),
        ("text/tab-separated-values", "text/tab-separated-values; charset=utf-8", '"silk"@en'),
        (f"{XML};q=0.5, text/csv", "text/csv; charset=utf-8", "silk"),
        ("application/json", "application/json", "silk"),
    ],
)
def test_a_result_comes_in_the_form_asked_for(
    door: TestClient, accept: str, kind: str, holds: str
) -> None:
    answer = asked(door, QUERY, accept)

    assert answer.headers["content-type"] == kind
    assert holds in answer.text


@pytest.mark.parametrize(
    ("accept", "form"),
    [
        ("", "turtle"),
        ("text/turtle", "turtle"),
        ("application/n-triples", "nt"),
        ("application/rdf+xml", "xml"),
        ("application/ld+json", "json-ld"),
    ],
)
@pytest.mark.filterwarnings("ignore:ConjunctiveGraph is deprecated:DeprecationWarning")
def test_a_graph_comes_in_the_form_asked_for(door: TestClient, accept: str, form: str) -> None:
    answer = asked(door, "DESCRIBE material:silk", accept)

    assert answer.status_code == 200, answer.text
    graph = rdflib.Graph().parse(data=answer.text, format=form)
    label = rdflib.Literal("silk", lang="en")
    assert (rdflib.URIRef(BASE + "material/silk"), rdflib.SKOS.prefLabel, label) in graph


def test_all_forms_of_a_result_say_the_same(door: TestClient) -> None:
    query = """SELECT ?s ?o ?n ?x { ?s skos:prefLabel ?o FILTER isIRI(?s)
        OPTIONAL { ?s skos:altLabel ?n }
        BIND("a,\\"b\\"\\n<c>&\\t" AS ?x) } ORDER BY ?s ?o ?n LIMIT 200"""
    rows = asked(door, query).json()["results"]["bindings"]
    plain = [[row.get(n, {"value": ""})["value"] for n in ("s", "o", "n", "x")] for row in rows]

    table = list(csv.reader(io.StringIO(asked(door, query, "text/csv").text, newline="")))
    assert table == [["s", "o", "n", "x"], *plain]
    for accept, form in ((XML, "xml"), ("text/tab-separated-values", "tsv"), (JSON, "json")):
        text = asked(door, query, accept).content
        found = rdflib.query.Result.parse(io.BytesIO(text), format=form)
        values = [[str(v) if v is not None else "" for v in row] for row in found]
        assert values == plain, form


@pytest.mark.parametrize(
    ("query", "accept", "status"),
    [
        (ASK, "text/turtle", 406),
        ("DESCRIBE material:silk", "text/csv", 406),
        (ASK, "image/png", 406),
        ("SELECT * WHERE {\n ?s ?p", "", 400),
        ("", "", 400),
        ("# nothing", "", 400),
        ("INSERT DATA { <a:a> <a:b> <a:c> }", "", 400),
        ("PREFIX a: <b:c> DELETE WHERE { ?s ?p ?o }", "", 400),
        ("LOAD <http://127.0.0.1/x>", "", 400),
        ("CLEAR ALL", "", 400),
        ("SELECT * { SERVICE <http://127.0.0.1/x> { ?s ?p ?o } }", "", 400),
        ("SELECT * { SERVICE SILENT <http://127.0.0.1/x> { ?s ?p ?o } }", "", 400),
        ("SELECT * { service<http://127.0.0.1/x>{ ?s ?p ?o } }", "", 400),
        ("SELECT * FROM <http://127.0.0.1/x> { ?s ?p ?o }", "", 400),
        ("SELECT * FROM NAMED <http://127.0.0.1/x> { ?s ?p ?o }", "", 400),
        ("SELECT * { ?s ?p ?o }", "", 413),
        ("ASK {} #" + "x" * 70_000, "", 413),
    ],
)
def test_what_can_not_be_answered_is_a_problem(
    door: TestClient, query: str, accept: str, status: int
) -> None:
    form = {"content-type": "application/sparql-query", "accept": accept}
    answer = door.post("/sparql", content=query, headers=form)

    assert answer.status_code == status, answer.text
    assert answer.headers["content-type"] == "application/problem+json"
    assert answer.json()["detail"]


def test_a_fault_names_line_and_column(door: TestClient) -> None:
    fault = asked(door, "SELECT * WHERE {\n  ?s ?p )\n}").json()

    assert fault["detail"].startswith("Line 3, column 1") or "Line 2" in fault["detail"]
    assert fault["errors"][0]["path"].startswith("query, line ")
    unknown = asked(door, "SELECT * {\n ?s nothing:x ?o }").json()["detail"]
    assert unknown.startswith("Line 2")
    assert "Prefix not found" in unknown


def test_words_in_texts_comments_and_names_are_not_refused() -> None:
    for query in (
        '# SERVICE <x>\nASK { ?s ?p "SERVICE <x> { }" }',
        "PREFIX load: <http://x/> SELECT ?service { ?service load:delete ?insert }",
        "ASK { ?s ?p '''INSERT \n DATA''' }",
        "PREFIX services: <http://x/> SELECT * { ?s services:needs ?o }",
        "PREFIX service: <http://x/> SELECT * { GRAPH service:one { ?s a service:Two } }",
    ):
        assert check_query(query, ()) is None


@pytest.mark.parametrize(
    "call",
    [
        "SERVICE ex:x { ?s ?p ?o }",
        "SERVICEex:x { ?s ?p ?o }",  # the engine reads it as SERVICE ex:x
        "serviceex:x # told\n { ?s ?p ?o }",
        "SERVICE?s { ?s ?p ?o }",
        "SERVICESILENT<http://127.0.0.1/x> { ?s ?p ?o }",
        "?s ?p 1SERVICE <http://127.0.0.1/x> { ?a ?b ?c }",
        "?s ?p trueSERVICE <http://127.0.0.1/x> { ?a ?b ?c }",
        "?s ?p 1.5e0SERVICE<http://127.0.0.1/x> { ?a ?b ?c }",
        "?s ?p 1SERVICE:x { ?a ?b ?c }",
        "?s ?p trueSERVICE:x { ?a ?b ?c }",
        "?s ?p 'x'@en.SERVICE ex:x { ?a ?b ?c }",
    ],
)
def test_no_way_of_writing_it_asks_another_service(call: str) -> None:
    query = f"PREFIX SERVICEex: <http://a/> PREFIX ex: <http://127.0.0.1/> SELECT * {{ {call} }}"
    fault = check_query(query, ())

    assert fault is not None
    assert "SERVICE is refused" in fault.what


@pytest.mark.parametrize("name", ["default-graph-uri", "named-graph-uri"])
def test_a_graph_that_is_not_offered_is_refused(door: TestClient, name: str) -> None:
    answer = asked(door, ASK, **{name: "http://127.0.0.1/other"})

    assert answer.status_code == 400
    assert "graph/knowledge" in answer.json()["detail"]


def test_the_graphs_can_be_asked_alone(door: TestClient) -> None:
    def count(**more: str) -> int:
        query = "SELECT (COUNT(*) AS ?n) { ?s ?p ?o }"
        return int(asked(door, query, **more).json()["results"]["bindings"][0]["n"]["value"])

    knowledge, rules = BASE + "graph/knowledge", BASE + "graph/rules"
    one, other = (count(**{"default-graph-uri": graph}) for graph in (knowledge, rules))
    assert one > 10_000
    assert other > 1000
    assert count() == one + other
    within = "ASK { GRAPH ?g { ?r a sh:NodeShape } }"
    assert asked(door, within, **{"named-graph-uri": rules}).json()["boolean"] is True
    assert asked(door, within, **{"named-graph-uri": knowledge}).json()["boolean"] is False
    assert asked(door, ASK, **{"named-graph-uri": rules}).json()["boolean"] is False


@pytest.mark.parametrize(
    ("request_of", "status"),
    [
        (lambda d: d.get("/sparql?update=CLEAR+ALL"), 400),
        (lambda d: d.post("/sparql", data={"update": "CLEAR ALL"}), 400),
        (lambda d: d.get("/sparql?query=ASK{}&query=ASK{}"), 400),
        (lambda d: d.post("/sparql", data={"a": "b"}), 400),
        (lambda d: d.post("/sparql", json={"query": ASK}), 415),
        (lambda d: d.post("/sparql", content=b"\xff", headers=DIRECT), 400),
        (lambda d: d.get("/sparql?query=ASK{}&format=doc"), 400),
        (lambda d: d.put("/sparql", content=ASK), 405),
    ],
)  # fmt: skip
def test_what_the_protocol_does_not_allow_is_a_problem(
    door: TestClient, request_of: Any, status: int
) -> None:
    answer = request_of(door)

    assert answer.status_code == status
    assert answer.headers["content-type"] == "application/problem+json"


def test_without_a_query_the_service_describes_itself(door: TestClient) -> None:
    texts = {
        form: door.get("/sparql", headers={"accept": media}).text
        for form, media in (("turtle", "*/*"), ("nt", "application/n-triples"))
    }
    graphs = [rdflib.Graph().parse(data=text, format=form) for form, text in texts.items()]

    assert isomorphic(*graphs)
    language = rdflib.URIRef("http://www.w3.org/ns/sparql-service-description#SPARQL11Query")
    assert any(language in triple for triple in graphs[0])


def test_names_are_asked_for_under_the_base_they_are_published_at(adviser: Adviser) -> None:
    settings = Settings(cache=None, base="https://museum.example/lw/", sparql_seconds=60)
    with TestClient(create_app(adviser, settings), base_url="http://127.0.0.1") as door:
        answer = asked(door, "SELECT ?s { ?s a lw:Fibre FILTER(?s = material:silk) }", "text/csv")

    assert answer.text == "s\r\nhttps://museum.example/lw/material/silk\r\n"


# The examples, and rdflib as referee


@pytest.fixture(scope="module")
def referee() -> rdflib.Graph:
    graph = rdflib.Graph()
    for path in (*shipped_files("seed_data"), *shipped_rules()):
        graph.parse(path, format="turtle")
    return graph


@pytest.mark.slow
@pytest.mark.parametrize("example", EXAMPLES, ids=lambda e: e.key)
def test_each_example_finds_something_and_rdflib_finds_the_same(
    door: TestClient, referee: rdflib.Graph, example: Any
) -> None:
    expected = referee.query(example.query)
    if expected.type == "ASK":
        assert asked(door, example.query).json()["boolean"] is expected.askAnswer is True
    elif expected.type == "CONSTRUCT":
        found = rdflib.Graph().parse(data=asked(door, example.query).text, format="turtle")
        assert len(found) > 0
        assert set(found) == set(expected.graph)
    else:
        content = asked(door, example.query, JSON).content
        result = rdflib.query.Result.parse(io.BytesIO(content), format="json")
        assert [str(v) for v in result.vars] == [str(v) for v in expected.vars]
        rows = sorted(tuple(str(v) for v in row) for row in result)
        assert rows
        assert rows == sorted(tuple(str(v) for v in row) for row in expected)


# The limits


def test_a_query_that_runs_forever_is_ended_and_the_next_one_works(service: SparqlService) -> None:
    assert isinstance(service.answer(Asked(ASK, "json", "")), Answered)
    start = time.monotonic()
    refused = service.answer(Asked(FOREVER, "json", ""))
    took = time.monotonic() - start

    assert isinstance(refused, Refused)
    assert refused.status == 504
    assert 1.9 < took < 10
    assert isinstance(service.answer(Asked(ASK, "json", "")), Answered)


def test_a_query_that_takes_too_much_memory_is_ended(adviser: Adviser) -> None:
    service = SparqlService(adviser, Settings(cache=None, sparql_seconds=120, sparql_memory=400))
    try:
        assert isinstance(service.answer(Asked(ASK, "json", "")), Answered)
        (pid,) = service.pool.pids
        refused = service.answer(Asked(HOG, "json", ""))
        assert isinstance(refused, Refused)
        assert refused.status == 507
        assert pid not in service.pool.pids
        assert isinstance(service.answer(Asked(ASK, "json", "")), Answered)
    finally:
        service.close()


def test_a_query_that_breaks_the_engine_harms_nobody(service: SparqlService) -> None:
    deep = f"SELECT ({'(' * 20_000}1{')' * 20_000} AS ?x) {{}}"
    refused = service.answer(Asked(deep, "json", ""))

    assert isinstance(refused, Refused)
    assert refused.status in (400, 504, 507)
    assert isinstance(service.answer(Asked(ASK, "json", "")), Answered)


def test_a_worker_can_open_no_connection_and_no_file(service: SparqlService) -> None:
    """Should SERVICE ever get past the reading of the query, nothing goes out."""
    frame = service._frame(Asked("", "json", ""))
    query = "SELECT * { SERVICE <http://127.0.0.1:8080/sparql> { ?s ?p ?o } }"
    header, _ = service.pool.ask(frame | {"query": query})

    assert header["status"] == "failed"
    assert "Too many open files" in header["message"] or "os error 24" in header["message"]


def test_a_result_is_refused_and_not_cut_off_unless_the_page_asks(service: SparqlService) -> None:
    query = "SELECT ?s { ?s ?p ?o } ORDER BY ?s LIMIT 30"
    whole = service.answer(Asked(query, "json", "", rows=30))
    refused = service.answer(Asked(query, "json", "", rows=29))
    cut = service.answer(Asked(query, "json", "", rows=29, cut=True))

    assert isinstance(whole, Answered)
    assert (whole.rows, whole.cut) == (30, False)
    assert isinstance(refused, Refused)
    assert refused.status == 413
    assert isinstance(cut, Answered)
    assert (cut.rows, cut.cut, len(json.loads(cut.body)["results"]["bindings"])) == (29, True, 29)


def test_twenty_queries_at_once_are_all_answered(door: TestClient) -> None:
    def one(number: int) -> tuple[int, int]:
        answer = asked(door, f"SELECT ({number} AS ?n) {{ material:silk a lw:Fibre }}")
        return answer.status_code, int(answer.json()["results"]["bindings"][0]["n"]["value"])

    with ThreadPoolExecutor(20) as crowd:
        found = list(crowd.map(one, range(20)))

    assert found == [(200, number) for number in range(20)]


def test_other_pages_and_queries_answer_while_a_slow_query_runs(adviser: Adviser) -> None:
    app = create_app(adviser, Settings(cache=None, sparql_seconds=120))
    with TestClient(app, base_url="http://127.0.0.1") as door, ThreadPoolExecutor(1) as other:
        asked(door, ASK)
        slow = other.submit(asked, door, FOREVER)
        time.sleep(0.3)
        assert door.get("/health").status_code == 200
        assert asked(door, ASK).json()["boolean"] is True
        assert not slow.done()
        app.state.sparql.close()  # what runs ends with it
        assert slow.result().status_code == 507


def test_a_crowd_is_turned_away_with_the_time_to_come_again(adviser: Adviser) -> None:
    service = SparqlService(adviser, Settings(cache=None))
    small = Pool(service.pool.setup, COMMAND, Limits(seconds=1, workers=1, waiting=1))
    frame = service._frame(Asked(FOREVER, "json", ""))
    faults: list[str] = []

    def ask() -> None:
        try:
            small.ask(frame)
        except (Busy, TookTooLong) as error:
            faults.append(type(error).__name__)

    try:
        crowd = [threading.Thread(target=ask) for _ in range(4)]
        for one in crowd:
            one.start()
        for one in crowd:
            one.join()
        assert sorted(faults) == ["Busy", "Busy", "TookTooLong", "TookTooLong"]
        service.__dict__["pool"] = small
        small.close()  # a closed pool takes nobody
        refused = service.answer(Asked(ASK, "json", ""))
        assert isinstance(refused, Refused)
        assert refused.status == 503
    finally:
        small.close()


def test_a_busy_service_says_when_to_come_again(door: TestClient, adviser: Adviser) -> None:
    app = create_app(adviser, Settings(cache=None))
    with TestClient(app, base_url="http://127.0.0.1") as other:
        asked(other, "")
        app.state.sparql.pool.close()
        answer = asked(other, ASK)

    assert answer.status_code == 503
    assert int(answer.headers["retry-after"]) > 0


@pytest.mark.parametrize(
    ("name", "value", "field", "kept"),
    [
        ("LEASTWISE_SPARQL_SECONDS", "3", "sparql_seconds", 3),
        ("LEASTWISE_SPARQL_MEMORY", "512", "sparql_memory", 512),
        ("LEASTWISE_SPARQL_ROWS", "7", "sparql_rows", 7),
    ],
)
def test_the_limits_can_be_set_and_a_wrong_one_is_named(
    name: str, value: str, field: str, kept: int
) -> None:
    assert getattr(Settings.from_environment({name: value}), field) == kept
    for wrong in ("0", "-1", "many", "1.5", "\N{SUPERSCRIPT TWO}"):
        with pytest.raises(ValueError, match=name):
            Settings.from_environment({name: wrong})


# The processes


def gone(pid: int, seconds: float = 10.0) -> bool:
    until = time.monotonic() + seconds
    while time.monotonic() < until:
        try:
            state = Path(f"/proc/{pid}/stat").read_text("utf-8").rpartition(")")[2].split()[0]
        except FileNotFoundError:
            return True
        if state in "ZX":
            return True
        time.sleep(0.05)
    return False


def test_no_worker_is_started_before_the_first_query_and_none_is_left(adviser: Adviser) -> None:
    app = create_app(adviser, Settings(cache=None, sparql_seconds=60))
    with TestClient(app, base_url="http://127.0.0.1") as door:
        door.get("/sparql", headers={"accept": "text/html"})
        assert app.state.sparql.pool.pids == []
        asked(door, ASK)
        (pid,) = app.state.sparql.pool.pids
        assert not gone(pid, 0.1)

    assert gone(pid)


def test_a_pool_that_nobody_holds_any_more_ends_its_workers(adviser: Adviser) -> None:
    service = SparqlService(adviser, Settings(cache=None, sparql_seconds=60))
    service.answer(Asked(ASK, "json", ""))
    (pid,) = service.pool.pids
    del service

    gc.collect()
    assert gone(pid)


PARENT = """
import sys, threading
from leastwise.api.settings import Settings
from leastwise.api.sparql.service import Asked, SparqlService
from leastwise.graph import load_adviser
service = SparqlService(load_adviser(), Settings(cache=None, sparql_seconds=3))
service.answer(Asked("ASK {}", "json", ""))
print(service.pool.pids[0], flush=True)
if sys.argv[1] == "busy":
    service.answer(Asked(sys.argv[2], "json", ""))
threading.Event().wait(60)
"""


@pytest.mark.slow
@pytest.mark.parametrize("state", ["idle", "busy"])
def test_a_worker_ends_when_its_server_is_killed(state: str) -> None:
    command = [sys.executable, "-c", PARENT, state, FOREVER]
    with subprocess.Popen(command, stdout=subprocess.PIPE, text=True) as parent:  # noqa: S603
        assert parent.stdout is not None
        pid = int(parent.stdout.readline())
        time.sleep(0.5)
        os.kill(parent.pid, signal.SIGKILL)

    assert gone(pid, 15)  # in the middle of a query the alarm ends it, 2 s after the limit


def test_an_end_that_nobody_ordered_is_told(service: SparqlService) -> None:
    service.answer(Asked(ASK, "json", ""))
    pool = service.pool
    for pid in pool.pids:
        os.kill(pid, signal.SIGKILL)
    with pytest.raises(Ended):
        pool.ask(service._frame(Asked(ASK, "json", "")))
    assert isinstance(service.answer(Asked(ASK, "json", "")), Answered)


# The page


def page_of(door: TestClient, **params: str) -> Any:
    return door.get("/sparql", params=params, headers={"accept": "text/html"})


def test_a_browser_gets_a_form_with_examples_and_prefixes(door: TestClient) -> None:
    text = page_of(door).text

    assert '<textarea id="query"' in text
    assert all(f"{prefix}:" in text for prefix in PREFIXES)
    assert text.count("?query=") >= len(EXAMPLES) >= 8


def test_a_result_is_a_table_with_links_to_the_concepts(door: TestClient) -> None:
    text = page_of(door, query="SELECT ?s { ?s a lw:Fibre }").text

    assert '<a href="/concepts/material:silk">material:silk</a>' in text
    assert "format=csv" in text


def test_a_fault_stands_beside_the_field_and_the_query_is_kept(door: TestClient) -> None:
    query = 'SELECT * { ?s ?p <b>"&</textarea><script>alert(1)</script>'
    answer = page_of(door, query=query)

    assert answer.status_code == 400
    assert 'id="query-error"' in answer.text
    assert "<script>alert" not in answer.text
    assert "&lt;/textarea&gt;&lt;script&gt;alert(1)" in answer.text


def test_hostile_values_are_shown_as_text(door: TestClient) -> None:
    query = 'SELECT ("<img src=x onerror=alert(1)>" AS ?a) (<javascript:alert(1)> AS ?b) {}'
    text = page_of(door, query=query).text

    assert "<img" not in text
    assert 'href="javascript' not in text


def test_what_is_not_found_is_said_so(door: TestClient) -> None:
    assert "Nothing was found" in page_of(door, query="SELECT * { material:none ?p ?o }").text
    assert "<strong>No.</strong>" in page_of(door, query="ASK { material:none ?p ?o }").text
    assert "<strong>Yes.</strong>" in page_of(door, query=ASK).text


def test_the_page_shows_the_beginning_of_a_long_result(door: TestClient) -> None:
    text = page_of(door, query="SELECT ?s { ?s ?p ?o }").text

    assert "The first 500 rows of more." in text


def test_the_form_is_fit_for_keyboard_and_narrow_windows(page: Any) -> None:
    page.goto("/sparql")
    page.fill("#query", "SELECT * {\n ?s ?p )")
    page.press("#query", "Control+Enter")
    page.wait_for_selector("#query-error")
    assert page.evaluate("document.activeElement.id") == "query"
    page.fill("#query", "SELECT ?s { ?s a lw:Fibre }")
    page.press("#query", "Control+Enter")
    page.wait_for_selector("table.found")
    for width in (1280, 820, 390):
        page.set_viewport_size({"width": width, "height": 900})
        assert axe_faults(page) == []
        assert overflow(page) == []
