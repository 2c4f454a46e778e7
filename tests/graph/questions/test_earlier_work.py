"""An option asked for alone comes to what it comes to in the whole case, earlier work included."""

from __future__ import annotations

from collections.abc import Callable

import pytest

from leastwise.graph import Adviser, Case
from leastwise.graph.ids import OptionId
from leastwise.graph.questions.change import applied
from leastwise.graph.questions.changes import open_changes
from leastwise.graph.questions.rerun import Rerun
from tests.conftest import DEMOS

#: These wait for work of another damage: its support, or its being laid flat.
WAITING = (
    ("furnishing-panel", "need-moved/rolled-storage"),
    ("furnishing-panel", "need-carried-slanted/magnet-mount"),
)


@pytest.mark.parametrize("name", DEMOS)
def test_a_problem_alone_is_answered_as_in_the_whole(
    name: str, adviser: Adviser, demo: Callable[[str], Case]
) -> None:
    case = demo(name)
    for whole in adviser.weigh(case).damages:
        alone = adviser.weigh_one(case.model_copy(), whole.id).damage  # nothing of it is at hand
        assert alone.options == whole.options


@pytest.mark.parametrize(("name", "option"), WAITING)
def test_a_changed_case_is_weighed_with_the_work_that_comes_before(
    name: str, option: str, adviser: Adviser, demo: Callable[[str], Case]
) -> None:
    case = demo(name)
    course = adviser.steps(case).courses[OptionId(option)]
    assert any(act.supplies == "lw:EarlierWork" for act in course.candidate.acts)

    rerun = Rerun(adviser, case, option)
    for change in open_changes(adviser, case, option):
        whole = adviser.steps(applied(case, [change])).courses[OptionId(option)]
        assert rerun.verdict([change]) == whole.verdict
