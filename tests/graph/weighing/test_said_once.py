"""What protects people: the object's hazards, and those of what was chosen, wherever it stood."""

from __future__ import annotations

from collections.abc import Callable

import pytest

from leastwise.graph import Adviser, Case
from leastwise.graph.answer import Answer
from leastwise.graph.weighing.said_once import PEOPLE, protecting
from tests.conftest import DEMOS


@pytest.fixture(params=DEMOS)
def answer(adviser: Adviser, demo: Callable[[str], Case], request: pytest.FixtureRequest) -> Answer:
    return adviser.weigh(demo(request.param))


def test_what_is_first_said_of_people_comes_from_the_object_or_a_leading_place(
    answer: Answer,
) -> None:
    leading = {one for d in answer.damages for p in d.places[:3] for one in p.options}
    mine = {f.rule for o in answer.options() if o.id in leading for f in o.findings}
    others = {f.rule for o in answer.options() if o.id not in leading for f in o.findings}
    said = {f.rule for f in answer.people_first}
    assert said.isdisjoint(others - mine)


def test_every_option_that_is_chosen_brings_its_own_hazards(answer: Answer) -> None:
    options = list(answer.options())
    for chosen in options:
        said = {f.rule for f in protecting(answer.people_first, options, [chosen])}
        assert {f.rule for f in chosen.findings if f.theme == PEOPLE} <= said


def test_what_was_not_chosen_says_nothing(answer: Answer) -> None:
    options = list(answer.options())
    of_options = {f.rule for o in options for f in o.findings if f.theme == PEOPLE}
    said = {f.rule for f in protecting(answer.people_first, options, [])}
    assert said.isdisjoint(of_options)
