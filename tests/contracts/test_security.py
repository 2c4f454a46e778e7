"""What is said of security is held true: the tests that are named are there, and all packages."""

from __future__ import annotations

import re
import tomllib
from functools import cache
from pathlib import Path

import pytest
from packaging.requirements import Requirement

ROOT = Path(__file__).parents[2]
THREATS, ASVS, PACKAGES = (
    (ROOT / "docs" / name).read_text("utf-8")
    for name in ("explanation/security.md", "reference/asvs.md", "reference/dependencies.md")
)
NAMED = re.compile(r"`(tests/[\w/]+\.py)(?:::(\w+))?`")


@cache
def names_in(path: str) -> set[str]:
    file = ROOT / path
    return set(re.findall(r"def (test_\w+)\(", file.read_text("utf-8"))) if file.exists() else set()


@pytest.mark.parametrize("text", [THREATS, ASVS], ids=["threats", "asvs"])
def test_every_test_that_is_named_is_there(text: str) -> None:
    named = NAMED.findall(text)
    missing = [
        f"{path}::{name}"
        for path, name in named
        if not (names_in(path) & {name} if name else names_in(path))
    ]

    assert len(named) > 20
    assert missing == []


def test_every_place_that_holds_a_threat_is_there() -> None:
    places = set(re.findall(r"`(api/[\w/.]+)`", THREATS + ASVS))

    assert places
    assert [one for one in sorted(places) if not (ROOT / one).exists()] == []


def test_what_is_met_is_tried() -> None:
    rows = [line.split("|")[1:-1] for line in ASVS.splitlines() if line.startswith("| V")]

    assert len(rows) > 40
    assert {row[2].strip() for row in rows} == {"met", "partly", "not", "yours"}
    assert [row[0].strip() for row in rows if row[2].strip() == "met" and not row[4].strip()] == []


def test_every_dependency_says_why_it_is_there() -> None:
    project = tomllib.loads((ROOT / "pyproject.toml").read_text("utf-8"))["project"]
    stated = {Requirement(one).name for one in project["dependencies"]}
    told = dict(re.findall(r"^\| ([\w-]+) \| (.+) \|$", PACKAGES, re.MULTILINE))
    told.pop("package")

    assert told.keys() == stated
    assert all(len(why) > 10 for why in told.values())
