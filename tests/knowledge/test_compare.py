"""An editor sees which claims, verdicts and ranks a change would change, before accepting it."""

from __future__ import annotations

import json
import shutil
from collections.abc import Callable
from pathlib import Path

import pytest
from typer.testing import CliRunner

from leastwise.api.cli.app import app
from leastwise.graph import KnowledgeError
from leastwise.graph.authoring.compare import Comparison, Side, compare, demo_cases
from leastwise.graph.case.demo import demo_path
from leastwise.graph.load import open_side
from leastwise.graph.names import PREFIXES

pytestmark = pytest.mark.slow  # seconds of work in nearly every test

ROOT = Path(__file__).parents[2]
HEAD = "".join(f"@prefix {prefix}: <{iri}> .\n" for prefix, iri in PREFIXES.items())
STRICTER = "technique:damp-blotter lw:requires condition:lies-flat .\n"
CASE = "festival-dancer"
DAMAGE = "crushed-tiers"
Write = Callable[..., Path]


@pytest.fixture
def write(tmp_path: Path) -> Write:
    def make(turtle: str, name: str = "ours", file: str = "k.ttl") -> Path:
        path = tmp_path / name / file
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_text(HEAD + turtle, "utf-8")
        return tmp_path / name

    return make


@pytest.fixture(scope="module")
def shipped(cache: Path) -> Side:
    return open_side("shipped", cache=cache)


@pytest.fixture
def against_shipped(shipped: Side, cache: Path) -> Callable[[Path], Comparison]:
    def run(folder: Path) -> Comparison:
        return compare(shipped, open_side(str(folder), cache=cache), [demo_path(CASE)])

    return run


def test_nothing_differs_between_a_knowledge_and_itself(shipped: Side) -> None:
    found = compare(shipped, shipped, demo_cases())

    assert found.subjects == ()
    assert [case.case for case in found.cases] == [path.stem for path in demo_cases()]
    assert not found.verdicts_change


def test_a_verdict_that_changes_is_shown_with_old_new_and_the_rule_that_speaks(
    write: Write, against_shipped: Callable[[Path], Comparison]
) -> None:
    found = against_shipped(write(STRICTER))

    (case,) = found.cases
    first = case.options[DAMAGE][0]
    assert first.option == f"{DAMAGE}/damp-blotter"
    assert first.old is not None
    assert first.new is not None
    assert (first.old.verdict, first.new.verdict) == ("undecided", "defeated")
    assert "rule:condition-not-met" in first.rules_gained
    assert found.verdicts_change
    assert [(s.kind, s.what, s.subject, s.properties) for s in found.subjects] == [
        ("concept", "changed", "technique:damp-blotter", ("lw:requires",))
    ]


def test_a_rank_that_only_shifts_comes_after_the_verdicts(
    write: Write, against_shipped: Callable[[Path], Comparison]
) -> None:
    changes = against_shipped(write(STRICTER)).cases[0].options[DAMAGE]
    verdicts = [c.old is None or c.new is None or c.old.verdict != c.new.verdict for c in changes]
    shifts = [c for c, verdict in zip(changes, verdicts, strict=True) if not verdict]

    assert verdicts == sorted(verdicts, reverse=True)
    assert shifts
    assert all(c.old and c.new and c.old.rank != c.new.rank for c in shifts)


def test_the_other_way_round_old_and_new_change_places(
    write: Write, shipped: Side, cache: Path
) -> None:
    ours = open_side(str(write(STRICTER)), cache=cache)

    there = compare(shipped, ours, [demo_path(CASE)]).cases[0].options[DAMAGE]
    back = compare(ours, shipped, [demo_path(CASE)]).cases[0].options[DAMAGE]

    assert {c.option: (c.old, c.new) for c in there} == {c.option: (c.new, c.old) for c in back}


def test_claims_and_rules_that_were_added_or_changed_are_listed(
    write: Write, against_shipped: Callable[[Path], Comparison]
) -> None:
    write("claim:M-322-heat lw:needsCheck true .\n")
    folder = write(
        "rule:ours a sh:NodeShape ; sh:targetClass lw:Part ; sh:severity sh:Info ; "
        'lw:verdictEffect lw:records ; lw:theme "record" ; sh:message "Look at {part}."@en ; '
        "sh:not [ sh:property [ sh:path lw:material ; sh:hasValue material:silk ] ] .\n"
        "rule:condition-not-met sh:deactivated true .",
        file="rules/r.ttl",
    )

    found = {(s.kind, s.what, s.subject) for s in against_shipped(folder).subjects}

    assert found == {
        ("claim", "changed", "claim:M-322-heat"),
        ("rule", "added", "rule:ours"),
        ("rule", "changed", "rule:condition-not-met"),
    }


