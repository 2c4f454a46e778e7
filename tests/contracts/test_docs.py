"""The guides are held true: commands, routes, settings and themes, the files that they name."""

from __future__ import annotations

import re
import shlex
import subprocess
import sys
from pathlib import Path

import pytest
from typer.main import get_command
from typer.testing import CliRunner

from leastwise.api.app import create_app
from leastwise.api.cli.app import app
from leastwise.api.settings import Settings
from leastwise.graph import Adviser

ROOT = Path(__file__).parents[2]
README = (ROOT / "README.md").read_text("utf-8")
DEVELOPERS = (ROOT / "DEVELOPERS.md").read_text("utf-8")
COMMANDS, ROUTES, SETTINGS = (
    (ROOT / "docs" / "reference" / f"{name}.md").read_text("utf-8")
    for name in ("commands", "http", "settings")
)
TUTORIAL = (ROOT / "docs" / "tutorial.md").read_text("utf-8")


@pytest.mark.slow
@pytest.mark.parametrize("script", ["map", "reference"])
def test_what_is_made_from_the_code_is_up_to_date(script: str) -> None:
    run = [sys.executable, str(ROOT / ".ci" / script), "--check"]
    told = subprocess.run(run, capture_output=True, text=True, check=False)  # noqa: S603

    assert told.returncode == 0, told.stderr


@pytest.mark.parametrize("command", sorted(get_command(app).commands))  # type: ignore[attr-defined]
def test_every_command_is_in_the_reference(command: str) -> None:
    assert f"### leastwise {command}\n" in COMMANDS


def test_every_route_is_in_the_reference(adviser: Adviser) -> None:
    paths = create_app(adviser, Settings(cache=None)).openapi()["paths"]

    assert not [path for path in paths if f" {path}`" not in ROUTES]


def test_every_setting_is_in_the_reference() -> None:
    source = (ROOT / "api" / "settings.py").read_text("utf-8")

    assert not [
        name for name in set(re.findall(r"LEASTWISE_[A-Z_]+", source)) if name not in SETTINGS
    ]


def test_ci_runs_the_tests_as_the_readme_says() -> None:
    command = re.search(r"python -m pytest.*", README)

    assert command
    assert f"\n{command[0]} #" in (ROOT / ".ci" / "run").read_text("utf-8")


def test_every_theme_of_rules_is_named_in_the_guide(adviser: Adviser) -> None:
    assert not [theme for theme in adviser.rules.themes if theme not in DEVELOPERS]


@pytest.mark.parametrize("text", [README, DEVELOPERS], ids=["README", "DEVELOPERS"])
def test_every_file_that_a_guide_names_is_there(text: str) -> None:
    named = re.findall(r"`((?:graph|api|shapes|seed_data|tests|bench|docs|\.ci)/[\w./-]*)`", text)

    assert named
    assert not [name for name in named if not (ROOT / name).exists()]


def told_commands() -> list[tuple[str, str]]:
    """Return (guide, command) of each command line that a guide tells one to type."""
    guides = [ROOT / "README.md", ROOT / "DEVELOPERS.md", *(ROOT / "docs").rglob("*.md")]
    texts = [(g.name, g.read_text("utf-8")) for g in guides if g.parent.name != "reference"]
    blocks = re.compile(r"^(leastwise [a-z].*)$|`(leastwise [a-z][^`\n]*)`", re.MULTILINE)
    return [(name, hit[1] or hit[2]) for name, text in texts for hit in blocks.finditer(text)]


@pytest.mark.parametrize(("guide", "line"), told_commands())
def test_every_command_that_a_guide_tells_is_there_with_its_options(guide: str, line: str) -> None:
    words = shlex.split(line, comments=True)[1:]
    command = get_command(app)
    while words and words[0] in getattr(command, "commands", {}):
        command = command.commands[words.pop(0)]  # type: ignore[attr-defined]
    known = {option for one in command.params for option in (*one.opts, *one.secondary_opts)}
    asked = {word.partition("=")[0] for word in words if word.startswith("--")}

    assert command.name != "leastwise", f"{guide}: {line}"
    assert asked <= known | {"--help"}, f"{guide}: {line}"


def test_the_guides_tell_commands() -> None:
    assert len(told_commands()) >= 60


def test_readme_is_short() -> None:
    assert len(README.split()) <= 500  # tables and commands counted


@pytest.mark.slow
@pytest.mark.usefixtures("loaded_once", "kept_within")
def test_the_tutorial_goes_through_as_it_says(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(tmp_path)
    lines = [
        line
        for block in re.findall(r"```sh\n(.*?)```", TUTORIAL, re.DOTALL)
        for line in block.splitlines()
    ]
    assert len(lines) >= 8
    runner = CliRunner()
    for line in lines:
        command, _, place = line.removeprefix("leastwise ").partition(" > ")
        told = runner.invoke(app, shlex.split(command))
        assert told.exit_code == 0, f"{line}\n{told.output}"
        assert told.stdout.strip(), line
        if place:
            Path(place).write_text(told.stdout, "utf-8")

    assert "<html" in Path("proposal.html").read_text("utf-8")
