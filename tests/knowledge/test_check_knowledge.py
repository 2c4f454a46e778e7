"""Each way of breaking Turtle gives a message with file, line, subject, fault and mend."""

from __future__ import annotations

import json
import shutil
import time
from pathlib import Path

import pytest
from typer.testing import CliRunner

from leastwise.api.cli.app import app
from leastwise.graph.authoring.check_knowledge import Checker, Fault
from leastwise.graph.authoring.turtle_places import read_statements
from leastwise.graph.errors import KnowledgeError

BROKEN = sorted((Path(__file__).parent / "broken").glob("*.ttl"))
WITHOUT_LINE = {"empty"}


@pytest.fixture(scope="module")
def faults(checker: Checker) -> dict[str, list[Fault]]:
    """The faults of all broken files, checked together, by the name of the file."""
    found: dict[str, list[Fault]] = {}
    for fault in checker.check([BROKEN[0].parent])[0]:
        found.setdefault(Path(fault.file).stem, []).append(fault)
    return found


def expected_words(path: Path) -> list[str]:
    return path.read_bytes().split(b"\n")[0].decode().removeprefix("# ").split(" | ")


def test_there_are_at_least_thirty_ways_of_being_broken() -> None:
    assert len(BROKEN) >= 30


@pytest.mark.parametrize("path", BROKEN, ids=lambda path: path.stem)
def test_each_fault_is_told_with_place_subject_and_mend(
    path: Path, faults: dict[str, list[Fault]]
) -> None:
    words = expected_words(path)
    said = [str(fault) for fault in faults.get(path.stem, [])]

    fitting = [fault for fault in said if all(word in fault for word in words)]

    assert fitting, f"none of {said} holds all of {words}"
    place = fitting[0].split(": ")[0]
    assert path.name in place
    if path.stem not in WITHOUT_LINE:
        assert place.rpartition(":")[2].isdigit()


@pytest.mark.parametrize("path", BROKEN, ids=lambda path: path.stem)
def test_one_fault_gives_no_flood_of_messages(path: Path, faults: dict[str, list[Fault]]) -> None:
    assert len(faults[path.stem]) <= 2


@pytest.mark.parametrize("name", ["severity-seven", "unknown-condition", "rule-without-message"])
def test_a_file_alone_is_told_the_same_as_in_its_folder(
    name: str, checker: Checker, faults: dict[str, list[Fault]]
) -> None:
    alone, number = checker.check([BROKEN[0].parent / f"{name}.ttl"])

    assert number == 1
    assert alone == faults[name]


def test_the_line_is_that_of_the_value_not_only_of_the_subject(
    faults: dict[str, list[Fault]],
) -> None:
    for name, text in (("severity-seven", "lw:severity 7"), ("rests-on-nothing", "claim:X-999")):
        fault = faults[name][0]
        lines = Path(fault.file).read_text("utf-8").splitlines()
        assert text in lines[fault.line - 1]


def test_checking_a_file_takes_seconds(checker: Checker) -> None:
    start = time.perf_counter()
    Checker.shipped().check([BROKEN[0]])

    assert time.perf_counter() - start < 15


@pytest.mark.parametrize("columns", ["", "40"])
def test_the_command_prints_faults_and_leaves_with_one(
    columns: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("COLUMNS", columns)
    result = CliRunner().invoke(app, ["check-knowledge", str(BROKEN[0].parent / "dose-zero.ttl")])

    assert result.exit_code == 1
    assert "dose-zero.ttl:14: error: technique:b-zero" in result.output
    assert "1 file checked: 1 error, 0 warnings." in result.output


def test_the_command_gives_faults_as_json() -> None:
    path = BROKEN[0].parent / "dose-zero.ttl"
    result = CliRunner().invoke(app, ["check-knowledge", "--json", str(path)])

    assert result.exit_code == 1
    told = json.loads(result.stdout)
    assert [(one["line"], one["subject"]) for one in told["faults"]] == [(14, "technique:b-zero")]
    assert told["summary"] == "1 file checked: 1 error, 0 warnings."


def test_a_path_that_is_not_there_is_a_clear_error(tmp_path: Path, checker: Checker) -> None:
    with pytest.raises(KnowledgeError, match="is not there"):
        checker.check([tmp_path / "none.ttl"])
    with pytest.raises(KnowledgeError, match=r"holds no \.ttl files"):
        checker.check([tmp_path])


def test_a_file_without_fault_has_none(tmp_path: Path, checker: Checker) -> None:
    text = (BROKEN[0].parent / "severity-seven.ttl").read_text("utf-8")
    (tmp_path / "good.ttl").write_text(text.replace("lw:severity 7", "lw:severity 1"))

    assert checker.check([tmp_path]) == ([], 1)


def test_what_stands_in_an_examples_folder_is_no_knowledge(
    tmp_path: Path, checker: Checker
) -> None:
    inside = tmp_path / "examples" / "mine"  # the name of a folder above doesn't matter
    (inside / "examples").mkdir(parents=True)
    shutil.copy(BROKEN[0].parent / "dose-zero.ttl", inside / "a.ttl")
    shutil.copy(BROKEN[0].parent / "grade-five.ttl", inside / "examples" / "b.ttl")

    faults, number = checker.check([inside])

    assert number == 1
    assert {Path(fault.file).name for fault in faults} == {"a.ttl"}


def test_a_text_with_signs_of_turtle_in_it_does_not_end_a_statement() -> None:
    turtle = (
        "@prefix material: <https://w3id.org/leastwise/material/> .\n"
        'material:a <http://x/p> "ends. [ here; \\" not" ; # a remark. with stops\n'
        '  <http://x/q> """two\nlines.""" , 0.5 .\n'
        "material:b a material:c .\n"
    )

    a, b = read_statements(turtle)

    assert (a.subject, a.line, a.line_of("http://x/q", "0.5")) == ("material:a", 2, 4)
    assert (b.subject, b.line, b.line_of("rdf:type", "material:c")) == ("material:b", 5, 5)
