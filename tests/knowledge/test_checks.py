"""Each query of seed_data/checks finds nothing in what is shipped, and fires where it must."""

from __future__ import annotations

import re
from collections.abc import Iterator
from pathlib import Path

import pyoxigraph
import pytest

from leastwise.graph.authoring import check_knowledge
from leastwise.graph.authoring.check_knowledge import Checker
from leastwise.graph.authoring.queries import Breach, breaches, check_queries
from leastwise.graph.knowledge.knowledge import shipped_files

ROOT = Path(__file__).parents[2]
CHECKS = sorted((ROOT / "seed_data" / "checks").glob("*.rq"))
BROKEN = Path(__file__).parent / "checks"
SKOS_CONDITIONS = ("s9", "s13", "s14", "s27", "s37", "s46")


def store_of(*paths: Path) -> pyoxigraph.Store:
    store = pyoxigraph.Store()
    for path in paths:
        store.load(path=str(path), format=pyoxigraph.RdfFormat.TURTLE)
    return store


def subjects(check: Path, store: pyoxigraph.Store) -> set[str]:
    found = store.query(check.read_text("utf-8"))
    assert isinstance(found, pyoxigraph.QuerySolutions)
    return {str(row["subject"]) for row in found}


@pytest.fixture(scope="module")
def shipped() -> pyoxigraph.Store:
    return store_of(*shipped_files("seed_data"))


def is_error(check: Path) -> bool:
    return check.read_text("utf-8").startswith("# ERROR")


@pytest.mark.parametrize("check", [*filter(is_error, CHECKS)], ids=lambda path: path.stem)
def test_the_shipped_knowledge_passes(check: Path, shipped: pyoxigraph.Store) -> None:
    """As ``leastwise check-knowledge`` has it: what that only warns of holds up nobody's work."""
    assert not subjects(check, shipped)


@pytest.mark.parametrize("check", CHECKS, ids=lambda path: path.stem)
def test_a_check_names_what_is_wrong_and_not_what_is_right(check: Path) -> None:
    found = subjects(check, store_of(BROKEN / f"{check.stem}.ttl"))

    assert "<https://example.org/wrong>" in found
    assert "<https://example.org/right>" not in found


@pytest.mark.parametrize("check", CHECKS, ids=lambda path: path.stem)
def test_the_first_line_of_a_check_says_how_grave_and_what(check: Path) -> None:
    first = check.read_text("utf-8").splitlines()[0]

    assert re.fullmatch(r"# (ERROR|WARN|INFO)  [A-Z].{15,}\.", first)


def test_every_integrity_condition_of_skos_has_a_check() -> None:
    names = {path.stem for path in CHECKS}

    assert not [c for c in SKOS_CONDITIONS if not any(n.startswith(f"skos-{c}-") for n in names)]


def test_every_broken_graph_belongs_to_a_check() -> None:
    assert {path.stem for path in BROKEN.glob("*.ttl")} == {path.stem for path in CHECKS}


def test_a_breach_is_told_with_subject_value_and_how_grave_it_is() -> None:
    found = {
        (one.level, one.subject, one.value)
        for name in ("label-in-translation-is-complete", "british-label-has-its-american-form")
        for one in breaches([BROKEN / f"{name}.ttl"])
        if one.what in told(name)
    }

    wrong = "https://example.org/wrong"
    assert found == {("warning", wrong, '"de"'), ("error", wrong, '"bast fibre"@en')}


def told(check: str) -> str:
    return (ROOT / "seed_data" / "checks" / f"{check}.rq").read_text("utf-8").splitlines()[0]


def test_the_command_holds_what_is_shipped_to_every_query(
    checker: Checker, monkeypatch: pytest.MonkeyPatch
) -> None:
    asked: list[str] = []

    def broken(files: list[Path]) -> Iterator[Breach]:
        asked.extend(path.name for path in files)
        yield Breach("error", "damage:dust", "It has no plain words.")

    monkeypatch.setattr(check_knowledge, "breaches", broken)
    (fault,) = checker.check_shipped()[0]

    assert {path.name for path in shipped_files("seed_data")} == {*asked}
    assert fault.subject == "damage:dust"
    assert fault.what == "It has no plain words."
    assert fault.line > 0
    assert check_queries() == CHECKS
