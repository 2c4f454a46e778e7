"""Burden, benefit and order."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from leastwise.graph import Adviser
from leastwise.graph.case.record import DamageFound
from leastwise.graph.errors import KnowledgeError
from leastwise.graph.knowledge.concepts import Catalogue, Effect, HindranceShift, Sensitivity
from leastwise.graph.weighing.candidates import Candidate
from leastwise.graph.weighing.contacts import Reach
from leastwise.graph.weighing.exposure import Exposure
from leastwise.graph.weighing.needs import NeedHere
from leastwise.graph.weighing.ranking import (
    HELPS,
    IDLE,
    MEETS,
    OUT,
    VERDICT_ORDER,
    Policy,
    Score,
    UnknownPolicy,
    _says,
    default_policy,
    dominators,
    heading,
    in_order,
    policy_named,
    read_policy,
    score,
    weighted_burden,
    worst_exposure,
)
from tests.graph.handmade import case, catalogue, made_of

AXES = ("axis:a", "axis:b", "axis:c")


def make(name: str, grades: tuple[int, ...], efficacy: int = 2, hours: float = 1.0) -> Score:
    residual = max(0, 3 - efficacy)
    burdens = dict(zip(AXES, grades, strict=True))
    return Score(
        name, burdens, sum(grades) / 12, 3, efficacy, residual, residual <= 1, (hours, hours)
    )


scores = st.lists(
    st.builds(
        make,
        st.text("abcdef", min_size=1, max_size=4),
        st.tuples(*[st.integers(0, 4)] * 3),
        st.integers(0, 4),
        st.sampled_from([0.5, 1.0, 4.0]),
    ),
    max_size=7,
    unique_by=lambda s: s.option,
)
VERDICTS = st.sampled_from(["accepted", "undecided", "defeated"])


def test_gentler_on_one_axis_and_equal_elsewhere_dominates() -> None:
    a, b = make("a", (1, 1, 1)), make("b", (1, 2, 1))

    assert dominators(b, [a, b]) == ["a"]
    assert dominators(a, [a, b]) == []


def test_less_help_does_not_dominate() -> None:
    assert dominators(make("b", (2, 2, 2), 3), [make("a", (0, 0, 0), 1)]) == []


@given(scores)
def test_dominance_has_no_cycle(found: list[Score]) -> None:
    for one in found:
        for name in dominators(one, found):
            other = next(s for s in found if s.option == name)
            assert one.option not in dominators(other, found)


@given(scores, st.data())
def test_the_order_does_not_depend_on_the_order_given(
    found: list[Score], data: st.DataObject
) -> None:
    verdicts = {s.option: data.draw(VERDICTS) for s in found}
    shuffled = data.draw(st.permutations(found))

    assert in_order(found, verdicts) == in_order(shuffled, verdicts)


@pytest.mark.slow
@given(scores)
def test_no_option_that_meets_the_aim_stands_behind_one_that_dominates_it_less(
    found: list[Score],
) -> None:
    verdicts = {s.option: "accepted" for s in found}
    order = [s.option for s in in_order(found, verdicts)]
    for one in found:
        for better in dominators(one, found):
            assert order.index(better) < order.index(one.option)


@given(scores, st.data())
def test_what_serves_the_aim_leads_and_what_is_defeated_closes(
    found: list[Score], data: st.DataObject
) -> None:
    verdicts = {s.option: data.draw(VERDICTS) for s in found}

    def place(s: Score) -> int:
        if verdicts[s.option] == "defeated":
            return 3
        return 0 if s.meets_aim else (1 if s.residual < s.hindrance else 2)

    places = [place(s) for s in in_order(found, verdicts)]

    assert places == sorted(places)


def test_open_points_count_as_the_burden_they_may_bring() -> None:
    light, heavy = make("light", (1, 1, 1)), make("heavy", (2, 2, 2))
    waiting = replace(light, waiting=heavy.burden - light.burden + 0.01)
    verdicts = {"light": "undecided", "heavy": "accepted"}

    assert [s.option for s in in_order([heavy, light], verdicts)] == ["light", "heavy"]
    assert [s.option for s in in_order([heavy, waiting], verdicts)] == ["heavy", "light"]


def test_waiting_grows_with_every_open_point(adviser: Adviser) -> None:
    costs = [adviser.policy.waiting(n) for n in range(6)]

    assert costs[0] == 0
    assert costs == sorted(set(costs))
    assert costs[-1] < adviser.policy.falling_back_costs


def test_what_takes_more_hours_dominates_nothing() -> None:
    gentle, quick = make("gentle", (1, 1, 1), hours=4.0), make("quick", (1, 2, 1), hours=1.0)

    assert dominators(quick, [gentle, quick]) == []
    assert dominators(quick, [make("as-quick", (1, 1, 1), hours=1.0)]) == ["as-quick"]


KNOWLEDGE = """
    axis:exposure a lw:Axis ; lw:order 1 .  axis:loss a lw:Axis ; lw:order 2 .
    axis:spare a lw:Axis ; lw:order 3 .
    agent:water a lw:Agent ; lw:graded true .  agent:flexing a lw:Agent .
    policy:plain a lw:Policy ; skos:prefLabel "plain"@en ; skos:definition "Plain."@en ;
        lw:isDefault true ;
        lw:weighs [ lw:axis axis:exposure ; lw:weight 3 ] , [ lw:axis axis:loss ; lw:weight 1 ] ,
                  [ lw:axis axis:exposure ; lw:weight 9 ] .
    policy:own a lw:Policy ; lw:weighs [ lw:axis axis:loss ; lw:weight 0.25 ] ;
        lw:unknownCountsAs 0 ; lw:residualAllowed 1 ; lw:openPointHolds 0.8 ;
        lw:fallingBackCosts 0.25 .
    policy:sure a lw:Policy ; lw:weighs [ lw:axis axis:loss ; lw:weight 1 ] ;
        lw:openPointHolds 0 ; lw:fallingBackCosts 0 .
    policy:empty a lw:Policy ; lw:weighs [ lw:axis axis:loss ; lw:weight 0 ] .
    policy:negative a lw:Policy ; lw:weighs [ lw:axis axis:loss ; lw:weight -1 ] .
    policy:third a lw:Policy ;
        lw:weighs [ lw:axis axis:loss ; lw:weight 1 ] , [ lw:axis axis:spare ; lw:weight 2 ] .
    damage:split a lw:Damage ; lw:hinders [ lw:aim aim:display ; lw:grade 3 ] ,
        [ lw:aim aim:study ; lw:grade 0 ] , [ lw:aim aim:storage ; lw:grade 4 ] ,
        [ lw:aim aim:loan ; lw:grade 1 ] .
    need:mount a lw:Need ; lw:hinders [ lw:aim aim:display ; lw:grade 3 ] .
    need:box a lw:Need ; lw:beforehand true ; lw:hinders [ lw:aim aim:display ; lw:grade 3 ] .
    policy:s1 a lw:HindranceShift ; lw:whenFound lw:severe ; lw:grades 1 ; lw:fromGrade 1 .
    policy:s2 a lw:HindranceShift ; lw:whenFound lw:slight ; lw:grades -1 ; lw:fromGrade 2 .
    policy:s3 a lw:HindranceShift ; lw:whenFound lw:active ; lw:grades 1 ; lw:fromGrade 4 .
    technique:t a lw:Technique ; lw:notWhile lw:onFigure ; lw:hours [ lw:least 1 ; lw:most 2 ] ;
        lw:burdens [ lw:axis axis:loss ; lw:grade 2 ] , [ lw:axis axis:exposure ; lw:grade 1 ] .
