"""Sentences keep to the table of .ci/prose.toml, and the table finds what it is there for."""

from __future__ import annotations

import importlib.util
import sys
from importlib.machinery import SourceFileLoader
from pathlib import Path
from typing import Any

import pytest

PATH = Path(__file__).parents[2] / ".ci" / "prose"


def _prose() -> Any:
    spec = importlib.util.spec_from_loader("prose", SourceFileLoader("prose", str(PATH)))
    assert spec
    assert spec.loader
    module = importlib.util.module_from_spec(spec)
    sys.modules["prose"] = module
    spec.loader.exec_module(module)
    return module


prose = _prose()
RULES = prose.rules()


def test_no_sentence_stumbles() -> None:
    assert list(prose.faults()) == []


@pytest.mark.parametrize("rule", RULES, ids=lambda rule: rule.caught)
def test_a_rule_finds_its_example_and_leaves_the_other_alone(rule: Any) -> None:
    assert rule.find.search(rule.caught)
    assert not rule.find.search(rule.passes)


def test_all_four_kinds_of_text_are_read() -> None:
    read: dict[str, list[str]] = {kind: [] for kind in prose.KINDS}
    for kind, _, _, text in prose.texts():
        read[kind].append(text)

    assert {kind for kind, found in read.items() if len(found) > 100} == set(prose.KINDS)


@pytest.mark.parametrize(
    ("read", "text", "said"),
    [
        (prose.of_turtle, 'x:y skos:definition "A thing, so far that it."@en ;', 1),
        (prose.of_turtle, 'x:y skos:altLabel "as people say it"@en ;', 0),
        (prose.of_python, 'told = f"Given is {one!r}, and more"', 1),
        (prose.of_python, "told = 3", 0),
    ],
)
def test_what_is_read_of_a_file(read: Any, text: str, said: int) -> None:
    assert len(list(read(text))) == said
