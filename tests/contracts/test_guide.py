"""Following the guide alone adds a technique and a rule: two files, no Python."""

from __future__ import annotations

import re
from collections.abc import Callable
from pathlib import Path

import pyoxigraph
import pytest

from leastwise.graph import Adviser, Case, load_adviser
from leastwise.graph.authoring.check_knowledge import Checker, Fault
from leastwise.graph.authoring.queries import check_queries
from leastwise.graph.knowledge.knowledge import shipped_files
from leastwise.graph.knowledge.turtle import load_triples
from leastwise.graph.names import BASE, PREFIXES
from leastwise.graph.shacl import Triples

pytestmark = pytest.mark.slow  # seconds of work in nearly every test

Check = Callable[[Path], list[Fault]]
GUIDE = (Path(__file__).parents[2] / "DEVELOPERS.md").read_text("utf-8")
HEAD = "".join(f"@prefix {prefix}: <{iri}> .\n" for prefix, iri in PREFIXES.items()) + (
    f"@prefix flagged: <{BASE}example/flagged/> .\n@prefix passing: <{BASE}example/passing/> .\n"
)


def example(chapter: str) -> str:
    """Return the first Turtle of a chapter of the guide."""
    return examples(chapter)[0]


def examples(chapter: str) -> list[str]:
    """Return the blocks of Turtle of a chapter of the guide."""
    text = GUIDE.partition(f"## {chapter}")[2].partition("\n## ")[0]
    return re.findall(r"```turtle\n(.*?)```", text, re.DOTALL)


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("guide") / "ours"
    (folder / "rules").mkdir(parents=True)
    technique = HEAD + example("Add knowledge, without Python")
    (folder / "technique.ttl").write_text(technique, "utf-8")
    (folder / "rules" / "rule.ttl").write_text(
        HEAD + example("Add a rule, without Python"), "utf-8"
    )
    return folder


@pytest.fixture(scope="module")
def ours(folder: Path, cache: Path) -> Adviser:
    return load_adviser([folder], cache=cache)


@pytest.fixture
def check(checker: Checker) -> Callable[[Path], list[Fault]]:
    return lambda folder: checker.check([folder])[0]


def test_what_the_guide_shows_has_no_fault(folder: Path, check: Check) -> None:
    assert len(list(folder.rglob("*.*"))) == 2
    assert check(folder) == []


def test_a_material_a_damage_and_a_test_of_the_guide_have_no_fault(
    tmp_path: Path, check: Check
) -> None:
    _, *further = examples("Add knowledge, without Python")
    for number, turtle in enumerate(further):
        (tmp_path / f"{number}.ttl").write_text(HEAD + turtle, "utf-8")

    assert [re.findall(r", lw:(\w+) ;", turtle)[0] for turtle in further] == [
        "Fibre",
        "Damage",
        "Test",
    ]
    assert check(tmp_path) == []


def test_what_the_guide_shows_is_held_to_nothing_more_once_it_is_shipped() -> None:
    """Among the shipped files it passes every query that ``check-knowledge`` counts as error."""
    store = pyoxigraph.Store()
    for path in shipped_files("seed_data"):
        store.load(path=str(path), format=pyoxigraph.RdfFormat.TURTLE)
    shown = examples("Add knowledge, without Python")
    for turtle in shown:
        store.load((HEAD + turtle).encode(), format=pyoxigraph.RdfFormat.TURTLE)
    stopping = [path for path in check_queries() if path.read_text("utf-8").startswith("# ERROR")]
    found = {path.stem: list(store.query(path.read_text("utf-8"))) for path in stopping}

    assert len(shown) == 4  # a technique, a material, a damage, a test
    assert len(stopping) > 25
    assert {name: rows for name, rows in found.items() if rows} == {}


def test_the_new_technique_shows_in_an_answer(ours: Adviser, demo: Callable[[str], Case]) -> None:
    case = demo("festival-dancer")
    answer = ours.weigh(case)

    (found,) = [o for o in answer.options() if o.technique == "technique:my-method"]
    assert found.label == "my method"
    assert "claim:effect-my-method-crease" in answer.claims
    assert "agent:water-vapour" in {f.agent for f in found.findings}
    assert answer.stamp.overlays[0].overrides == ()  # it adds, and contradicts nothing


def test_the_new_rule_flags_what_its_example_says(ours: Adviser, folder: Path) -> None:
    mine, _ = load_triples([folder / "rules" / "rule.ttl"], None)
    terms = ours.knowledge.triples.terms.child()
    columns = [terms.intern_many([mine.terms[i] for i in column]) for column in mine.columns()]
    data: Triples = ours.knowledge.triples.extended_with(terms, *columns)

    flagged = {
        row.focus for row in ours.rules.evaluate(data) if row.shape.endswith("rule/my-rule>")
    }

    assert flagged == {f"<{BASE}example/flagged/my-rule>"}
    assert ours.rules.rules["rule:my-rule"].effect == "leavesUndecided"


def test_an_example_that_the_rule_does_not_flag_would_be_told(
    folder: Path, tmp_path: Path, check: Check
) -> None:
    path = tmp_path / "rule.ttl"
    text = (folder / "rules" / "rule.ttl").read_text("utf-8")
    path.write_text(text.replace("lw:testState lw:untested", "lw:testState lw:good"), "utf-8")

    (fault,) = check(path)

    assert "lets pass its example flagged:my-rule" in fault.what
