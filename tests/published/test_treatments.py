"""Published treatments as case records: they read, and what they expect names things that exist."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

from leastwise.graph import Adviser
from leastwise.graph.case.reading import case_from_data
from tests.yaml_files import read_yaml

HERE = Path(__file__).parent
FILES = sorted(HERE.glob("treatments*/*.yaml"))
TERMS = sorted(HERE.glob("terms-*.yaml"))


ENTRIES: list[dict[str, Any]] = [entry for file in FILES for entry in read_yaml(file)]
every_entry = pytest.mark.parametrize("entry", ENTRIES, ids=[one["id"] for one in ENTRIES])


def curies(expected: dict[str, Any]) -> Iterator[str]:
    """Every concept that is expected of an entry."""
    for one in [*expected["chosen"], *expected["refused"], *expected["tests"]]:
        yield from one["any_of"]
        yield from one.get("gates", ())
    for one in expected["order"]:
        yield from one["before"]
        yield from one["after"]


@every_entry
def test_entry_reads_and_names_what_exists(adviser: Adviser, entry: dict[str, Any]) -> None:
    case = case_from_data(entry["case"], adviser.knowledge)
    assert case.id == entry["id"].lower()
    missing = [c for c in curies(entry["expect"]) if c not in adviser.knowledge]
    assert missing == []


@every_entry
def test_expectations_are_of_this_case(entry: dict[str, Any]) -> None:
    case, expected = entry["case"], entry["expect"]
    problems = {one["id"] for key in ("damages", "needs") for one in case.get(key, ())}
    parts = {part["id"] for part in case["parts"]}
    for one in [*expected["chosen"], *expected["refused"]]:
        named = one["problem"]
        for problem in named if isinstance(named, list) else [named]:
            assert problem in problems or problem == "any" or problem.startswith("need:"), problem
    assert {one["part"] for one in expected["tests"] if "part" in one} <= parts | {"any"}


@every_entry
def test_entry_has_a_source_and_a_reason_where_it_is_not_judged(entry: dict[str, Any]) -> None:
    assert entry["source"]["author"]
    assert entry["source"]["title"]
    assert entry["source"]["url"].startswith("http")
    assert entry["basis"] == "read"
    assert entry["judge"] in ("yes", "no")
    assert (entry["judge"] == "no") == bool(entry.get("reason"))


def test_no_entry_stands_twice() -> None:
    ids = [one["id"] for one in ENTRIES]
    assert sorted(ids) == sorted(set(ids))


@pytest.mark.parametrize("file", TERMS, ids=lambda file: file.name)
def test_terms_lead_to_concepts_or_say_what_is_wanted(adviser: Adviser, file: Path) -> None:
    for term in read_yaml(file):
        missing = [c for c in term["meant"] if c not in adviser.knowledge]
        assert missing == [], term["term"]
        assert term["meant"] or term.get("wanted") or term.get("not_a_concept"), term["term"]
