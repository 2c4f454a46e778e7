"""What ticked points would open: the case weighed again, and nothing guessed."""

from __future__ import annotations

import pytest

from leastwise.graph import Adviser
from leastwise.graph.case.demo import read_demo
from leastwise.graph.errors import CaseError
from leastwise.graph.questions.preview import key_of, preview

BANNER = "guild-banner"


def test_what_is_ticked_opens_what_the_changed_case_says_and_the_record_stays(
    adviser: Adviser,
) -> None:
    case = read_demo(BANNER, adviser.knowledge)
    before = case.model_dump_json()
    now = adviser.weigh(case)
    waits = set(now.headline.waits)
    every = preview(adviser, case, [key_of(one) for one in now.headline.settle_first])
    assert case.model_dump_json() == before
    assert not every.untried
    assert set(every.opened) <= waits
    assert every.opened, "all tests come out well, and nothing opens"
    assert set(every.opened).isdisjoint(every.answer.headline.waits)
    tilt = next(one for one in now.headline.settle_first if one.what == "test:tilt-trial")
    alone = preview(adviser, case, [key_of(tilt)])
    assert {view.what for view in alone.supposed} == {tilt.what}
    assert set(alone.opened) <= {option.problem for option in tilt.opens}


def test_what_is_not_open_cannot_be_supposed(adviser: Adviser) -> None:
    case = read_demo(BANNER, adviser.knowledge)
    with pytest.raises(CaseError, match="try: got 'test=test:none'; expected test=test:"):
        preview(adviser, case, ["test=test:none"])
