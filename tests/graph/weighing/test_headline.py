"""The first thing read: can the object serve its purpose, what to do, settle first, not do."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import pytest

from leastwise.graph import Adviser, Case
from leastwise.graph.answer import Answer
from leastwise.graph.weighing.headline import GRAVE
from tests.conftest import DEMOS, changed


@pytest.fixture(params=DEMOS)
def answer(adviser: Adviser, demo: Callable[[str], Case], request: pytest.FixtureRequest) -> Answer:
    return adviser.weigh(demo(request.param))


def test_what_is_done_now_is_accepted_and_meets_the_aim(answer: Answer) -> None:
    options = {o.id: o for o in answer.options()}
    for line in answer.headline.do_now:
        assert options[line.option].verdict == "accepted"
        assert options[line.option].meets_aim


def test_every_problem_is_done_waits_or_is_unanswered(answer: Answer) -> None:
    h = answer.headline
    told = [*(line.problem for line in h.do_now), *h.waits, *h.unanswered]
    assert sorted(told) == sorted(d.id for d in answer.damages)
    grave = {d.id for d in answer.damages if max(o.hindrance for o in d.options) >= GRAVE}
    expected = "no" if grave.intersection(h.unanswered) else ("not-yet" if h.waits else "yes")
    assert h.serves == expected
    assert h.in_words.startswith({"yes": "Yes", "not-yet": "Not yet", "no": "No"}[expected])


def test_what_is_settled_first_opens_an_option_that_stands_first(answer: Answer) -> None:
    first = {d.id: next((o for o in d.options if o.heading == "meets-aim"), None)
             for d in answer.damages}  # fmt: skip
    for one in answer.headline.settle_first:
        for option in one.opens:
            leading = first[option.partition("/")[0]]
            assert leading is not None
            assert leading.id == option
            assert leading.verdict == "undecided"


def test_what_one_should_refrain_from_is_defeated_with_the_reason(answer: Answer) -> None:
    options = {o.id: o for o in answer.options()}
    for one in answer.headline.refrain:
        for problem in one.problems:
            o = options[f"{problem}/{one.technique.partition(':')[2]}"]
            assert o.verdict == "defeated"
        assert any(one.why == f.message for o in options.values() for f in o.findings)


def test_few_options_are_shown_and_leaving_alone_always(answer: Answer) -> None:
    for damage in answer.damages:
        shown = [o for o in damage.options if o.id in damage.shown]
        assert len(shown) <= 7
        assert any(o.is_baseline for o in shown)
        assert all(o.heading in ("meets-aim", "helps") or o.is_baseline for o in shown)
        standing = [o for o in damage.options if o.heading == "meets-aim"]
        assert [o.id for o in standing][:1] == [o.id for o in shown][:1] or not standing


def test_nothing_damaged_can_serve(adviser: Adviser, make_case: Callable[..., Case]) -> None:
    aim = {"purpose": "study", "rh_controlled": "yes"}
    found = adviser.weigh(make_case(damages=[], aim=aim)).headline
    assert found.serves == "yes"
    assert found.in_words == "Yes: it can serve for study once this is done."
    assert {line.problem for line in found.do_now} == {"need-housed"}


def test_a_bad_test_takes_an_option_out_of_what_is_done_now(
    adviser: Adviser, demo: Callable[[str], Case]
) -> None:
    case = demo("festival-dancer")

    def fails(data: dict[str, Any]) -> None:
        data["tests"].append({"test": "colourfastness-vapour", "part": "lining", "result": "bad"})
        for contact in data["contacts"]:
            contact["barrier"] = contact["parting"] = "impossible"

    found = adviser.weigh(changed(case, adviser, fails)).headline
    assert "crushed-tiers" not in {line.problem for line in found.do_now}
    assert found.serves in ("not-yet", "no")


def test_a_slight_hindrance_that_nothing_answers_stays_and_a_grave_one_keeps_from_serving(
    adviser: Adviser, make_case: Callable[..., Case]
) -> None:
    mark = {"id": "mark", "damage": "gas-fading", "parts": ["collar"], "evidence": "no"}
    little = adviser.weigh(make_case(damages=[mark | {"severity": "moderate"}])).headline
    assert little.unanswered == ("mark",)
    assert little.serves != "no"
    assert little.in_words.endswith("(mark) stays: nothing known here meets the aim for it.")
    much = adviser.weigh(make_case(damages=[mark | {"severity": "severe"}])).headline
    assert much.unanswered == ("mark",)
    assert much.serves == "no"
    assert "stays" not in much.in_words


def test_what_nothing_takes_away_is_eased_by_what_helps_in_part(
    adviser: Adviser, make_case: Callable[..., Case]
) -> None:
    """A stain that can be turned to the back keeps nobody from showing the collar."""
    stain = {"id": "mark", "damage": "mould-stain", "parts": ["collar"], "evidence": "no"}
    found = adviser.weigh(make_case(damages=[stain | {"severity": "severe"}]))
    (line,) = [one for one in found.headline.do_now if one.problem == "mark"]
    (chosen,) = [o for o in found.options() if o.id == line.option]

    assert found.headline.serves == "yes"
    assert found.headline.in_words.endswith("(mark) can only be eased.")
    assert line.in_words.endswith("(helps in part)")
    assert chosen.verdict == "accepted"
    assert 0 < chosen.residual < chosen.hindrance


def test_leaving_alone_is_never_told_as_the_gentler_option_that_waits(
    make_case: Callable[..., Case], adviser: Adviser
) -> None:
    """Dust on sticky rubber: leaving it waits for a watch, and is nothing to do in its place."""
    rubber = {"id": "sole", "name": "sole", "bears_handling": "yes",
              "materials": [{"material": "rubber-natural", "identified": "certain"}]}  # fmt: skip
    found = [{"id": one, "damage": one, "parts": ["sole"], "evidence": "no"}
             for one in ("plastic-decay", "dust")]  # fmt: skip
    answer = adviser.weigh(make_case(parts=[rubber], damages=found, aim={"purpose": "study"}))
    dust = next(d for d in answer.damages if d.id == "dust")

    assert next(o for o in dust.options if o.is_baseline).verdict == "undecided"
    (line,) = [one for one in answer.headline.do_now if one.problem == "dust"]
    assert "asks less" not in line.in_words


def test_what_insects_eat_is_bagged_now_while_what_kills_them_waits(
    make_case: Callable[..., Case], adviser: Adviser
) -> None:
    wool = {"id": "cap", "name": "cap", "bears_handling": "yes",
            "materials": [{"material": "wool", "identified": "certain"},
                          {"material": "acid-dye", "identified": "certain"}]}  # fmt: skip
    fruit = {"id": "fruit", "name": "fruit",
             "materials": [{"material": "wax-part", "identified": "certain"}]}  # fmt: skip
    sewn = {"between": ["fruit", "cap"], "kind": "stitched",
            "barrier": "impossible", "parting": "impossible"}  # fmt: skip
    moth = {"id": "moth", "damage": "live-infestation", "parts": ["cap"], "activity": "active"}
    answer = adviser.weigh(
        make_case(
            parts=[wool, fruit], contacts=[sewn], damages=[moth],
            means={"hours": 50, "skill": "specialist", "equipment": ["freezer"]},
        )
    )  # fmt: skip
    (line,) = [one for one in answer.headline.do_now if one.problem == "moth"]

    assert "moth" in answer.headline.waits
    assert line.option == "moth/infestation-isolation"
    assert line.in_words.endswith("(until more can be done)")


def test_what_goes_on_is_not_treated_meanwhile_at_a_cost(
    make_case: Callable[..., Case], adviser: Adviser
) -> None:
    """A waist tape takes weight off what sags; it is no stopgap that nobody thinks about."""
    suit = {"id": "suit", "name": "suit", "bears_handling": "yes", "bears_needle": "unknown",
            "materials": [{"material": "wool", "identified": "certain"},
                          {"material": "knit", "identified": "certain"}]}  # fmt: skip
    sag = {"id": "sag", "damage": "sag", "parts": ["suit"], "activity": "active"}
    answer = adviser.weigh(
        make_case(parts=[suit], damages=[sag], aim={"purpose": "display", "mounting": "on-figure"})
    )
    lines = [one for one in answer.headline.do_now if one.problem == "sag"]

    assert not any("waist-tape" in one.option for one in lines)
