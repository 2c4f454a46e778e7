"""The command line: the same content as Python and HTTP; a mistake is a sentence and code 2."""

from __future__ import annotations

import json
import subprocess
import sys
from pathlib import Path

import pytest
from typer.main import get_command
from typer.testing import CliRunner

from leastwise.api.cli.app import app
from leastwise.api.cli.grouped import GROUPS, LONGEST
from leastwise.api.cli.lines import broken
from leastwise.graph import Adviser, read_demo
from leastwise.graph.case.demo import demo_names, demo_path

ENV = {"COLUMNS": "140", "NO_COLOR": "1"}


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
    told = run("concept", "gelatin sequins").stdout
    whole = json.loads(run("concept", "gelatin sequins", "--json").stdout)

    assert told.startswith("material:gelatin-sequins: gelatin sequins\n")
    assert f"  {whole['definition']}\n" in told
    assert whole["id"] == "material:gelatin-sequins"
    assert all(claim in told for claim in whole["claims"])


def test_every_command_has_help_with_an_example() -> None:
    commands = [c for c in run("--help").stdout.splitlines() if c.startswith("  ")]
    names = [line.split()[0] for line in commands if not line.strip().startswith("-")]

    assert {"weigh", "check-knowledge", "serve", "schema", "concept", "demo"} <= set(names)
    for name in ("weigh", "check-knowledge", "serve", "schema", "concept", "demo"):
        assert "Example: leastwise" in run(name, "--help").stdout


def test_help_lists_every_command_once_under_a_heading() -> None:
    told = run("--help").stdout
    listed = [name for group in GROUPS.values() for name in group]

    assert sorted(listed) == sorted(get_command(app).commands)  # type: ignore[attr-defined]
    assert "Further:" not in told
    for heading, names in GROUPS.items():
        section = told.partition(f"{heading}:")[2].partition("\n\n")[0]
        assert [name for name in names if f"\n  {name} " not in section] == []
    assert "Exit codes: 0 done; 1" in told


def test_the_list_says_of_each_command_what_its_own_help_says() -> None:
    commands = get_command(app).commands  # type: ignore[attr-defined]
    listed = {name: said for group in GROUPS.values() for name, (_, said) in group.items()}

    assert {name: commands[name].get_short_help_str(LONGEST) for name in listed} == listed


def test_the_list_of_commands_loads_none_of_them() -> None:
    ask = (
        "import sys; from typer.testing import CliRunner; from leastwise.api.cli.app import app; "
        "told = CliRunner().invoke(app, ['--help']); assert told.exit_code == 0, told.output; "
        "print([m for m in sys.modules if 'cli.commands' in m or m in ('numpy', 'pydantic')])"
    )
    told = subprocess.run([sys.executable, "-c", ask], capture_output=True, text=True, check=True)  # noqa: S603

    assert told.stdout.strip() == "[]"


def test_an_answer_loads_no_library_that_it_does_without() -> None:
    ask = (
        "import sys; from typer.testing import CliRunner; from leastwise.api.cli.app import app; "
        "told = CliRunner().invoke(app, ['weigh', 'demo:furnishing-panel']); "
        "assert told.exit_code == 0, told.output; "
        "print(sorted({'networkx', 'scipy', 'rdflib', 'pyshacl', 'fastapi'} & set(sys.modules)))"
    )
    told = subprocess.run([sys.executable, "-c", ask], capture_output=True, text=True, check=True)  # noqa: S603

    assert told.stdout.strip() == "[]"


def test_completion_is_offered() -> None:
    told = run("--help").stdout

    assert "--install-completion" in told


def test_lines_break_between_words_at_the_width_of_a_terminal_and_nowhere_else() -> None:
    long = "  - " + "a test on the silk of the sleeves " * 8

    assert broken(long, None) == [long]
    for width in (80, 120):
        rows = broken(long, width)
        assert len(rows) > 1
        assert all(len(row) <= width for row in rows)
        assert " ".join(" ".join(rows).split()) == " ".join(long.split())
        assert all(row.startswith("    ") for row in rows[1:])


@pytest.mark.parametrize("command", ["tests", "shares", "plan", "weigh"])
def test_what_is_told_at_eighty_columns_fits_and_cuts_no_word(command: str) -> None:
    told = CliRunner(env={**ENV, "COLUMNS": "80"}).invoke(app, [command, "demo:furnishing-panel"])

    assert told.exit_code == 0, told.output
    assert max(map(len, told.stdout.splitlines())) <= 80
    assert "\N{HORIZONTAL ELLIPSIS}" not in told.stdout
