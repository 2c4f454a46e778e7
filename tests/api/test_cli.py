"""The command line: the same content as Python and HTTP; a mistake is a sentence and code 2."""

from __future__ import annotations

import json
from pathlib import Path

import pytest
from typer.main import get_command
from typer.testing import CliRunner

from leastwise.api.cli.app import app
from leastwise.api.cli.grouped import GROUPS
from leastwise.graph import Adviser, read_demo
from leastwise.graph.case.demo import demo_names, demo_path

ENV = {"LEASTWISE_CACHE": "off", "COLUMNS": "140", "NO_COLOR": "1"}


def run(*args: str):  # type: ignore[no-untyped-def]
    return CliRunner(env=ENV).invoke(app, list(args))


def test_json_is_the_answer_in_process_to_the_byte(adviser: Adviser) -> None:
    result = run("weigh", "demo:guild-banner", "--json")

    assert result.exit_code == 0
    assert result.stdout == adviser.weigh(read_demo("guild-banner", adviser.knowledge)).as_json()


@pytest.mark.parametrize("name", demo_names())
def test_tables_say_verdicts_in_words(name: str) -> None:
    result = run("weigh", f"demo:{name}")

    assert result.exit_code == 0
    assert "leave alone and monitor" in result.stdout
    assert "undecided" in result.stdout
    assert "licensed practice" in result.stdout
    assert "\x1b" not in result.stdout


def test_one_option_is_explained_with_claims_and_sources() -> None:
    result = run("explain", "demo:festival-dancer", "crushed-tiers/membrane-pack-suspended")

    assert result.exit_code == 0
    assert "would settle it" in result.stdout
    assert "One after another" in result.stdout
    assert "M-195" in result.stdout


def test_an_option_explained_as_json_is_the_one_of_the_answer(adviser: Adviser) -> None:
    answer = json.loads(adviser.weigh(read_demo("furnishing-panel", adviser.knowledge)).as_json())
    wanted = next(o for o in answer["damages"][0]["options"] if o["id"].endswith("laid-couching"))

    result = run("explain", "demo:furnishing-panel", "laid-couching", "--json")

    assert json.loads(result.stdout) == wanted


@pytest.mark.parametrize(
    ("args", "words"),
    [
        (["weigh", "no-such-file.yaml"], "No such file"),
        (["weigh", "demo:no-such-demo"], "festival-dancer"),
        (["weigh", "demo:guild-banner", "--explain", "hand-realinement"], "nothing is called"),
        (["weigh", "demo:guild-banner", "--with", "no-such-folder"], "is not a folder"),
        (["concept", "material:silkk"], "material:silk"),
        (["check-knowledge", "no-such.ttl"], "is not there"),
        (["serve", "--host", "0.0.0.0"], "loopback"),  # noqa: S104 - it must be refused
        (["demo", "none"], "guild-banner"),
    ],
)
def test_a_mistake_is_a_sentence_and_exit_code_2(args: list[str], words: str) -> None:
    result = run(*args)

    assert result.exit_code == 2
    assert words in result.output
    assert "Traceback" not in result.output


def test_a_wrong_field_is_named(tmp_path: Path) -> None:
    path = tmp_path / "case.yaml"
    path.write_text(
        demo_path("guild-banner").read_text("utf-8").replace("purpose: display", "purpose: sale")
    )

    result = run("weigh", str(path))

    assert result.exit_code == 2
    assert "aim.purpose" in result.output
    assert "'study', 'display'" in result.output


def test_a_demo_case_can_be_printed_as_a_pattern() -> None:
    assert run("demo", "guild-banner").stdout == demo_path("guild-banner").read_text("utf-8")
    assert run("demo").stdout.split() == demo_names()


def test_the_schema_is_printed() -> None:
    assert json.loads(run("schema").stdout)["title"] == "Case"


def test_a_concept_may_be_asked_for_by_label() -> None:
    assert json.loads(run("concept", "gelatin sequins").stdout)["id"] == "material:gelatin-sequins"


def test_every_command_has_help_with_an_example() -> None:
    commands = [c for c in run("--help").stdout.splitlines() if c.startswith("  ")]
    names = [line.split()[0] for line in commands if not line.strip().startswith("-")]

    assert {"weigh", "check-knowledge", "serve", "schema", "concept", "demo"} <= set(names)
    for name in ("weigh", "check-knowledge", "serve", "schema", "concept", "demo"):
        assert "Example: leastwise" in run(name, "--help").stdout


def test_help_lists_every_command_once_under_a_heading() -> None:
    told = run("--help").stdout
    listed = [name for names in GROUPS.values() for name in names.split()]

    assert sorted(listed) == sorted(get_command(app).commands)  # type: ignore[attr-defined]
    assert "Further:" not in told
    for heading, names in GROUPS.items():
        section = told.partition(f"{heading}:")[2].partition("\n\n")[0]
        assert [name for name in names.split() if f"\n  {name} " not in section] == []
    assert "Exit codes: 0 done; 1" in told
    assert "--install-completion" in told
