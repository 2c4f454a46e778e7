"""Questions on claims at the command line."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import pytest
from typer.testing import CliRunner

from leastwise.api.cli.app import app


@pytest.fixture
def run(tmp_path: Path) -> Any:
    runner = CliRunner(env={"LEASTWISE_STORE": str(tmp_path / "store.sqlite")})

    def invoke(*args: str) -> Any:
        return runner.invoke(app, list(args))

    return invoke


def test_a_question_is_kept_listed_and_settled(run: Any) -> None:
    name = run("question", "M-128", "Which silk?").stdout.removeprefix("Kept as ").strip(". \n")
    listed = run("questions", "M-128").stdout
    settled = run("settle-question", name, "--decline", "It says so.")
    (one,) = json.loads(run("questions", "--json").stdout)

    assert f"{name}  claim:M-128  remark, open: Which silk?" in listed
    assert settled.stdout == f"{name}: declined.\n"
    assert (one["state"], one["answer"], one["what"]) == ("declined", "It says so.", "remark")


def test_a_source_makes_it_a_rebuttal(run: Any) -> None:
    run("question", "M-128", "No.", "--source", "Example 2020")

    assert "rebuttal, open: No." in run("questions").stdout
    assert "source: Example 2020" in run("questions").stdout


@pytest.mark.parametrize(
    ("args", "words"),
    [
        (["question", "silk", "x"], "expected a claim such as"),
        (["question", "M-128", "x", "--change", "nowhere.ttl"], "give a file of Turtle"),
        (["settle-question", "nothing", "--compare"], "nothing"),
        (["settle-question", "nothing"], "expected one of --compare"),
    ],
)
def test_a_mistake_is_a_sentence_and_code_2(run: Any, args: list[str], words: str) -> None:
    result = run(*args)

    assert result.exit_code == 2
    assert words in result.stderr
    assert "Traceback" not in result.stderr
