"""The adviser: one knowledge for many cases, under one policy or another."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import pytest

from leastwise.graph import Adviser, Case
from leastwise.graph.answer import Overlay
from leastwise.graph.errors import UnknownOption
from leastwise.graph.weighing.advise import MOST_RECENT
from leastwise.graph.weighing.ranking import UnknownPolicy

Make = Callable[..., Case]
PACK = "crushed/membrane-pack-flat"


@pytest.fixture
def fresh(adviser: Adviser) -> Adviser:
    """Return an adviser that has weighed nothing yet."""
    return Adviser(adviser.knowledge, adviser.rules)


def other_policy(adviser: Adviser) -> str:
    names = adviser.knowledge.instances("lw:Policy")
    return next(one for one in names if one != adviser.policy.id)


def test_the_knowledge_is_read_once(fresh: Adviser) -> None:
    assert fresh.catalogue is fresh.catalogue
    assert fresh.catalogue.knowledge is fresh.knowledge
    assert fresh.policy is fresh.policy
    assert fresh.knowledge.is_true(fresh.policy.id, "lw:isDefault")


def test_under_another_policy_the_knowledge_is_shared_and_the_default_stays(
    fresh: Adviser,
) -> None:
    name = other_policy(fresh)
    other = fresh.under(name)

    assert other.policy.id == name
    assert other.under("") is other
    assert fresh.under(name.partition(":")[2]).policy.id == name
    assert other.catalogue is fresh.catalogue
    assert fresh.policy.id != name


def test_a_policy_that_is_unknown_is_told_at_once(fresh: Adviser) -> None:
    with pytest.raises(UnknownPolicy, match="wild"):
        fresh.under("wild")


def test_the_policy_puts_the_options_in_order(fresh: Adviser, make_case: Make) -> None:
    case = make_case()
    answers = [one.weigh(case) for one in (fresh, fresh.under(other_policy(fresh)))]

    assert [a.policy.id for a in answers] == [fresh.policy.id, other_policy(fresh)]
    burdens = [{o.id: o.burden for o in a.options()} for a in answers]
    assert burdens[0].keys() == burdens[1].keys()
    assert burdens[0] != burdens[1]
    verdicts = [{o.id: o.verdict for o in a.options()} for a in answers]
    assert verdicts[0] == verdicts[1], "a policy changes no verdict"


def test_the_same_case_gives_the_same_answer(fresh: Adviser, make_case: Make) -> None:
    assert fresh.weigh(make_case()) == fresh.weigh(make_case())


def test_what_was_weighed_last_is_at_hand_and_what_was_weighed_before_is_not(
    fresh: Adviser, make_case: Make
) -> None:
    cases = [make_case(id=f"case-{n}") for n in range(MOST_RECENT + 1)]
    for case in cases:
        fresh.weigh(case)
    kept = [*fresh._recent]

    assert [steps.case for steps in kept] == cases[1:]
    assert fresh.steps(cases[-1]) is kept[-1]
    assert fresh.steps(cases[0]) not in kept
    again = make_case(id=cases[-1].id)
    assert fresh.steps(again) is not kept[-1], "another record of the same name is another case"


@pytest.mark.parametrize("weighed", [True, False])
def test_one_damage_or_option_is_looked_at_alone_with_the_same_verdict(
    fresh: Adviser, make_case: Make, weighed: bool
) -> None:
    case = make_case()
    whole = {o.id: (o.verdict, o.burden) for o in fresh.weigh(case).options()}
    asked = case if weighed else make_case()
    one, damage = fresh.steps(asked, PACK), fresh.steps(asked, "crushed")

    assert [c.id for c in one.candidates] == [PACK]
    assert {c.damage.id for c in damage.candidates} == {"crushed"}
    assert len(damage.candidates) > 1
    assert (one.verdict(PACK), one.scores[PACK].burden) == whole[PACK]


def test_arguments_are_those_of_the_option_asked_for(fresh: Adviser, make_case: Make) -> None:
    case = make_case()
    verdicts = {o.id: o.verdict for o in fresh.weigh(case).options()}

    for option, verdict in verdicts.items():
        graph = fresh.arguments(case, option)
        assert graph.verdict == verdict
        assert graph.arguments["option"].kind == "option"


@pytest.mark.parametrize("option", ["crushed/nothing", "crushed", ""])
def test_an_option_that_the_case_has_not_is_told(
    fresh: Adviser, make_case: Make, option: str
) -> None:
    with pytest.raises(UnknownOption):
        fresh.arguments(make_case(), option)


def test_the_overlays_of_an_adviser_stand_on_each_answer(adviser: Adviser, make_case: Make) -> None:
    said: Any = "policy: x counts, not y."
    made = Overlay("house", (said, said))
    answer = Adviser(adviser.knowledge, adviser.rules, (made,)).weigh(make_case())

    assert [(o.folder, o.overrides) for o in answer.stamp.overlays] == [
        ("house", ("policy: x counts, not y.",))
    ]
