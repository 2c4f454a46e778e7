"""Published treatments that state hours: they read, name what exists, and are halved fairly."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest

from leastwise.graph import Adviser
from leastwise.graph.case.reading import case_from_data
from tests.yaml_files import read_yaml

FILES = sorted((Path(__file__).parent / "hours").glob("*.yaml"))
ENTRIES: list[dict[str, Any]] = [entry for file in FILES for entry in read_yaml(file)]
every_entry = pytest.mark.parametrize("entry", ENTRIES, ids=[one["id"] for one in ENTRIES])


@every_entry
def test_entry_reads_and_names_what_exists(adviser: Adviser, entry: dict[str, Any]) -> None:
    case = case_from_data(entry["case"], adviser.knowledge)
    problems = {one.id for one in case.damages}
    assert case.id == entry["id"].lower()
    for line in entry["expect"]["chosen"]:
        assert line["problem"] in problems
        assert [c for c in line["any_of"] if c not in adviser.knowledge] == []
        assert line["words"]


@every_entry
def test_entry_has_a_source_and_hours_in_its_words(entry: dict[str, Any]) -> None:
    assert {"author", "year", "title", "url", "read"} <= set(entry["source"])
    assert entry["source"]["url"].startswith("http")
    stated = entry["stated"]
    assert stated["high"] is None or 0 < stated["low"] <= stated["high"]
    assert f"{stated['low']:g}" in stated["words"]
    assert stated["pieces"] >= 1


def test_every_other_entry_is_held_back() -> None:
    """The halves follow the order in which the entries were found, not what comes of them."""
    assert [one["half"] for one in ENTRIES] == [
        "check" if n % 2 else "mend" for n in range(len(ENTRIES))
    ]
    assert [one["id"] for one in ENTRIES] == [f"H-{n:03}" for n in range(1, len(ENTRIES) + 1)]