"""


@pytest.fixture(scope="module")
def known() -> Catalogue:
    return catalogue(KNOWLEDGE)


def test_a_policy_is_read_with_its_weights_scaled_to_one(known: Catalogue) -> None:
    plain = read_policy(known, "policy:plain")

    assert (plain.id, plain.label, plain.definition) == ("policy:plain", "plain", "Plain.")
    assert plain.weights == {"axis:exposure": 0.75, "axis:loss": 0.25, "axis:spare": 0.0}
    assert (plain.unknown_counts_as, plain.residual_allowed) == (4, 0)
    assert (plain.point_holds, plain.falling_back_costs) == (0.5, 0.5)


def test_what_a_policy_says_counts_even_where_it_is_nought(known: Catalogue) -> None:
    own, sure = read_policy(known, "policy:own"), read_policy(known, "policy:sure")

    assert own.weights == {"axis:exposure": 0.0, "axis:loss": 1.0, "axis:spare": 0.0}
    assert (own.unknown_counts_as, own.residual_allowed) == (0, 1)
    assert (own.point_holds, own.falling_back_costs) == (0.8, 0.25)
    assert (sure.point_holds, sure.falling_back_costs) == (0.0, 0.0)


def test_verdicts_stand_from_best_to_worst() -> None:
    assert sorted(VERDICT_ORDER, key=VERDICT_ORDER.__getitem__) == [
        "accepted",
        "undecided",
        "defeated",
    ]
    assert len({*VERDICT_ORDER.values()}) == 3


def test_an_axis_that_is_named_without_a_weight_weighs_nothing() -> None:
    found = catalogue(
        KNOWLEDGE
        + """
        policy:part a lw:Policy ;
            lw:weighs [ lw:axis axis:loss ; lw:weight 1 ] , [ lw:axis axis:spare ] .
        """
    )

    assert read_policy(found, "policy:part").weights == {
        "axis:exposure": 0.0,
        "axis:loss": 1.0,
        "axis:spare": 0.0,
    }


@pytest.mark.parametrize("names", ["one two", "two one"])
def test_of_several_defaults_the_one_marked_last_counts(names: str) -> None:
    found = catalogue(
        KNOWLEDGE
        + "".join(
            f"policy:{name} a lw:Policy ; lw:isDefault true ; "
            "lw:weighs [ lw:axis axis:loss ; lw:weight 1 ] ."
            for name in names.split()
        )
    )

    assert default_policy(found).id == f"policy:{names.rsplit(maxsplit=1)[-1]}"


def test_weights_are_kept_to_six_places(known: Catalogue) -> None:
    weights = read_policy(known, "policy:third").weights

    assert weights == {"axis:exposure": 0.0, "axis:loss": 0.333333, "axis:spare": 0.666667}


@pytest.mark.parametrize("name", ["empty", "negative"])
def test_a_policy_without_any_weight_is_refused(known: Catalogue, name: str) -> None:
    with pytest.raises(KnowledgeError, match="no axis has any weight"):
        read_policy(known, f"policy:{name}")


def test_a_policy_is_found_by_its_name_and_without_one_the_default_counts(
    known: Catalogue,
) -> None:
    assert policy_named(known, "own") == policy_named(known, "policy:own")
    assert policy_named(known, "own").id == "policy:own"
    assert policy_named(known, "") == default_policy(known) == read_policy(known, "policy:plain")
    with pytest.raises(UnknownPolicy, match="policy:empty, policy:negative, policy:own") as told:
        policy_named(known, "wild")
    assert told.value.given == "wild"
    assert "policy:third" in told.value.there


@pytest.mark.parametrize(
    ("holds", "costs", "points", "added"),
    [(0.5, 0.5, 0, 0.0), (0.5, 0.5, 1, 0.25), (0.5, 0.5, 2, 0.375), (0.8, 0.25, 2, 0.09),
     (0.9, 1.0, 3, 0.271), (1 / 3, 1.0, 1, 0.666667)],
)  # fmt: skip
def test_open_points_add_the_cost_of_falling_back_times_the_chance_that_one_fails(
    holds: float, costs: float, points: int, added: float
) -> None:
    assert Policy("p", "", "", {}, 4, 1, holds, costs).waiting(points) == added


def test_a_score_adds_what_its_open_points_may_bring_and_takes_what_is_left() -> None:
    one = Score("x", {}, 0.1, 3, 2, 1, True, (1.0, 2.0), waiting=0.2)

    assert (one.expected, one.benefit) == (0.3, 2)
    assert Score("x", {}, 0.1, 3, 2, 1, True, (1.0, 2.0)).expected == 0.1
    assert replace(one, burden=0.1234564, waiting=0.0000001).expected == 0.123456


def test_the_weighted_burden_is_one_at_worst() -> None:
    weights = {"axis:a": 0.25, "axis:b": 0.75}

    assert weighted_burden({"axis:a": 4, "axis:b": 4}, weights) == 1.0
    assert weighted_burden({"axis:a": 2, "axis:b": 1}, weights) == 0.3125
    assert weighted_burden({"axis:a": 1}, {"axis:a": 1 / 3}) == 0.083333
    assert weighted_burden({}, weights) == 0.0


def exposure(harm: int, agent: str = "agent:water", stopped: str = "") -> Exposure:
    return Exposure(
        "x/0", "x", "technique:t", agent, 3, "a", "material:silk", "certain", True,
        Reach("a", 3, ("a",), "no", stopped), True, Sensitivity(harm, ()), harm, "known",
        "untested", (),
    )  # fmt: skip


@pytest.mark.parametrize(
    ("exposures", "worst"),
    [
        ([], 0),
        ([exposure(1), exposure(3), exposure(2)], 3),
        ([exposure(1), exposure(4, stopped="barrier")], 1),
        ([exposure(0)], 0),
        ([exposure(1), exposure(-1)], 2),
        ([exposure(1), exposure(-1, "agent:flexing")], 1),
        ([exposure(3, "agent:flexing")], 3),
        ([exposure(0, "agent:flexing")], 0),
        ([exposure(-1, stopped="parting")], 0),
    ],
)
def test_the_gravest_harm_that_nothing_stops_counts_and_unknown_as_the_policy_says(
    known: Catalogue, exposures: list[Exposure], worst: int
) -> None:
    policy = Policy("p", "", "", {}, 2, 1)

    assert worst_exposure(exposures, policy, known) == worst


def candidate(known: Catalogue, efficacy: int = 2, kind: str = "damage:split", **more: Any) -> Any:
    effect = Effect(
        "claim:e", "technique:t", kind, efficacy, efficacy, "", "", "", "", ()
    )  # fmt: skip
    damage = DamageFound(id="d", damage=kind, parts=["a"], **more)
    return Candidate("d/t", known.techniques["technique:t"], damage, effect, (), effects=(effect,),
                     sized=tuple(case().parts))  # fmt: skip


def scored(known: Catalogue, one: Any, agrees: str = "yes", allowed: int = 1, **aim: str) -> Score:
    made = case(
        aim={"purpose": "display", "mounting": "flat"} | aim,
        significance={"statement": "x", "curator_agrees": agrees},
    )
    weights = {"axis:exposure": 0.5, "axis:loss": 0.5, "axis:spare": 0.0}
    policy = Policy("p", "", "", weights, 2, allowed)
    return score(one, [exposure(3)], made, known, policy)


def test_a_score_holds_burden_and_benefit(known: Catalogue) -> None:
    found = scored(known, candidate(known))

    assert found == Score(
        option="d/t",
        burdens={"axis:exposure": 3, "axis:loss": 2, "axis:spare": 0},
        burden=0.625,
        hindrance=3,
        efficacy=2,
        residual=1,
        meets_aim=True,
        hours=(1.0, 2.0),
    )
    assert list(found.burdens) == ["axis:exposure", "axis:loss", "axis:spare"]


@pytest.mark.parametrize(
    ("efficacy", "allowed", "residual", "meets"),
    [(4, 0, 0, True), (3, 0, 0, True), (2, 0, 1, False), (2, 1, 1, True), (1, 1, 2, False)],
)
def test_what_is_left_is_never_below_nought_and_meets_the_aim_if_it_may_stay(
    known: Catalogue, efficacy: int, allowed: int, residual: int, meets: bool
) -> None:
    found = scored(known, candidate(known, efficacy), allowed=allowed)

    assert (found.residual, found.meets_aim) == (residual, meets)


@pytest.mark.parametrize(
    ("kind", "mounting", "efficacy"),
    [
        ("damage:split", "flat", 2),
        ("damage:split", "on-figure", 0),
        ("need:mount", "on-figure", 0),
        ("need:box", "on-figure", 2),
    ],
)
def test_what_cannot_be_in_place_while_the_aim_is_served_helps_only_beforehand(
    known: Catalogue, kind: str, mounting: str, efficacy: int
) -> None:
    assert scored(known, candidate(known, kind=kind), mounting=mounting).efficacy == efficacy


@pytest.mark.parametrize(
    ("evidence", "agrees", "hindrance"),
    [
        ("yes", "no", 0), ("yes", "unknown", 0), ("yes", "yes", 3), ("unknown", "no", 3),
        ("no", "no", 3), ("no", "yes", 3),
    ],
)  # fmt: skip
def test_evidence_hinders_nothing_until_the_curator_agrees(
    known: Catalogue, evidence: str, agrees: str, hindrance: int
) -> None:
    found = scored(known, candidate(known, evidence=evidence), agrees)

    assert found.hindrance == hindrance


@pytest.mark.parametrize(
    ("activity", "severity", "hindrance"),
    [
        ("stable", "slight", 1), ("stable", "moderate", 1), ("stable", "severe", 4),
        ("active", "moderate", 3), ("stable", "unknown", 3), ("unknown", "moderate", 3),
    ],
)  # fmt: skip
def test_evidence_that_rests_hinders_hardly_even_where_the_curator_agrees(
    known: Catalogue, activity: str, severity: str, hindrance: int
) -> None:
    one = candidate(known, evidence="yes", activity=activity, severity=severity)

    assert scored(known, one, "yes").hindrance == hindrance


def test_evidence_that_the_record_names_as_to_be_kept_hinders_nothing_whatever_is_agreed(
    known: Catalogue,
) -> None:
    one = candidate(known, evidence="yes")
    named = case(
        parts=[{"id": "a", "name": "brass hooks"}],
        significance={"statement": "x", "curator_agrees": "yes", "keep": ["wear of the hooks"]},
    )
    policy = Policy("p", "", "", {"axis:exposure": 0.5, "axis:loss": 0.5, "axis:spare": 0.0}, 2, 1)

    assert score(one, [exposure(3)], named, known, policy).hindrance == 0


@pytest.mark.parametrize(
    ("purpose", "more", "hindrance"),
    [
        ("display", {}, 3),
        ("display", {"severity": "severe"}, 4),
        ("storage", {"severity": "severe"}, 4),
        ("loan", {"severity": "severe"}, 2),
        ("study", {"severity": "severe"}, 0),
        ("loan", {"severity": "slight"}, 1),
        ("display", {"severity": "slight"}, 2),
        ("display", {"activity": "active"}, 3),
        ("storage", {"activity": "active"}, 4),
        ("display", {"severity": "severe", "activity": "active"}, 4),
        ("transport", {}, 4),
    ],
)
def test_severity_and_activity_shift_the_hindrance_from_their_grade_on(
    known: Catalogue, purpose: str, more: dict[str, str], hindrance: int
) -> None:
    assert scored(known, candidate(known, **more), purpose=purpose).hindrance == hindrance


def test_a_hindrance_falls_to_nought_and_not_below() -> None:
    gentle = catalogue(
        KNOWLEDGE
        + """
        policy:z a lw:HindranceShift ; lw:whenFound lw:stable ; lw:grades -3 .
        """
    )
    found = scored(gentle, candidate(gentle, activity="stable"), purpose="loan")

    assert (found.hindrance, found.residual, found.meets_aim) == (0, 0, True)


@pytest.mark.parametrize(
    ("value", "unit", "severity", "says"),
    [
        (50, "percent", "unknown", True),
        (80, "percent", "unknown", True),
        (100, "percent", "unknown", True),
        (49.9, "percent", "unknown", False),
        (60, "cm2", "unknown", False),
        (60, "percent", "moderate", False),
    ],
)
def test_an_extent_shifts_where_nobody_has_judged_how_severe_it_is(
    value: float, unit: str, severity: str, says: bool
) -> None:
    shift = HindranceShift("", (50.0, 100.0), 1, 0)
    problem = DamageFound.model_validate(
        {
            "id": "d",
            "damage": "damage:split",
            "parts": ["a"],
            "severity": severity,
            "extent": {"value": value, "unit": unit},
        }
    )

    assert _says(problem, shift) is says
    assert not _says(problem.model_copy(update={"extent": "unknown"}), shift)


def test_an_extent_up_to_the_upper_end_counts() -> None:
    shift = HindranceShift("", (0.0, 5.0), -1, 0)
    five, six = (
        DamageFound.model_validate(
            {"id": "d", "damage": "damage:split", "parts": ["a"],
             "extent": {"value": value, "unit": "percent"}}
        )
        for value in (5, 5.1)
    )  # fmt: skip

    assert _says(five, shift)
    assert not _says(six, shift)


@pytest.mark.parametrize(
    ("gentle", "other", "dominates"),
    [
        ((1.0, 9.0), (2.0, 2.0), True),
        ((3.0, 3.0), (2.0, 5.0), False),
        ((2.0, 8.0), (2.0, 3.0), True),
    ],
)
def test_of_the_hours_the_fewest_count_for_dominance(
    gentle: tuple[float, float], other: tuple[float, float], dominates: bool
) -> None:
    one = replace(make("one", (1, 1, 1)), hours=gentle)
    two = replace(make("two", (1, 2, 1)), hours=other)

    assert dominators(two, [one, two]) == (["one"] if dominates else [])


def test_equal_options_do_not_dominate_each_other_and_more_help_does() -> None:
    one, same = make("one", (1, 1, 1)), make("same", (1, 1, 1))
    more = make("more", (1, 1, 1), efficacy=3)

    assert dominators(one, [one, same]) == []
    assert dominators(one, [same, more]) == ["more"]
    assert dominators(one, [make("z", (0, 1, 1)), make("y", (1, 0, 1))]) == ["y", "z"]
    assert dominators(one, [make("worse", (0, 2, 1), efficacy=3)]) == []


@pytest.mark.parametrize(
    ("verdict", "efficacy", "expected"),
    [
        ("accepted", 3, MEETS), ("undecided", 2, MEETS), ("undecided", 1, HELPS),
        ("accepted", 0, IDLE), ("defeated", 4, OUT), ("defeated", 0, OUT),
    ],
)  # fmt: skip
def test_an_option_stands_under_the_heading_of_what_it_does_for_the_aim(
    verdict: str, efficacy: int, expected: int
) -> None:
    assert heading(make("x", (0, 0, 0), efficacy), verdict) == expected
    assert [MEETS, HELPS, IDLE, OUT] == [0, 1, 2, 3]


@pytest.mark.parametrize(
    ("first", "second"),
    [
        ({"burden": 0.2}, {"burden": 0.3}),
        ({"burden": 0.1, "waiting": 0.05}, {"burden": 0.1, "waiting": 0.1}),
        ({"hours": (1.0, 9.0)}, {"hours": (2.0, 2.0)}),
        ({"residual": 0}, {"residual": 1}),
        ({"residual": 1, "burden": 0.1}, {"residual": 0, "burden": 0.2}),
        ({"hours": (1.0, 2.0)}, {"hours": (1.0, 3.0)}),
        ({"option": "a"}, {"option": "b"}),
        ({"residual": 0, "hours": (1.0, 9.0)}, {"residual": 1, "hours": (1.0, 1.0)}),
    ],
)
def test_of_what_meets_the_aim_burden_comes_first_then_hours_then_help_then_the_name(
    first: dict[str, Any], second: dict[str, Any]
) -> None:
    plain = Score("m", {}, 0.1, 3, 3, 0, True, (1.0, 2.0))
    ahead, behind = (replace(plain, option="m"), replace(plain, option="k"))
    ahead, behind = replace(ahead, **first), replace(behind, **second)
    verdicts = {ahead.option: "accepted", behind.option: "accepted"}

    assert in_order([behind, ahead], verdicts) == [ahead, behind]


def test_of_what_helps_in_part_the_one_that_leaves_less_comes_first_whatever_it_burdens() -> None:
    heavy = Score("heavy", {}, 0.9, 4, 2, 2, False, (9.0, 9.0))
    light = Score("light", {}, 0.1, 4, 1, 3, False, (1.0, 1.0))
    verdicts = {"heavy": "undecided", "light": "accepted"}

    assert in_order([light, heavy], verdicts) == [heavy, light]


@pytest.mark.parametrize(
    ("purpose", "efficacy", "allowed", "meets"),
    [
        ("loan", 0, 1, False),  # what hinders little is met only by what does something
        ("loan", 1, 1, True),
        ("display", 1, 2, False),  # what hardly helps leaves it as it was
        ("display", 2, 2, True),
        ("display", 2, 1, True),
        ("display", 1, 1, False),
        ("storage", 2, 2, True),
        ("display", 0, 3, False),
        ("display", 1, 3, True),
    ],
)
def test_an_aim_is_met_only_by_what_does_enough(
    known: Catalogue, purpose: str, efficacy: int, allowed: int, meets: bool
) -> None:
    found = scored(known, candidate(known, efficacy), allowed=allowed, purpose=purpose)

    assert found.meets_aim is meets


def test_leaving_alone_meets_an_aim_that_hardly_asks_for_anything() -> None:
    found = catalogue(KNOWLEDGE + "technique:leave-and-monitor a lw:Technique .")
    damage = DamageFound(id="d", damage="damage:split", parts=["a"])
    leave = found.techniques["technique:leave-and-monitor"]
    one = Candidate("d/leave", leave, damage, None, (), sized=tuple(case().parts))

    assert scored(found, one, purpose="loan").meets_aim
    assert not scored(found, one, purpose="display").meets_aim


@pytest.mark.parametrize(
    ("name", "keep", "agrees", "hindrance"),
    [
        ("left cuff", ["the worn cuff"], "yes", 0),
        ("left cuff", ["the worn collar", "its CUFF, too"], "yes", 0),
        ("left cuff", ["the worn collar"], "yes", 3),
        ("hem", ["the hem of the skirt"], "yes", 3),  # words of three letters tell nothing
        ("left cuff", [], "yes", 3),
        ("left cuff", [], "no", 0),
    ],
)
def test_evidence_that_is_named_as_to_be_kept_hinders_nothing(
    known: Catalogue, name: str, keep: list[str], agrees: str, hindrance: int
) -> None:
    made = case(
        made_of("a", "silk") | {"name": name},
        made_of("collar", "silk"),
        significance={"statement": "x", "curator_agrees": agrees, "keep": keep},
    )
    weights = {"axis:exposure": 0.5, "axis:loss": 0.5, "axis:spare": 0.0}
    one = candidate(known, evidence="yes")

    assert score(one, [], made, known, Policy("p", "", "", weights, 2, 1)).hindrance == hindrance


NEEDS = (
    KNOWLEDGE
    + """
    need:rest a lw:Need ; lw:hinders [ lw:aim aim:loan ; lw:grade 1 ] ,
        [ lw:aim aim:display ; lw:grade 3 ] , [ lw:aim aim:study ; lw:grade 0 ] .
