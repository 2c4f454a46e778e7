"""Approved answers of the demo cases: a verdict or an order that changes is a visible diff.

Approve on purpose with ``python -m pytest tests/answers --approve`` and read the diff.
"""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest

from leastwise.graph import Adviser, Case
from leastwise.graph.answer import Answer
from tests.conftest import DEMOS

HERE = Path(__file__).parent


def in_short(answer: Answer) -> str:
    """Return verdict, option and first grounds, a line each."""
    lines = []
    for damage in answer.damages:
        lines.append(f"{damage.id}: {damage.label}")
        for option in damage.options:
            aim = "aim met" if option.meets_aim else "aim not met"
            technique = option.technique.partition(":")[2]
            lines.append(f"  {option.verdict:<9}  {technique}, {aim}, burden {option.burden:.2f}")
            effect = {"defeated": "defeats", "undecided": "leavesUndecided"}.get(option.verdict)
            grounds = sorted({f.rule for f in option.findings if f.effect == effect})
            lines += [f"             {rule}" for rule in grounds]
    return "\n".join(lines) + "\n"


@pytest.mark.parametrize("name", DEMOS)
def test_the_answer_is_the_approved_one(
    adviser: Adviser,
    demo: Callable[[str], Case],
    name: str,
    approve: bool,
) -> None:
    approved = HERE / f"{name}.txt"
    answer = in_short(adviser.weigh(demo(name)))
    if approve:
        approved.write_text(answer, "utf-8")

    assert answer == approved.read_text("utf-8")
