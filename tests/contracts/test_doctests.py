"""Every example in a docstring is true."""

from __future__ import annotations

import doctest
import importlib
import pkgutil

import pytest

import leastwise.graph

MODULES = sorted(
    ["leastwise.graph"]
    + [m.name for m in pkgutil.walk_packages(leastwise.graph.__path__, "leastwise.graph.")]
)


@pytest.mark.parametrize("name", MODULES)
def test_examples_in_docstrings_are_true(name: str) -> None:
    assert doctest.testmod(importlib.import_module(name)).failed == 0


def test_there_are_examples() -> None:
    finder = doctest.DocTestFinder()
    examples = [t for m in MODULES for t in finder.find(importlib.import_module(m)) if t.examples]

    assert len(examples) > 20
