"""Twelve invented objects: each reads, and is weighed to an answer for each of its damages."""

from __future__ import annotations

from pathlib import Path

import pytest

from leastwise.graph import Adviser
from leastwise.graph.case.reading import read_case

FILES = sorted(Path(__file__).parent.glob("*.yaml"))


@pytest.mark.parametrize("file", FILES, ids=lambda file: file.stem)
def test_object_reads_and_is_weighed(adviser: Adviser, file: Path) -> None:
    case = read_case(file, adviser.knowledge)
    assert case.demo, "an invented object is marked so"
    assert case.id == file.stem
    answer = adviser.weigh(case)
    assert {one.id for one in case.damages} <= {damage.id for damage in answer.damages}
    assert all(damage.options for damage in answer.damages)
