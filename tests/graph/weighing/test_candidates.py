"""Candidates: which techniques answer a problem, by which claim, and how the parts are worked."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from typing import Any

import pytest

from leastwise.graph import Adviser
from leastwise.graph.case.record import Case, DamageFound, Tri
from leastwise.graph.weighing.candidates import (
    Act,
    Asked,
    Candidate,
    WorkGroup,
    find_candidates,
    find_set_aside,
    open_questions,
    read_again,
    work_groups,
)
from leastwise.graph.weighing.conditions import ConditionReader
from leastwise.graph.weighing.needs import NeedHere
from tests.graph.handmade import case, catalogue, made_of, touching

KNOWLEDGE = """
    axis:a a lw:Axis .  axis:b a lw:Axis .
    contact:stitched a lw:ContactKind ; lw:sewn true .
    contact:glued a lw:ContactKind ; lw:sewn true .
    contact:lies-on a lw:ContactKind .
    agent:needle a lw:Agent .
    damage:tear a lw:Damage ; skos:broader damage:split .  damage:split a lw:Damage .
    damage:dust a lw:Damage .
    condition:flat lw:partField "lies_flat" .
    condition:needle lw:partField "bears_needle" .
    condition:back lw:partField "reverse_reachable" .
    condition:hung lw:whenMounted lw:hung .
    test:prick a lw:Test ; lw:goodResultClears agent:needle ;
        lw:checksCondition condition:needle .
    test:look a lw:Test ; lw:checksCondition condition:back .
    technique:leave-and-monitor a lw:Technique ; lw:hours [ lw:least 0.5 ; lw:most 1 ] .
    technique:sew a lw:Technique ; lw:requires condition:flat ;
        lw:hours [ lw:least 1 ; lw:most 2.5 ] ;
        lw:burdens [ lw:axis axis:a ; lw:grade 1 ] , [ lw:axis axis:b ; lw:grade 2 ] .
    technique:film a lw:Technique ; lw:onlyFor lw:costume .
    technique:board a lw:Technique ; lw:hours [ lw:least 3 ; lw:most 4 ; lw:per "object" ] .
    technique:open-seam a lw:Technique ; lw:hours [ lw:least 0.25 ; lw:most 0.5 ] ;
        lw:requires condition:flat , condition:back ;
        lw:burdens [ lw:axis axis:a ; lw:grade 3 ] , [ lw:axis axis:b ; lw:grade 1 ] .
    claim:sew-split a lw:EffectClaim ; lw:technique technique:sew ; lw:damage damage:split ;
        lw:efficacy 3 .
    claim:sew-tear a lw:EffectClaim ; lw:technique technique:sew ; lw:damage damage:tear ;
        lw:efficacy 2 .
    claim:film a lw:EffectClaim ; lw:technique technique:film ; lw:damage damage:split ;
        lw:efficacy 1 .
    claim:board-best a lw:EffectClaim ; lw:technique technique:board ; lw:damage damage:split ;
        lw:efficacy 4 ; lw:holdsIf condition:needle .
    claim:board-plain a lw:EffectClaim ; lw:technique technique:board ; lw:damage damage:split ;
        lw:efficacy 2 ; lw:failsIf condition:back .
