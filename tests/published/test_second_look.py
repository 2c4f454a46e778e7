"""Words of published treatments have a counterpart by meaning, looked at a second time."""

from __future__ import annotations

import random
from pathlib import Path
from typing import Any

from leastwise.graph import Adviser
from tests.yaml_files import read_yaml

HERE = Path(__file__).parent
ROWS: list[dict[str, Any]] = sorted(
    (
        row
        for path in sorted(HERE.glob("terms-*.yaml"))
        for row in read_yaml(path)
        if row["kind"] in ("technique", "test")
    ),
    key=lambda row: (row["kind"], row["term"]),
)
LOOK: dict[str, Any] = read_yaml(HERE / "second-look.yaml")


def test_of_all_words_for_techniques_and_tests_enough_have_a_counterpart(adviser: Adviser) -> None:
    known = [row for row in ROWS if any(one in adviser.knowledge for one in row["meant"])]
    assert len(ROWS) > 600
    assert len(known) / len(ROWS) >= 0.95


def test_no_counterpart_is_a_name_that_the_knowledge_lacks(adviser: Adviser) -> None:
    assert {one for row in ROWS for one in row["meant"] if one not in adviser.knowledge} == set()


def test_the_second_look_is_at_the_words_that_the_seed_draws() -> None:
    drawn = [(row["kind"], row["term"]) for row in random.Random(LOOK["seed"]).sample(ROWS, 60)]  # noqa: S311 - a draw, no secret
    assert [(one["kind"], one["term"]) for one in LOOK["judged"]] == drawn


def test_the_second_look_finds_enough_of_them_right_or_put_right() -> None:
    judged = [one["judged"] for one in LOOK["judged"]]
    assert set(judged) <= {"right", "put right", "no concept"}
    assert 1 - judged.count("no concept") / len(judged) >= 0.9
    assert judged.count("right") / len(judged) >= 0.8
