"""The version of the program stands once, and on every answer."""

from __future__ import annotations

import tomllib
from collections.abc import Callable
from pathlib import Path

from leastwise.api.app import create_app
from leastwise.api.settings import Settings
from leastwise.graph import Adviser, Case
from leastwise.graph.version import program_version

ROOT = Path(__file__).parents[2]


def test_every_door_says_the_version_that_the_package_has(
    adviser: Adviser, demo: Callable[[str], Case]
) -> None:
    project = tomllib.loads((ROOT / "pyproject.toml").read_text("utf-8"))["project"]

    assert program_version() == project["version"]
    assert create_app(adviser, Settings(cache=None)).version == project["version"]
    assert adviser.weigh(demo("guild-banner")).stamp.program == project["version"]
