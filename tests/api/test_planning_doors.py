"""Plan and review on the command line and over HTTP: the same bytes; faults are told."""

from __future__ import annotations

import json
from collections.abc import Iterator
from pathlib import Path

import pytest
from fastapi.testclient import TestClient
from typer.testing import CliRunner

from leastwise.api.app import create_app
from leastwise.api.cli.app import app
from leastwise.api.settings import Settings
from leastwise.graph import Adviser, read_demo
from leastwise.graph.case.demo import demo_names, demo_path
from leastwise.graph.planning.make import make_plan
from leastwise.graph.proposal.check import review
from leastwise.graph.proposal.received import demo_proposal, read_proposal

ENV = {"COLUMNS": "140", "NO_COLOR": "1"}
YAML = {"content-type": "application/yaml"}


def run(*args: str):  # type: ignore[no-untyped-def]
    return CliRunner(env=ENV).invoke(app, list(args))


@pytest.fixture(scope="module")
def client(adviser: Adviser) -> Iterator[TestClient]:
    with TestClient(
        create_app(adviser, Settings(cache=None)),
        base_url="http://127.0.0.1",
        raise_server_exceptions=False,
    ) as client:
        yield client


@pytest.mark.parametrize("undecided", [False, True])
@pytest.mark.parametrize("name", demo_names())
def test_a_plan_over_http_is_the_plan_in_process_to_the_byte(
    client: TestClient, adviser: Adviser, name: str, *, undecided: bool
) -> None:
    expected = make_plan(read_demo(name, adviser.knowledge), adviser, undecided=undecided).as_json()

    response = client.post(
        "/plan",
        params={"undecided": undecided},
        content=demo_path(name).read_bytes(),
        headers=YAML,
    )

    assert response.status_code == 200
    assert response.text == expected


def test_the_command_line_prints_the_same_plan_and_review(adviser: Adviser) -> None:
    plan = run("plan", "demo:guild-banner", "--undecided", "--json")
    check = run("review", "demo:hasty-dancer", "--json")

    case = read_demo("guild-banner", adviser.knowledge)
    assert plan.stdout == make_plan(case, adviser, undecided=True).as_json()
    read = read_proposal(demo_proposal("hasty-dancer"), adviser.knowledge)
    assert check.stdout == review(*read, adviser).as_json()


@pytest.mark.parametrize("name", demo_names())
def test_tables_say_people_steps_limits_and_what_is_left(name: str) -> None:
    result = run("plan", f"demo:{name}", "--undecided")

    assert result.exit_code == 0
    for words in ("People first", "Steps", "Limits to use", "What hours buy", "licensed practice"):
        assert words in result.stdout
    assert "\x1b" not in result.stdout


def test_tables_say_how_far_published_projects_lie_from_the_hours(adviser: Adviser) -> None:
    plan = make_plan(read_demo("festival-dancer", adviser.knowledge), adviser, undecided=True)
    shown = run("plan", "demo:festival-dancer", "--undecided").stdout

    assert plan.hours_of_projects is not None
    assert plan.hours_of_projects.in_words in " ".join(shown.split())


def test_a_review_says_weight_reason_and_claims() -> None:
    result = run("review", "demo:hasty-dancer")

    assert result.exit_code == 0
    for words in ("invented demo proposal", "Must", "Because", "Would settle it", "E-270"):
        assert words in result.stdout


@pytest.mark.parametrize(
    ("args", "words"),
    [
        (["plan", "no-such-file.yaml"], "No such file"),
        (["plan", "demo:none"], "festival-dancer"),
        (["review", "no-such-file.yaml"], "No such file"),
        (["review", "demo:none"], "hasty-dancer"),
        (["review"], "expected a proposal file"),
        (["plan", "demo:guild-banner", "--with", "no-such-folder"], "is not a folder"),
    ],
)
def test_a_mistake_is_a_sentence_and_exit_code_2(args: list[str], words: str) -> None:
    result = run(*args)

    assert result.exit_code == 2
    assert words in result.output
    assert "Traceback" not in result.output


def test_the_schema_of_a_proposal_is_printed() -> None:
    assert json.loads(run("review", "--schema").stdout)["title"] == "Proposal"


@pytest.mark.parametrize("command", ["plan", "review"])
def test_help_has_an_example(command: str) -> None:
    assert "Example: leastwise" in run(command, "--help").stdout


@pytest.mark.parametrize("path", ["/plan", "/review"])
def test_the_example_of_the_documentation_is_answered(client: TestClient, path: str) -> None:
    openapi = client.get("/openapi.json").json()
    body = openapi["paths"][path]["post"]["requestBody"]["content"]["application/json"]

    response = client.post(path, json=body["examples"]["collar"]["value"])

    assert response.status_code == 200
    assert "$defs" not in json.dumps(body["schema"])


@pytest.mark.parametrize("path", ["/plan", "/review"])
@pytest.mark.parametrize("body", [b"{", b"", b"[]", b'{"leastwise_case": 1}', b"\xff\xfe"])
def test_a_wrong_body_is_a_problem_with_the_path(
    client: TestClient, path: str, body: bytes
) -> None:
    response = client.post(path, content=body)

    assert response.status_code == 422
    assert response.headers["content-type"] == "application/problem+json"
    assert response.json()["errors"]


def test_a_proposal_over_http_can_read_no_file(client: TestClient, tmp_path: Path) -> None:
    (tmp_path / "case.yaml").write_bytes(demo_path("guild-banner").read_bytes())
    proposal = {
        "leastwise_proposal": 1, "id": "p", "title": "P", "case": str(tmp_path / "case.yaml"),
    }  # fmt: skip

    response = client.post("/review", json=proposal)

    assert response.status_code == 422
    assert response.json()["title"] == "The proposal can't be used"
    assert response.json()["errors"][0]["path"] == "case"


def test_a_wrong_query_is_a_problem(client: TestClient) -> None:
    response = client.post("/plan", params={"undecided": "perhaps"}, content=b"{}")

    assert response.status_code == 422
    assert response.headers["content-type"] == "application/problem+json"