def test_a_whole_knowledge_shows_what_was_taken_away(
    tmp_path: Path, shipped: Side, cache: Path
) -> None:
    whole = tmp_path / "whole"
    for path in sorted((ROOT / "seed_data").rglob("*.ttl")):
        copy = whole / path.relative_to(ROOT / "seed_data")
        copy.parent.mkdir(parents=True, exist_ok=True)
        shutil.copy(path, copy)
    effects = whole / "claims" / "effects-moisture.ttl"
    blocks = effects.read_text("utf-8").split("\n\n")
    kept = [block for block in blocks if "technique:damp-blotter" not in block]
    effects.write_text("\n\n".join(kept), "utf-8")

    found = compare(shipped, open_side(str(whole), whole=True, cache=cache), [demo_path(CASE)])

    assert {s.what for s in found.subjects} == {"removed"}
    assert {s.kind for s in found.subjects} == {"claim"}
    gone = [c for c in found.cases[0].options[DAMAGE] if c.option.endswith("/damp-blotter")]
    assert gone[0].old is not None
    assert gone[0].new is None


def test_a_folder_that_is_no_complete_knowledge_is_refused_as_whole(
    write: Write, cache: Path
) -> None:
    with pytest.raises(KnowledgeError, match="is no complete knowledge: it lacks lw:Technique"):
        open_side(str(write(STRICTER)), whole=True, cache=cache)


def test_a_case_that_only_one_side_can_read_is_told(
    write: Write, tmp_path: Path, shipped: Side, cache: Path
) -> None:
    ours = open_side(
        str(
            write(
                "material:ours a skos:Concept, lw:Fibre ; skos:inScheme lw:materials ; "
                'skos:prefLabel "our own cloth"@en ; skos:broader material:textile ; '
                'skos:definition "Invented for a test."@en .'
            )
        ),
        cache=cache,
    )
    case = tmp_path / "case.yaml"
    text = demo_path("furnishing-panel").read_text("utf-8")
    case.write_text(text.replace("{is: silk,", "{is: our own cloth,", 1), "utf-8")
    assert "our own cloth" in case.read_text("utf-8")

    (found,) = compare(shipped, ours, [case]).cases

    assert "can't be read with shipped" in found.problem
    assert "our own cloth" in found.problem


@pytest.mark.usefixtures("loaded_once")
def test_the_command_shows_the_change_and_leaves_with_one(write: Write) -> None:
    result = CliRunner().invoke(app, ["compare-knowledge", "shipped", str(write(STRICTER))])

    assert result.exit_code == 1
    assert "Concepts changed: 1" in result.stdout
    assert "damp blotter in contact: undecided, rank" in result.stdout
    assert "now speaks rule:condition-not-met" in result.stdout


@pytest.mark.usefixtures("loaded_once")
def test_the_command_leaves_with_nought_if_no_verdict_changes(write: Write, tmp_path: Path) -> None:
    case = tmp_path / "mine.yaml"
    case.write_text(
        demo_path(CASE).read_text("utf-8").replace(f"id: {CASE}", "id: mine", 1), "utf-8"
    )
    folder = str(write("claim:M-322-heat lw:needsCheck true .\n"))

    arguments = ["compare-knowledge", "shipped", folder, "--case", str(case), "--json"]
    result = CliRunner().invoke(app, arguments)

    read = json.loads(result.stdout)
    assert result.exit_code == 0
    assert read["verdicts_change"] is False
    assert [one["subject"] for one in read["subjects"]] == ["claim:M-322-heat"]
    assert read["cases"][-1] == {"case": "mine", "options": {}, "problem": ""}


def test_a_folder_that_is_not_there_is_one_sentence_and_two(tmp_path: Path) -> None:
    result = CliRunner().invoke(app, ["compare-knowledge", "shipped", str(tmp_path / "none")])

    assert result.exit_code == 2
    assert "is not a folder" in result.output