"""
KNOWN = catalogue(KNOWLEDGE)
LEAVE, SEW = KNOWN.techniques["technique:leave-and-monitor"], KNOWN.techniques["technique:sew"]
BOARD, OPEN = KNOWN.techniques["technique:board"], KNOWN.techniques["technique:open-seam"]
Y, N, U = Tri.YES, Tri.NO, Tri.UNKNOWN


def damaged(kind: str = "split", *parts: str, **more: Any) -> Case:
    damage = {"id": "d", "damage": f"damage:{kind}", "parts": list(parts) or ["a"]}
    fields = {name: more.pop(name) for name in ("bears_needle", "reverse_reachable", "lies_flat")
              if name in more}  # fmt: skip
    made = [made_of(one, "silk", **fields) for one in ("a", "b", "c", "d")]
    return case(*made, damages=[damage], **more)


def found(made: Case) -> dict[str, Candidate]:
    return {c.id.partition("/")[2]: c for c in find_candidates(made, KNOWN)}


def test_leaving_alone_comes_first_and_the_techniques_by_name() -> None:
    assert [*found(damaged())] == ["leave-and-monitor", "board", "film", "sew"]
    assert next(c.id for c in find_candidates(damaged(), KNOWN)) == "d/leave-and-monitor"


def test_what_answers_a_broader_kind_answers_this_one_and_the_nearest_claim_counts() -> None:
    tear, split = found(damaged("tear")), found(damaged("split"))

    assert [*tear] == [*split]
    assert [e.id for e in tear["sew"].effects] == ["claim:sew-tear"]
    assert [e.id for e in split["sew"].effects] == ["claim:sew-split"]
    assert (tear["sew"].efficacy, split["sew"].efficacy) == (2, 3)


def test_a_damage_that_nothing_answers_can_still_be_left_alone() -> None:
    one = found(damaged("dust"))

    assert [*one] == ["leave-and-monitor"]
    assert one["leave-and-monitor"].is_baseline
    assert (one["leave-and-monitor"].effect, one["leave-and-monitor"].efficacy) == (None, 0)


@pytest.mark.parametrize(
    ("kind", "offered"), [("costume", True), ("unknown", True), ("furnishing", False)]
)
def test_a_technique_for_one_kind_of_object_is_left_out_where_it_is_another(
    kind: str, offered: bool
) -> None:
    made = damaged(object={"name": "x", "kind": kind})

    assert ("film" in found(made)) is offered
    assert "sew" in found(made)


@pytest.mark.parametrize(
    ("needle", "back", "claim", "efficacy", "open_"),
    [
        ("yes", "unknown", "claim:board-best", 4, ()),
        ("yes", "yes", "claim:board-best", 4, ()),
        ("unknown", "no", "claim:board-plain", 2, ()),
        ("unknown", "unknown", "claim:board-best", 4, ("condition:needle",)),
        ("unknown", "yes", "claim:board-best", 4, ("condition:needle",)),
        ("no", "no", "claim:board-plain", 2, ()),
        ("no", "unknown", "claim:board-plain", 2, ("condition:back",)),
        ("no", "yes", "claim:board-best", 0, ()),
    ],
)
def test_the_best_claim_that_is_met_counts_else_the_best_that_is_open(
    needle: str, back: str, claim: str, efficacy: int, open_: tuple[str, ...]
) -> None:
    one = found(damaged(bears_needle=needle, reverse_reachable=back))["board"]

    assert one.effect is not None
    assert (one.effect.id, one.efficacy, one.open) == (claim, efficacy, open_)


def test_a_condition_that_must_not_hold_is_met_where_it_does_not() -> None:
    one = found(damaged(bears_needle="no", reverse_reachable="no"))["board"]

    assert one.asked == (Asked("condition:back", False, Y),)
    assert one.failed == ()


def test_an_effect_fails_by_what_the_record_denies_unless_the_technique_requires_it() -> None:
    asked = (Asked("condition:flat", True, N), Asked("condition:back", True, N),
             Asked("condition:needle", True, U))  # fmt: skip
    one = replace(found(damaged())["sew"], asked=asked)

    assert [a.condition for a in one.failed] == ["condition:back"]
    assert one.open == ("condition:needle",)
    assert one.efficacy == 0
    assert replace(one, asked=asked[::2]).efficacy == 3


AIMED = catalogue(
    KNOWLEDGE
    + """
    technique:hang a lw:Technique .
    claim:hang a lw:EffectClaim ; lw:technique technique:hang ; lw:damage damage:split ;
        lw:efficacy 3 ; lw:holdsIf condition:hung , condition:needle .
    """
)


@pytest.mark.parametrize(
    ("mounting", "needle", "offered"),
    [
        ("hung", "unknown", True),
        ("hung", "no", True),
        ("flat", "yes", False),
        ("flat", "no", False),
        ("unknown", "yes", True),
    ],
)
def test_what_the_aim_rules_out_is_no_option_and_is_set_aside_with_the_condition(
    mounting: str, needle: str, offered: bool
) -> None:
    made = damaged(bears_needle=needle, aim={"purpose": "display", "mounting": mounting})
    offers = [c.technique.id for c in find_candidates(made, AIMED)]
    aside = [*find_set_aside(made, AIMED)]

    assert ("technique:hang" in offers) is offered
    assert [s.technique.id for s in aside] == ([] if offered else ["technique:hang"])
    assert all(s.failed.condition == "condition:hung" for s in aside)
    assert all((s.effect.id, s.damage.id) == ("claim:hang", "d") for s in aside)


def test_a_claim_that_the_aim_rules_out_gives_way_to_one_that_fails_here() -> None:
    """What fails on the record may be mended, what the aim rules out may not."""
    both = catalogue(
        KNOWLEDGE
        + """
        technique:hang a lw:Technique .
        claim:h1 a lw:EffectClaim ; lw:technique technique:hang ; lw:damage damage:split ;
            lw:efficacy 4 ; lw:holdsIf condition:hung .
        claim:h2 a lw:EffectClaim ; lw:technique technique:hang ; lw:damage damage:split ;
            lw:efficacy 1 ; lw:holdsIf condition:needle .
        """
    )
    made = damaged(bears_needle="no")
    (one,) = [c for c in find_candidates(made, both) if c.technique.id == "technique:hang"]

    assert one.effect is not None
    assert one.effect.id == "claim:h2"
    assert [*find_set_aside(made, both)] == []


def test_a_candidate_is_read_again_as_another_record_answers() -> None:
    closed, opened = (
        damaged(bears_needle="no", reverse_reachable="yes"),
        damaged(bears_needle="yes"),
    )
    one = found(closed)["board"]
    again = read_again(one, ConditionReader(opened, KNOWN))

    assert (one.efficacy, again.efficacy) == (0, 4)
    assert read_again(found(closed)["leave-and-monitor"], ConditionReader(opened, KNOWN)).id == (
        "d/leave-and-monitor"
    )


def act(where: tuple[str, ...] = ("a",)) -> Act:
    return Act(OPEN, "condition:back", where)


def candidate(technique: Any = SEW, *acts: Act, parts: tuple[str, ...] = ("a",)) -> Candidate:
    damage = DamageFound(id="d", damage="damage:split", parts=list(parts))
    sized = tuple(part for part in damaged().parts if part.id in parts)
    return Candidate("d/x", technique, damage, None, (), acts, sized=sized)


@pytest.mark.parametrize(
    ("one", "hours"),
    [
        (candidate(), (1.0, 2.5)),
        (candidate(parts=("a", "b", "c")), (3.0, 7.5)),
        (candidate(BOARD, parts=("a", "b", "c")), (3.0, 4.0)),
        (candidate(SEW, act()), (1.25, 3.0)),
        (candidate(SEW, act(), act(("b",)), parts=("a", "b")), (2.5, 6.0)),
        (candidate(LEAVE), (0.5, 1.0)),
    ],
)
def test_hours_count_for_each_part_or_once_and_for_each_act(
    one: Candidate, hours: tuple[float, float]
) -> None:
    assert one.hours == hours


def test_a_need_that_is_left_unmet_takes_no_hours() -> None:
    need, both = NeedHere(id="n", damage="need:x", parts=["a", "b"]), ("a", "b")

    assert replace(candidate(LEAVE, parts=both), damage=need).hours == (0.0, 0.0)
    assert replace(candidate(SEW, parts=both), damage=need).hours == (2.0, 5.0)


def test_a_course_requires_and_burdens_as_the_gravest_of_what_is_done() -> None:
    alone, course = candidate(), candidate(SEW, act())

    assert alone.requires == ("condition:flat",)
    assert course.requires == ("condition:flat", "condition:back")
    assert alone.burdens == (("axis:a", 1), ("axis:b", 2))
    assert course.burdens == (("axis:a", 3), ("axis:b", 2))


@pytest.mark.parametrize(
    ("technique", "conditions", "expected"),
    [
        ("sew", ["condition:back"], ["condition:back"]),
        ("sew", ["condition:flat"], []),
        ("sew", ["condition:needle"], ["condition:needle"]),
        ("needled", ["condition:needle", "condition:back"], ["condition:back"]),
        ("looked", ["condition:needle", "condition:back"], ["condition:needle"]),
    ],
)
def test_what_is_asked_for_anyway_is_no_open_question(
    technique: str, conditions: list[str], expected: list[str]
) -> None:
    """The needle has its own trial, and a test that a technique always needs is asked for so."""
    known = catalogue(
        KNOWLEDGE
        + f"""
        technique:needled a lw:Technique ; lw:brings [ lw:agent agent:needle ] .
        technique:looked a lw:Technique ; lw:needsTest test:look .
        claim:q a lw:EffectClaim ; lw:technique technique:{technique} ; lw:damage damage:dust ;
            lw:efficacy 3 ; lw:holdsIf {", ".join(conditions)} .
        """
    )
    made = damaged("dust")
    (_, one) = find_candidates(made, known)

    assert list(open_questions(one, ConditionReader(made, known))) == expected


@pytest.mark.parametrize(
    ("contacts", "expected"),
    [
        ([], [("a b c", False)]),
        ([touching("a", "b")], [("a b", True), ("c", False)]),
        ([touching("b", "a", "glued"), touching("c", "a")], [("a b c", True)]),
        ([touching("a", "b", "lies-on")], [("a b c", False)]),
        ([touching("a", "b", parting="done")], [("a b c", False)]),
        ([touching("b", "c")], [("b c", True), ("a", False)]),
        ([touching("a", "d"), touching("d", "b")], [("a b c", False)]),
    ],
)
def test_what_is_sewn_together_is_worked_in_turn_and_what_is_loose_as_a_group(
    contacts: list[dict[str, Any]], expected: list[tuple[str, bool]]
) -> None:
    made = damaged("split", "a", "b", "c", contacts=contacts)

    assert work_groups(made, made.damages[0], KNOWN) == tuple(
        WorkGroup(tuple(names.split()), in_turn) for names, in_turn in expected
    )


def test_groups_stand_in_the_order_of_the_damage() -> None:
    made = damaged("split", "c", "b", "a", "d", contacts=[touching("a", "b"), touching("d", "c")])

    assert [g.parts for g in work_groups(made, made.damages[0], KNOWN)] == [("c", "d"), ("b", "a")]


def test_what_is_for_feathers_trims_or_leather_alone_is_no_option_without_them(
    adviser: Adviser, make_case: Callable[..., Case]
) -> None:
    soil = [{"id": "grime", "damage": "ingrained-soil", "parts": ["collar"]}]
    techniques = {"technique:feather-cleaning", "technique:component-cleaning",
                  "technique:leather-surface-cleaning"}  # fmt: skip

    def options(material: str) -> set[str]:
        part = {"id": "collar", "name": "collar"}
        part |= {"materials": [{"material": material, "identified": "certain"}]}
        found = adviser.weigh(make_case(parts=[part], damages=soil))
        return {o.technique for o in found.options()} & techniques

    assert options("silk") == set()
    assert "technique:leather-surface-cleaning" in options("leather")
    assert "technique:feather-cleaning" in options("feathers-undyed")
    assert "technique:component-cleaning" in options("glass-beads")
