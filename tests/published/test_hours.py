"""Published treatments that state hours: they read, are halved fairly, and foresee each other."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest

from bench.hours import Row, foreseen, measured, spread
from leastwise.graph import Adviser
from leastwise.graph.case.reading import case_from_data
from leastwise.graph.planning.projects import spread_of
from tests.yaml_files import read_yaml

FILES = sorted((Path(__file__).parent / "hours").glob("*.yaml"))
ENTRIES: list[dict[str, Any]] = [entry for file in FILES for entry in read_yaml(file)]
every_entry = pytest.mark.parametrize("entry", ENTRIES, ids=[one["id"] for one in ENTRIES])


@every_entry
def test_entry_reads_and_names_what_exists(adviser: Adviser, entry: dict[str, Any]) -> None:
    case = case_from_data(entry["case"], adviser.knowledge)
    problems = {one.id for one in (*case.damages, *case.needs)}
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


@pytest.fixture(scope="module")
def rows(adviser: Adviser) -> list[Row]:
    return list(measured(adviser))


def test_at_least_twenty_treatments_state_hours(rows: list[Row]) -> None:
    assert len(rows) >= 20
    assert len({row.entry for row in rows}) == len(rows)


def test_the_others_foresee_four_in_five(rows: list[Row]) -> None:
    """Each project is held to the spread of the others of its kind alone."""
    assert sum(foreseen(row, rows) for row in rows) >= 0.8 * len(rows)


def test_the_half_that_was_held_back_is_foreseen_by_what_was_known_before(rows: list[Row]) -> None:
    seen = [row for row in rows if row.half != "check"]
    held = [row for row in rows if row.half == "check"]
    within = sum(foreseen(row, [*seen, row]) for row in held)
    assert within >= 0.8 * len(held)


def test_the_spread_is_no_wider_than_it_has_to_be(rows: list[Row]) -> None:
    """About half lie within the inner half: a spread that holds nearly all of them says nothing."""
    inner = sum(foreseen(row, rows, 0.25) for row in rows)
    assert 0.25 * len(rows) <= inner <= 0.75 * len(rows)


@pytest.mark.parametrize("sized", [True, False])
def test_the_knowledge_holds_the_spread_of_these_projects(
    adviser: Adviser, rows: list[Row], *, sized: bool
) -> None:
    """If a rate or an entry changed on purpose: python -m bench.hours prints what to enter."""
    kept = spread_of(adviser.knowledge, sized=sized)
    found = spread([row for row in rows if row.sized is sized])
    assert kept is not None
    assert kept.projects == found.projects
    assert kept.mean == pytest.approx(found.mean, abs=1e-3)
    assert kept.deviation == pytest.approx(found.deviation, abs=1e-3)