"""
)


@pytest.mark.parametrize(
    ("derived", "purpose", "also", "hindrance"),
    [
        (True, "loan", [], 1),
        (False, "loan", [], 2),
        (False, "display", [], 3),
        (True, "study", [], 0),
        (False, "study", [], 2),
        (True, "loan", ["display"], 3),
        (True, "study", ["loan"], 1),
        (True, "storage", [], 4),
        (False, "storage", [], 4),
        (True, "storage", ["loan"], 1),
    ],
)
def test_a_need_stands_for_the_purpose_that_asks_most_and_one_recorded_hinders_in_any_case(
    derived: bool, purpose: str, also: list[str], hindrance: int
) -> None:
    found = catalogue(NEEDS)
    need = NeedHere(id="n", damage="need:rest", parts=["a"], derived=derived)
    one = replace(candidate(found, kind="need:rest"), damage=need)
    made = case(aim={"purpose": purpose, "also": also, "mounting": "flat"})
    weights = {"axis:exposure": 0.5, "axis:loss": 0.5, "axis:spare": 0.0}

    assert score(one, [], made, found, Policy("p", "", "", weights, 2, 1)).hindrance == hindrance


def test_a_damage_hinders_the_purpose_that_leads(known: Catalogue) -> None:
    made = case(aim={"purpose": "loan", "also": ["display"], "mounting": "flat"})
    weights = {"axis:exposure": 0.5, "axis:loss": 0.5, "axis:spare": 0.0}
    policy = Policy("p", "", "", weights, 2, 1)

    assert score(candidate(known), [], made, known, policy).hindrance == 1
