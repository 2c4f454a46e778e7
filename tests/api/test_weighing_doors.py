"""The questions beyond the answer, at both doors: the same bytes, and mistakes told alike."""

from __future__ import annotations

import json
from xml.etree import ElementTree as ET

import pytest
from fastapi.testclient import TestClient
from typer.testing import CliRunner, Result

from leastwise.api.cli.app import app
from leastwise.graph.case.demo import demo_path

ENV = {"COLUMNS": "140", "NO_COLOR": "1"}
YAML = {"content-type": "application/yaml"}
BANNER = demo_path("guild-banner").read_bytes()
ASKED = [
    (
        ["why", "splits/encapsulation", "splits/leave-and-monitor"],
        "/options/why?why=splits/encapsulation&over=splits/leave-and-monitor",
        ["stands above", "Decided by: aim", "Leaving alone:", "weightings that the policy allows"],
    ),
    (
        ["what-if", "splits/pressure-mount"],
        "/options/what-would-change?option=splits/pressure-mount",
        ["would be accepted after", "none of these can be left out", "bound 300"],
    ),
    (["shares"], "/options/shares", ["rank 1: ", "standard error at most 0.008", "seed 0"]),
    (
        ["scores", "splits/pressure-mount"],
        "/options/scores?option=splits/pressure-mount",
        ["exposure: 3 (", "because claim:", "lowers it by one"],
    ),
    (
        ["arguments", "splits/pressure-mount"],
        "/options/arguments?option=splits/pressure-mount&preferred=true",
        ["What can be held together, 1:", "undecided"],
    ),
]


#: What was an option of weigh and still is for one release, and the command that it is now.
ALIASES = [
    (["--explain", "splits/encapsulation"], ["explain", "splits/encapsulation"]),
    (
        ["--why", "splits/encapsulation", "--over", "splits/laid-couching"],
        ["why", "splits/encapsulation", "splits/laid-couching"],
    ),
    (["--what-would-change", "splits/pressure-mount"], ["what-if", "splits/pressure-mount"]),
    (["--shares"], ["shares"]),
    (["--scores", "splits/encapsulation"], ["scores", "splits/encapsulation"]),
    (["--preferred", "splits/encapsulation"], ["arguments", "splits/encapsulation"]),
    (["--draw", "splits/encapsulation"], ["arguments", "splits/encapsulation", "--svg"]),
]


def ask(command: str, *args: str) -> Result:
    return CliRunner(env=ENV).invoke(app, [command, "demo:guild-banner", *args])


def run(*args: str) -> Result:
    return ask("weigh", *args)


@pytest.mark.parametrize(("args", "path", "_words"), ASKED, ids=[a[0][0] for a in ASKED])
def test_both_doors_give_the_same_bytes(
    client: TestClient, args: list[str], path: str, _words: list[str]
) -> None:
    there = client.post(path, content=BANNER, headers=YAML)
    here = ask(*args, "--json")

    assert there.status_code == 200
    assert here.exit_code == 0
    assert here.stdout == there.text
    assert json.loads(there.text)


@pytest.mark.parametrize(("args", "_path", "words"), ASKED, ids=[a[0][0] for a in ASKED])
def test_the_terminal_says_it_in_words(args: list[str], _path: str, words: list[str]) -> None:
    result = ask(*args)

    assert result.exit_code == 0
    assert [word for word in words if word not in result.stdout] == []


def test_what_to_find_out_first_is_the_same_at_both_doors(client: TestClient) -> None:
    panel = demo_path("furnishing-panel").read_bytes()
    there = client.post("/options/find-out-first", content=panel, headers=YAML)
    here = CliRunner(env=ENV).invoke(app, ["tests", "demo:furnishing-panel", "--json"])

    assert here.stdout == there.text
    assert there.json()["steps"]


def test_long_runs_tell_their_progress_beside_the_answer() -> None:
    option = "crushed-tiers/rigid-gel"
    result = CliRunner(env=ENV).invoke(app, ["what-if", "demo:festival-dancer", option])

    assert "weighed again 50 times" in result.stderr
    assert "weighed again 50 times" not in result.stdout
    assert "none of these can be left out" in result.stdout


