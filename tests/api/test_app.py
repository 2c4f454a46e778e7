"""The HTTP door: the same content as the command line, and every error as a problem."""

from __future__ import annotations

import json
from collections.abc import Iterator

import pytest
from fastapi.testclient import TestClient

from leastwise.api.app import create_app
from leastwise.api.settings import Settings
from leastwise.graph import Adviser
from leastwise.graph.case.demo import demo_names, demo_path, read_demo


@pytest.fixture(scope="module")
def client(adviser: Adviser) -> Iterator[TestClient]:
    settings = Settings(cache=None, max_body=20_000)
    with TestClient(
        create_app(adviser, settings),
        base_url="http://127.0.0.1",
        raise_server_exceptions=False,
    ) as client:
        yield client


@pytest.mark.parametrize("name", demo_names())
def test_options_over_http_are_the_answer_in_process_to_the_byte(
    client: TestClient, adviser: Adviser, name: str
) -> None:
    expected = adviser.weigh(read_demo(name, adviser.knowledge)).as_json()

    response = client.post(
        "/options",
        content=demo_path(name).read_bytes(),
        headers={"content-type": "application/yaml"},
    )

    assert response.status_code == 200
    assert response.text == expected


def test_json_is_taken_as_well_as_yaml(client: TestClient, adviser: Adviser) -> None:
    case = read_demo("furnishing-panel", adviser.knowledge)

    response = client.post("/options", content=case.model_dump_json())

    assert response.json()["damages"][0]["options"]


def test_the_example_of_the_documentation_is_answered(client: TestClient) -> None:
    openapi = client.get("/openapi.json").json()
    body = openapi["paths"]["/options"]["post"]["requestBody"]["content"]["application/json"]

    response = client.post("/options", json=body["examples"]["collar"]["value"])

    assert response.status_code == 200
    assert body["schema"]["$ref"].rpartition("/")[2] in openapi["components"]["schemas"]


@pytest.mark.parametrize(
    ("body", "status", "path"),
    [
        (b"{", 422, "line 1"),
        (b"", 422, "line 1"),
        (b"[]", 422, "the record"),
        (b'{"leastwise_case": 1}', 422, "parts"),
        (b"\xff\xfe", 422, "line 1"),
    ],
)
def test_a_wrong_body_is_a_problem_with_the_path(
    client: TestClient, body: bytes, status: int, path: str
) -> None:
    response = client.post("/options", content=body)

    assert response.status_code == status
    assert response.headers["content-type"] == "application/problem+json"
    problem = response.json()
    assert {"type", "title", "status", "detail", "errors"} <= set(problem)
    assert any(path in error["path"] for error in problem["errors"])


def test_a_body_over_the_limit_is_refused(client: TestClient) -> None:
    response = client.post("/options", content=b"x" * 20_001)

    assert response.status_code == 413
    assert response.headers["content-type"] == "application/problem+json"


def test_a_streamed_body_over_the_limit_is_refused(client: TestClient) -> None:
    response = client.post("/options", content=(b"x" * 1000 for _ in range(30)))

    assert response.status_code == 413


def test_a_concept_is_shown_with_claims_and_rules(client: TestClient) -> None:
    view = client.get("/concepts/material:cellulose-acetate").json()

    assert view["label"] == "cellulose acetate"
    assert "claim:M-093" in view["claims"]
    assert view["iri"] == "https://w3id.org/leastwise/material/cellulose-acetate"


def test_an_unknown_concept_is_a_problem_with_near_names(client: TestClient) -> None:
    response = client.get("/concepts/material:silkk")

    assert response.status_code == 404
    assert "material:silk" in response.json()["detail"]


@pytest.mark.parametrize(
    "path", ["/concepts/x:y", "/concepts/%00", "/concepts/rdf:type", "/nothing"]
)
def test_what_is_not_there_is_a_problem(client: TestClient, path: str) -> None:
    response = client.get(path)

    assert response.status_code == 404
    assert response.headers["content-type"] == "application/problem+json"


def test_a_wrong_method_is_a_problem(client: TestClient) -> None:
    response = client.get("/options")

    assert response.status_code == 405
    assert response.headers["content-type"] == "application/problem+json"
    assert "POST" in response.headers["allow"]


def test_the_base_of_published_iris_can_be_set(adviser: Adviser) -> None:
    settings = Settings(cache=None, base="https://museum.example/lw/")
    with TestClient(create_app(adviser, settings), base_url="http://127.0.0.1") as client:
        view = client.get("/concepts/material:silk").json()

    assert view["iri"] == "https://museum.example/lw/material/silk"


def test_health_names_the_knowledge(client: TestClient, adviser: Adviser) -> None:
    assert client.get("/health").json()["knowledge"] == adviser.knowledge.digest


def test_the_schema_is_served(client: TestClient) -> None:
    assert json.loads(client.get("/schema").text)["properties"]["leastwise_case"]
