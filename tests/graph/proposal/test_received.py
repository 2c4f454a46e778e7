"""A proposal is read with its case, and every fault is told with its path."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import jsonschema
import pytest
import yaml

from leastwise.graph import Adviser
from leastwise.graph.case.demo import demo_path
from leastwise.graph.errors import NotFound
from leastwise.graph.proposal.received import (
    ProposalError,
    demo_proposal,
    parse_proposal,
    proposal_schema,
    read_proposal,
)
from tests.yaml_files import read_yaml


def proposal(**changes: Any) -> dict[str, Any]:
    return {
        "leastwise_proposal": 1,
        "id": "small",
        "title": "A small proposal",
        "demo": True,
        "case": "demo:guild-banner",
        "steps": [{"damage": "splits", "technique": "encapsulation", "reason": "weak silk"}],
    } | changes


def problems(data: Any, adviser: Adviser) -> dict[str, str]:
    with pytest.raises(ProposalError) as told:
        parse_proposal(json.dumps(data), adviser.knowledge, is_json=True)
    return {p.path: p.accepted for p in told.value.problems}


def test_names_are_tied_to_the_knowledge(adviser: Adviser) -> None:
    steps = [
        {"damage": "dust", "technique": "Low suction through a screen", "considered": ["Spray"]}
    ]

    read, case = parse_proposal(json.dumps(proposal(steps=steps)), adviser.knowledge)

    assert read.steps[0].technique == "technique:screened-vacuum"
    assert read.steps[0].considered == ["technique:spray"]
    assert case.id == "guild-banner"
    assert read.record.risks == "unknown"


def test_the_case_may_stand_in_the_proposal(adviser: Adviser) -> None:
    inside = read_yaml(demo_path("furnishing-panel"))
    steps = [{"damage": "loose-floats", "technique": "hand-realignment"}]

    text = json.dumps(proposal(case=inside, steps=steps), default=str)
    _, case = parse_proposal(text, adviser.knowledge)

    assert case.id == "furnishing-panel"


def test_a_path_is_taken_from_the_file_of_the_proposal(adviser: Adviser, tmp_path: Path) -> None:
    (tmp_path / "mine.yaml").write_text(demo_path("guild-banner").read_text("utf-8"), "utf-8")
    file = tmp_path / "proposal.yaml"
    file.write_text(yaml.safe_dump(proposal(case="mine.yaml")), "utf-8")

    _, case = read_proposal(file, adviser.knowledge)

    assert case.id == "guild-banner"


def test_without_a_folder_no_file_is_read(adviser: Adviser) -> None:
    found = problems(proposal(case=str(demo_path("guild-banner"))), adviser)

    assert found == {"case": "the case record itself, or demo:NAME"}


@pytest.mark.parametrize(
    ("changes", "path", "accepted"),
    [
        ({"leastwise_proposal": 2}, "leastwise_proposal", "1"),
        ({"colour": "red"}, "colour", "a field that the format has (see the schema)"),
        ({"case": "demo:none"}, "case", "a demo case"),
        ({"record": {"hours": -1}}, "record.hours", "greater than or equal to 0"),
        ({"record": {"date": "someday"}}, "record.date", "unknown"),
        ({"stage": "later"}, "stage", "'plan', 'running' or 'report'"),
        ({"case": {"leastwise_case": 1}}, "case.parts", "a value for this field"),
    ],
)
def test_a_wrong_field_is_named_with_what_is_accepted(
    adviser: Adviser, changes: dict[str, Any], path: str, accepted: str
) -> None:
    found = problems(proposal(**changes), adviser)

    assert accepted in found[path]


def test_all_wrong_names_are_told_at_once(adviser: Adviser) -> None:
    steps = [
        {"damage": "nothing", "technique": "encapsulatoin"},
        {"damage": "dust", "technique": "surface-cleaning", "considered": ["sorcery"]},
    ]

    found = problems(proposal(steps=steps), adviser)

    assert set(found) == {
        "steps[0].damage",
        "steps[0].technique",
        "steps[1].technique",
        "steps[1].considered[0]",
    }
    assert "technique:encapsulation" in found["steps[0].technique"]
    assert "splits" in found["steps[0].damage"]


@pytest.mark.parametrize("text", ["", "[]", "{", "a: *b", "3", "a: [1", "\x00"])
def test_what_is_no_proposal_is_a_told_fault(adviser: Adviser, text: str) -> None:
    with pytest.raises(ProposalError):
        parse_proposal(text, adviser.knowledge)


def test_a_missing_file_is_a_told_fault(adviser: Adviser, tmp_path: Path) -> None:
    with pytest.raises(ProposalError, match="No such file"):
        read_proposal(tmp_path / "none.yaml", adviser.knowledge)


def test_the_schema_takes_the_demo_and_refuses_an_unknown_stage(adviser: Adviser) -> None:
    data = read_yaml(demo_proposal("hasty-dancer"))
    data["record"]["date"] = str(data["record"]["date"])

    jsonschema.validate(data, proposal_schema())

    with pytest.raises(jsonschema.ValidationError):
        jsonschema.validate(data | {"stage": "later"}, proposal_schema())


def test_the_demo_proposal_is_marked_as_invented(adviser: Adviser) -> None:
    read, case = read_proposal(demo_proposal("hasty-dancer"), adviser.knowledge)

    assert read.demo
    assert case.demo
    with pytest.raises(NotFound, match="hasty-dancer"):
        demo_proposal("none")
