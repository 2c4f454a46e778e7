"""A record is checked without being kept: what can't be read, what is odd, what is unknown."""

from __future__ import annotations

import json
from dataclasses import replace
from pathlib import Path

import pytest
from fastapi.testclient import TestClient
from typer.testing import CliRunner

from leastwise.api.app import create_app
from leastwise.api.cli.app import app
from leastwise.api.settings import Settings
from leastwise.graph import Adviser
from leastwise.graph.questions.record_check import RecordCheck, check_record

RECORD = """\
leastwise_case: 2
id: collar
title: A collar
demo: true
object: {name: collar, kind: accessory}
parts:
  - id: collar
    name: collar
    fibre: {is: silk, identified: certain}
    colour: none
    structure: {is: plain-weave, identified: certain}
    reverse_reachable: "yes"
    bears_handling: "yes"
    bears_needle: "yes"
    sound_surroundings: "yes"
damages:
  - {id: crushed, damage: crease, parts: [collar], evidence: "no", severity: moderate}
significance: {statement: x, curator_agrees: "yes"}
aim: {purpose: display, mounting: flat, degrees_from_vertical: 20}
"""


def test_what_cannot_be_read_has_line_path_and_mend_and_all_is_told_at_once(
    adviser: Adviser,
) -> None:
    wrong = RECORD.replace("is: silk", "is: silkk").replace("moderate", "awful")

    found = check_record(wrong, adviser, most_runs=0)

    assert not found.is_readable
    assert {(p.path, p.line) for p in found.problems} == {
        ("parts[0].fibre.is", 9),
        ("damages[0].severity", 17),
    }
    assert found.unknown == ()


@pytest.mark.parametrize("text", ["a: [", "a: 1\na: 2\n", "just text", ""])
def test_what_is_no_record_is_told_too(adviser: Adviser, text: str) -> None:
    assert check_record(text, adviser).problems


def test_what_is_odd_is_asked_with_its_line(adviser: Adviser) -> None:
    (question,) = check_record(RECORD, adviser, most_runs=0).questions

    assert (question.path, question.line) == ("aim.degrees_from_vertical", 19)


def test_what_is_unknown_and_would_change_the_answer_comes_first_with_how(
    adviser: Adviser,
) -> None:
    found = check_record(RECORD, adviser)
    states = [one.changes for one in found.unknown]

    assert states == sorted(states, key=["yes", "no", "not-tried"].index)
    flat = next(one for one in found.unknown if one.path == "parts[0].lies_flat")
    assert flat.changes == "yes"
    assert any(line.startswith(("if yes: ", "if no: ")) for line in flat.if_known)


def test_nothing_is_weighed_again_where_nobody_asks_for_it(adviser: Adviser) -> None:
    found = check_record(RECORD, adviser, most_runs=0)

    assert {one.changes for one in found.unknown} == {"not-tried"}


def test_a_heading_that_nobody_examined_says_whether_it_is_weighed(adviser: Adviser) -> None:
    found = check_record(RECORD.replace("    colour: none\n", ""), adviser, most_runs=0)
    says = {one.path: one.says for one in found.unknown}

    assert "weighed as unknown" in says["parts[0].colour"]
    assert "a caution" in says["parts[0].finish"]


def test_what_nobody_named_is_tried_as_what_it_may_be(adviser: Adviser) -> None:
    """A fibre that may be acetate decides whether a ketone may be used at all."""
    unnamed = RECORD.replace("fibre: {is: silk, identified: certain}", "fibre: unknown")
    stained = unnamed.replace("damage: crease", "damage: stain, deposit: resin")

    found = {one.path: one for one in check_record(stained, adviser, most_runs=60).unknown}

    assert found["parts[0].fibre"].changes in ("yes", "no")
    assert found["parts[0].finish"].changes in ("yes", "no")


def test_one_of_several_is_tried_with_each_of_them(adviser: Adviser) -> None:
    either = RECORD.replace(
        "fibre: {is: silk, identified: certain}", "fibre: {one_of: [silk, cellulose acetate]}"
    ).replace("damage: crease", "damage: stain, deposit: lacquer")

    found = check_record(either, adviser, most_runs=60).unknown

    (entry,) = [one for one in found if ".materials[" in one.path]
    assert entry.says == "whether the collar is of silk or cellulose acetate."
    assert entry.changes != "not-tried"


def test_what_tests_found_is_told(adviser: Adviser) -> None:
    test = "tests: [{test: fibre-microscopy, part: collar, identified: wool}]\n"
    presumed = RECORD.replace("identified: certain}", "identified: presumed}", 1) + test

    (told,) = check_record(presumed, adviser, most_runs=0).settled

    assert str(told).startswith("tests[0]: Fibre microscopy showed wool on collar, recorded as")


def test_both_doors_say_the_same(adviser: Adviser, tmp_path: Path) -> None:
    path = tmp_path / "collar.yaml"
    path.write_text(RECORD, "utf-8")
    settings = replace(Settings.from_environment(), store=f"sqlite:///{tmp_path}/s.db")
    with TestClient(create_app(adviser, settings), base_url="http://127.0.0.1") as client:
        sent = client.post(
            "/check?most_runs=0",
            content=RECORD.encode(),
            headers={"content-type": "application/yaml"},
        )
    printed = CliRunner().invoke(app, ["check", str(path), "--quick", "--json"])

    assert sent.status_code == 200
    assert printed.exit_code == 0
    assert json.loads(printed.stdout) == sent.json()
    assert RecordCheck.__dataclass_fields__.keys() == sent.json().keys()


def test_the_command_says_by_its_exit_code_whether_the_record_can_be_used(tmp_path: Path) -> None:
    path = tmp_path / "wrong.yaml"
    path.write_text(RECORD.replace("aim:", "aims:"), "utf-8")

    found = CliRunner().invoke(app, ["check", str(path), "--quick"])

    assert found.exit_code == 1
    assert "To mend" in found.stdout
    assert "line 19, aims" in found.stdout
