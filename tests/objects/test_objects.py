"""Invented objects: each is weighed; what nobody would sign isn't offered as the answer."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest

from leastwise.graph import Adviser
from leastwise.graph.answer import Answer, OptionAnswer
from leastwise.graph.case.reading import read_case
from tests.yaml_files import read_yaml

HERE = Path(__file__).parent
READING = read_yaml(HERE / "reading.yaml")
FILES = sorted(file for file in HERE.glob("*.yaml") if file.stem != "reading")
FIRST = 3


@pytest.fixture(scope="module")
def answer(adviser: Adviser) -> Callable[[str], Answer]:
    found: dict[str, Answer] = {}

    def of(name: str) -> Answer:
        if name not in found:
            found[name] = adviser.weigh(read_case(HERE / f"{name}.yaml", adviser.knowledge))
        return found[name]

    return of


def named(line: dict[str, str]) -> str:
    return f"{line['object']}/{line['damage']}/{line['technique']}"


def option(answer: Answer, line: dict[str, str]) -> OptionAnswer | None:
    wanted = f"{line['damage']}/{line['technique']}"
    return next((one for one in answer.options() if one.id == wanted), None)


@pytest.mark.parametrize("file", FILES, ids=lambda file: file.stem)
def test_object_reads_and_is_weighed(
    adviser: Adviser, answer: Callable[[str], Answer], file: Path
) -> None:
    case = read_case(file, adviser.knowledge)
    assert case.demo, "an invented object is marked so"
    assert case.id == file.stem
    found = answer(file.stem)
    assert {one.id for one in case.damages} <= {damage.id for damage in found.damages}
    assert all(damage.options for damage in found.damages)


@pytest.mark.parametrize("line", READING["not_signed"], ids=named)
def test_what_nobody_would_sign_is_no_answer(
    answer: Callable[[str], Answer], line: dict[str, str]
) -> None:
    found = option(answer(line["object"]), line)
    assert found is None or found.verdict != "accepted" or not found.meets_aim, line["why"]


@pytest.mark.parametrize("line", READING["among_the_first_three"], ids=named)
def test_what_one_would_do_stands_among_the_first(
    answer: Callable[[str], Answer], line: dict[str, str]
) -> None:
    found = option(answer(line["object"]), line)
    assert found is not None
    assert found.verdict != "defeated"
    assert found.rank <= FIRST


@pytest.mark.parametrize("line", READING["stands_first"], ids=named)
def test_what_an_expert_would_do_stands_first_and_is_open(
    answer: Callable[[str], Answer], line: dict[str, str]
) -> None:
    found = option(answer(line["object"]), line)
    assert found is not None
    assert found.rank == 1, line["why"]
    assert found.verdict == "accepted"
    assert found.meets_aim
