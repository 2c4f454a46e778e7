"""The guides are held true: every command, route, setting and theme is named in them."""

from __future__ import annotations

import re
import subprocess
import sys
from pathlib import Path

import pytest
from typer.main import get_command

from leastwise.api.app import create_app
from leastwise.api.cli.app import app
from leastwise.api.settings import Settings
from leastwise.graph import Adviser

ROOT = Path(__file__).parents[2]
README = (ROOT / "README.md").read_text("utf-8")
DEVELOPERS = (ROOT / "DEVELOPERS.md").read_text("utf-8")


@pytest.mark.parametrize("command", sorted(get_command(app).commands))  # type: ignore[attr-defined]
def test_every_command_is_named_in_the_readme(command: str) -> None:
    assert f"leastwise {command}" in README


def test_every_route_is_named_in_the_readme(adviser: Adviser) -> None:
    paths = create_app(adviser, Settings(cache=None)).openapi()["paths"]

    assert not [path for path in paths if path not in README]


def test_every_setting_is_named_in_the_readme() -> None:
    source = (ROOT / "api" / "settings.py").read_text("utf-8")

    assert not [
        name for name in set(re.findall(r"LEASTWISE_[A-Z_]+", source)) if name not in README
    ]


def test_ci_runs_the_tests_as_the_readme_says() -> None:
    command = re.search(r"python -m pytest.*", README)

    assert command
    assert f"\n{command[0]} #" in (ROOT / ".ci" / "run").read_text("utf-8")


def test_every_theme_of_rules_is_named_in_the_guide(adviser: Adviser) -> None:
    assert not [theme for theme in adviser.rules.themes if theme not in DEVELOPERS]


def test_the_map_of_graph_is_up_to_date() -> None:
    script = [sys.executable, str(ROOT / ".ci" / "map"), "--check"]
    told = subprocess.run(script, capture_output=True, text=True, check=False)  # noqa: S603

    assert told.returncode == 0, told.stderr


@pytest.mark.parametrize("text", [README, DEVELOPERS], ids=["README", "DEVELOPERS"])
def test_every_file_that_a_guide_names_is_there(text: str) -> None:
    named = re.findall(r"`((?:graph|api|shapes|seed_data|tests|bench|docs|\.ci)/[\w./-]*)`", text)

    assert named
    assert not [name for name in named if not (ROOT / name).exists()]