def test_the_drawing_is_the_same_at_both_doors_and_says_the_labels_in_words(
    client: TestClient,
) -> None:
    there = client.post(
        "/options/drawing?option=splits/pressure-mount", content=BANNER, headers=YAML
    )
    here = run("--draw", "splits/pressure-mount")
    root = ET.fromstring(here.stdout)  # noqa: S314 - our own text
    texts = ["".join(node.itertext()) for node in root.iter("{http://www.w3.org/2000/svg}text")]
    arrows = root.findall("{http://www.w3.org/2000/svg}path")

    assert there.text == here.stdout
    assert there.headers["content-type"].startswith("image/svg+xml")
    kinds = [t.partition(":")[0] for t in texts]
    assert set(kinds) == {"open", "hope", "option"}
    assert kinds.count("option") == 1
    assert all("undecided" in text for text in texts)
    # each open point attacks the option, and each hope the point that it would settle
    assert len(arrows) >= len(texts) - 1


@pytest.mark.parametrize(("old", "new"), ALIASES, ids=[a[1][0] for a in ALIASES])
def test_an_option_of_weigh_gives_what_its_command_gives_and_names_it(
    old: list[str], new: list[str]
) -> None:
    before, now = run(*old), ask(*new)

    assert now.exit_code == 0
    assert now.stdout == before.stdout
    assert f"This is a command of its own now: leastwise {new[0]}" in before.stderr
    assert now.stderr == ""


def test_another_policy_orders_the_answer_at_both_doors(client: TestClient) -> None:
    there = client.post("/options?policy=policy:display-driven", content=BANNER, headers=YAML)
    here = run("--policy", "policy:display-driven", "--json")

    assert here.stdout == there.text
    assert json.loads(there.text)["policy"]["id"] == "policy:display-driven"
    assert there.text != client.post("/options", content=BANNER, headers=YAML).text


@pytest.mark.parametrize(
    ("args", "words"),
    [
        (["--policy", "policy:x"], "expected one of policy:conservative, policy:display-driven"),
        (["--why", "splits/encapsulation"], "expected --why OPTION together with --over"),
        (["--over", "splits/encapsulation"], "expected --why OPTION together with --over"),
        (["--shares", "--find-out-first"], "expected one question at a time"),
        (["--what-would-change", "splits/encapsulatio"], "Did you mean splits/encapsulation"),
        (["--why", "splits/encapsulation", "--over", "dust/screened-vacuum"], "of one damage"),
        (["--preferred", "splits/patch-and-stitch"], "at most 20"),
        (["--draw", "splits/encapsulation", "--json"], "the drawing alone"),
    ],
)
def test_a_mistake_on_the_command_line_is_one_sentence(args: list[str], words: str) -> None:
    result = run(*args)

    assert result.exit_code == 2
    assert words in result.stderr
    assert "Traceback" not in result.stderr
    assert result.stdout == ""


@pytest.mark.parametrize(
    ("path", "status", "words"),
    [
        ("/options?policy=policy:x", 400, "policy:display-driven"),
        ("/options/shares?policy=x", 400, "policy:display-driven"),
        ("/options/shares?draws=5", 422, "draws"),
        ("/options/shares?seed=-1", 422, "seed"),
        ("/options/what-would-change?option=none", 404, "nothing is called 'none'"),
        ("/options/what-would-change", 422, "option"),
        ("/options/why?why=splits/encapsulation&over=dust/screened-vacuum", 400, "of one damage"),
        ("/options/arguments?option=splits/patch-and-stitch&preferred=true", 400, "at most 20"),
    ],
)
def test_a_mistake_over_http_is_a_problem(
    client: TestClient, path: str, status: int, words: str
) -> None:
    response = client.post(path, content=BANNER, headers=YAML)

    assert response.status_code == status
    assert response.headers["content-type"] == "application/problem+json"
    assert words in response.text


@pytest.mark.parametrize("path", ["/options/shares", "/options/find-out-first"])
def test_a_case_that_can_not_be_used_is_told_at_every_question(
    client: TestClient, path: str
) -> None:
    response = client.post(path, content=b"parts: []", headers=YAML)

    assert response.status_code == 422
    assert response.json()["errors"]
