"""uv.lock is made for the requirements of pyproject.toml, and names each with a version."""

from __future__ import annotations

import re
import tomllib
from pathlib import Path
from typing import Any

from packaging.requirements import Requirement
from packaging.utils import canonicalize_name

ROOT = Path(__file__).parents[2]
MEND = "uv.lock is stale; run `uv lock`"


def read(name: str) -> dict[str, Any]:
    return tomllib.loads((ROOT / name).read_text("utf-8"))


def stated() -> set[tuple[str, str, str]]:
    """Return (name, extra, specifier) of each requirement of pyproject.toml."""
    project = read("pyproject.toml")["project"]
    groups = {"": project["dependencies"], **project["optional-dependencies"]}
    return {
        (canonicalize_name(one.name), extra, str(one.specifier))
        for extra, listed in groups.items()
        for one in map(Requirement, listed)
    }


def locked() -> dict[str, Any]:
    """Return what uv.lock holds of this project."""
    return next(one for one in read("uv.lock")["package"] if one["name"] == "leastwise")


def as_locked(row: dict[str, str]) -> tuple[str, str, str]:
    extra = re.search(r"extra == '([\w-]+)'", row.get("marker", ""))
    return (
        row["name"],
        extra.group(1) if extra else "",
        str(Requirement(f"x{row.get('specifier', '')}").specifier),
    )


def test_the_lock_is_made_for_these_requirements() -> None:
    assert {as_locked(row) for row in locked()["metadata"]["requires-dist"]} == stated(), MEND


def test_every_requirement_has_its_version() -> None:
    there = {one["name"] for one in read("uv.lock")["package"] if "version" in one}
    assert {name for name, _, _ in stated()} <= there, MEND
    assert locked()["version"] == read("pyproject.toml")["project"]["version"], MEND
