"""No grade, efficacy or working time that is a judgement lacks whose it is and of which day."""

from __future__ import annotations

import re

import pytest

from leastwise.graph import Adviser
from leastwise.graph.knowledge.judged import judged_by

DAY = re.compile(r", 20\d\d-\d\d-\d\d$")


@pytest.mark.parametrize("basis", ["lw:practice", "lw:memory"])
def test_what_is_a_judgement_says_whose_and_when(basis: str, adviser: Adviser) -> None:
    k = adviser.knowledge
    judged = [one for one in k.subjects() if k.object(one, "lw:basis") == basis]
    assert len(judged) > 100
    assert [one for one in judged if not DAY.search(judged_by(one, k))] == []


def test_every_technique_says_whose_judgement_its_hours_and_burdens_are(adviser: Adviser) -> None:
    k = adviser.knowledge
    for technique in k.instances("lw:Technique"):
        assert DAY.search(judged_by(technique, k)), technique


def test_what_names_its_own_judge_and_day_keeps_them(adviser: Adviser) -> None:
    assert judged_by("claim:known-red-rot", adviser.knowledge).endswith("2026-11-30")


def test_what_was_read_is_nobodys_judgement_here(adviser: Adviser) -> None:
    k = adviser.knowledge
    read = [c for c in k.instances("lw:Claim") if k.object(c, "lw:basis") == "lw:read"]
    assert read
    assert {judged_by(one, k) for one in read} == {""}
