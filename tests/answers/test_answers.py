"""Approved answers of the demo cases: a verdict or an order that changes is a visible diff.

The short form is read by people. Beside it stands a digest of each section of the whole answer
and of the plan, without its wording: ids, verdicts, ranks, grades, hours, remedies and claims. A
sentence that is put better changes none of them.

Approve on purpose with ``python -m pytest tests/answers --approve`` and read the diff.
"""

from __future__ import annotations

import hashlib
import json
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest

from leastwise.graph import Adviser, Case
from leastwise.graph.answer import Answer
from leastwise.graph.planning.make import make_plan
from tests.conftest import DEMOS

HERE = Path(__file__).parent
#: Fields that hold words for people even where it is one word.
WORDS = {"label", "title", "name", "part_name", "definition", "citation", "text"}
#: What differs with every change of knowledge, program or text of a claim.
ASIDE = {"stamp", "sources"}


def in_short(answer: Answer) -> str:
    """Return verdict, option and first grounds, a line each."""
    lines = []
    for damage in answer.damages:
        lines.append(f"{damage.id}: {damage.label}")
        for option in damage.options:
            aim = "aim met" if option.meets_aim else "aim not met"
            technique = option.technique.partition(":")[2]
            lines.append(f"  {option.verdict:<9}  {technique}, {aim}, burden {option.burden:.2f}")
            effect = option.verdict.decided_by
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


def without_words(value: Any, field: str = "") -> Any:
    """Return a value of JSON with every sentence and label left empty; names stay."""
    if isinstance(value, dict):
        return {key: without_words(inner, key) for key, inner in value.items() if key not in ASIDE}
    if isinstance(value, list):
        return [without_words(inner, field) for inner in value]
    if isinstance(value, str) and (field in WORDS or " " in value or value.endswith(".")):
        return ""
    return value


def digests(kind: str, text: str) -> Iterator[str]:
    """Yield a line for each section of an answer or plan: its name and the start of its digest."""
    whole = json.loads(text)
    for section, found in sorted(whole.items()):
        parts = found if section in ("damages", "steps") else [found]
        for part in parts if section not in ASIDE else ():
            name = f"{section} {part['id']}" if section == "damages" else section
            kept = json.dumps(without_words(part, section), sort_keys=True).encode()
            yield f"{kind} {name}: {hashlib.sha256(kept).hexdigest()[:12]}"


@pytest.mark.parametrize("name", DEMOS)
def test_all_but_the_wording_is_as_approved(
    adviser: Adviser,
    demo: Callable[[str], Case],
    name: str,
    approve: bool,
) -> None:
    approved, case = HERE / f"{name}.digests.txt", demo(name)
    answer = adviser.weigh(case)
    found = [
        *digests("answer", answer.as_json()),
        *digests("plan", make_plan(case, adviser, answer=answer).as_json()),
    ]
    if approve:
        approved.write_text("\n".join(found) + "\n", "utf-8")

    assert found == approved.read_text("utf-8").splitlines()


def test_a_sentence_may_be_put_better_and_nothing_else_may_change() -> None:
    told = {"damages": [{"id": "d", "verdict": "accepted", "label": "net", "why": "It is so."}]}
    better = {"damages": [{"id": "d", "verdict": "accepted", "label": "mesh", "why": "So it is."}]}
    graver = {"damages": [{"id": "d", "verdict": "defeated", "label": "net", "why": "It is so."}]}

    one, same, other = (list(digests("a", json.dumps(x))) for x in (told, better, graver))

    assert one == same
    assert one != other
