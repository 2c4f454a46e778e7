"""Typed conditions: three-valued, read from the record, and what they make of an effect."""

from __future__ import annotations

from collections.abc import Callable
from types import SimpleNamespace
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from leastwise.graph import Adviser, Case
from leastwise.graph.case.record import DamageFound, Tri
from leastwise.graph.weighing.candidates import find_candidates, find_set_aside
from leastwise.graph.weighing.conditions import About, ConditionReader
from leastwise.graph.weighing.readings import any_of, opposite
from tests.conftest import option
from tests.graph.handmade import case as handmade
from tests.graph.handmade import catalogue, made_of

Make = Callable[..., Case]
answers = st.lists(st.sampled_from([Tri.YES, Tri.NO, Tri.UNKNOWN]), min_size=1, max_size=5)


def part(*materials: str, **fields: Any) -> dict[str, Any]:
    made = [{"material": one, "identified": "certain"} for one in materials]
    return {"id": "collar", "name": "collar", "materials": made, **fields}


def asked(adviser: Adviser, case: Case, condition: str, damage: int | None = None) -> Tri:
    about = About(None if damage is None else case.damages[damage])
    return ConditionReader(case, adviser.catalogue).at(f"condition:{condition}", "collar", about)


@given(answers)
def test_one_yes_is_enough_and_all_must_be_no(found: list[Tri]) -> None:
    assert (any_of(found) is Tri.YES) == (Tri.YES in found)
    assert (any_of(found) is Tri.NO) == (set(found) == {Tri.NO})


@given(answers, st.integers(0, 4))
def test_finding_out_an_answer_never_turns_yes_into_no(found: list[Tri], place: int) -> None:
    before = any_of(found)
    place %= len(found)
    for settled in (Tri.YES, Tri.NO):
        if found[place] is Tri.UNKNOWN:
            after = any_of([*found[:place], settled, *found[place + 1 :]])
            assert before is Tri.UNKNOWN or after is before


@given(answers)
def test_none_of_is_the_opposite_of_any_of(found: list[Tri]) -> None:
    assert opposite(opposite(any_of(found))) is any_of(found)


@pytest.mark.parametrize(
    ("materials", "expected"),
    [
        (["cotton", "plain-weave"], Tri.YES),
        (["silk", "plain-weave"], Tri.NO),
        (["plain-weave", "cellulosic-fibre"], Tri.UNKNOWN),
        (["plain-weave"], Tri.UNKNOWN),
    ],
)
def test_a_material_is_there_or_not_or_may_be(
    adviser: Adviser, make_case: Make, materials: list[str], expected: Tri
) -> None:
    case = make_case(parts=[part(*materials)])
    assert asked(adviser, case, "is-cotton-or-linen") is expected


def test_heavy_trims_count_where_they_hang(adviser: Adviser, make_case: Make) -> None:
    beads = part("glass-beads-stable") | {"id": "beads", "name": "beads"}
    apart = make_case(parts=[part("silk"), beads])
    sewn = make_case(
        parts=[part("silk"), beads],
        contacts=[{"between": ["beads", "collar"], "kind": "sewn-through"}],
    )
    assert asked(adviser, apart, "has-heavy-trims") is Tri.NO
    assert asked(adviser, sewn, "has-heavy-trims") is Tri.YES


@pytest.mark.parametrize(
    ("contact", "expected"),
    [
        (None, Tri.NO),
        (("collar", "lining", "fastened"), Tri.NO),
        (("collar", "lining", "stitched"), Tri.UNKNOWN),
        (("lining", "collar", "layered-under"), Tri.YES),
    ],
)
def test_layers_are_read_from_the_contacts(
    adviser: Adviser, make_case: Make, contact: tuple[str, str, str] | None, expected: Tri
) -> None:
    lining = part("silk", "plain-weave") | {"id": "lining", "name": "lining"}
    contacts = [{"between": contact[:2], "kind": contact[2]}] if contact else []
    case = make_case(parts=[part("silk", "plain-weave"), lining], contacts=contacts)

    assert asked(adviser, case, "is-layered") is expected


@pytest.mark.parametrize(
    ("aim", "expected"),
    [
        ({"mounting": "slanted", "degrees_from_vertical": 60}, Tri.YES),
        ({"mounting": "slanted", "degrees_from_vertical": 5}, Tri.NO),
        ({"mounting": "slanted"}, Tri.UNKNOWN),
        ({"mounting": "hung"}, Tri.NO),
        ({"mounting": "unknown"}, Tri.UNKNOWN),
    ],
)
def test_the_slope_is_read_from_the_aim(
    adviser: Adviser, make_case: Make, aim: dict[str, Any], expected: Tri
) -> None:
    case = make_case(aim={"purpose": "display", **aim})
    assert asked(adviser, case, "leans-far-back") is expected


@pytest.mark.parametrize(
    ("activity", "watched", "expected"),
    [
        ("active", None, Tri.YES),
        ("unknown", None, Tri.YES),  # what can't be ruled out counts
        ("stable", None, Tri.NO),
        ("unknown", "good", Tri.NO),
    ],
)
def test_insects_that_cannot_be_ruled_out_count_as_there(
    adviser: Adviser, make_case: Make, activity: str, watched: str | None, expected: Tri
) -> None:
    tests = [{"test": "pest-watch", "part": "collar", "result": watched}] if watched else []
    found = {"id": "f", "damage": "frass", "parts": ["collar"], "activity": activity}
    case = make_case(damages=[found], tests=tests)
    assert asked(adviser, case, "insects-may-live", 0) is expected


def test_extent_is_judged_in_its_own_unit(adviser: Adviser, make_case: Make) -> None:
    def case(extent: Any) -> Case:
        return make_case(
            damages=[{"id": "s", "damage": "stain", "parts": ["collar"], "extent": extent}]
        )

    assert asked(adviser, case({"value": 4, "unit": "cm2"}), "is-small", 0) is Tri.YES
    assert asked(adviser, case({"value": 400, "unit": "cm2"}), "is-small", 0) is Tri.NO


def test_a_trial_with_one_agent_says_nothing_of_another(adviser: Adviser, make_case: Make) -> None:
    def washing(agent: str, result: str) -> tuple[int, int]:
        tried = {"test": "cleaning-trial", "part": "collar", "agent": agent, "result": result}
        case = make_case(
            damages=[{"id": "s", "damage": "stain", "parts": ["collar"]}], tests=[tried]
        )
        found = {c.technique.id: c for c in find_candidates(case, adviser.catalogue)}
        one = found["technique:immersion-washing"]
        return one.efficacy, len(one.open)

    assert washing("liquid-water", "good") == (2, 0)
    assert washing("liquid-water", "bad") == (0, 0)
    assert washing("solvent-ketone", "good") == (2, 1)  # still open


def test_an_open_condition_leaves_the_option_undecided_and_says_what_tells(
    adviser: Adviser, make_case: Make
) -> None:
    case = make_case(damages=[{"id": "s", "damage": "stain", "parts": ["collar"]}])
    one = option(adviser.weigh(case), "s", "immersion-washing")

    (finding,) = [f for f in one.findings if f.rule == "rule:effect-condition-open"]
    assert one.verdict != "accepted"
    assert "test:cleaning-trial" in [m.what for m in finding.mends]
    assert any(r.stance == "condition" and "not known" in r.text
               for top in one.reasons.reasons for r in top.reasons)  # fmt: skip


@pytest.mark.parametrize(
    ("damage", "materials", "technique"),
    [
        ("plastic-decay", ["glass-beads-weeping"], "plastic-segregation"),
        ("metal-corrosion", ["copper-thread"], "plastic-segregation"),
        ("bleaching", ["silk"], "bleaching"),
        ("fraying", ["wool"], "cellulose-ether-film"),
    ],
)
def test_an_effect_whose_condition_fails_counts_for_nothing(
    adviser: Adviser, make_case: Make, damage: str, materials: list[str], technique: str
) -> None:
    damage = {"bleaching": "yellowing"}.get(damage, damage)
    found = {"id": "d", "damage": damage, "parts": ["collar"], "evidence": "no"}
    answer = adviser.weigh(make_case(parts=[part(*materials)], damages=[found]))
    one = option(answer, "d", technique)

    assert one.efficacy == 0
    assert one.residual == one.hindrance
    assert one.id not in answer.damages[0].shown


@pytest.mark.parametrize("mounting", ["on-figure", "hung", "boxed"])
def test_what_the_mounting_rules_out_is_set_aside_with_its_reason(
    adviser: Adviser, make_case: Make, mounting: str
) -> None:
    case = make_case(
        damages=[{"id": "d", "damage": "split", "parts": ["collar"]}],
        aim={"purpose": "display", "mounting": mounting},
    )
    aside = {s.technique.id: s for s in find_set_aside(case, adviser.catalogue)}
    offered = {c.technique.id for c in find_candidates(case, adviser.catalogue)}

    assert "technique:encapsulation" in aside
    assert not [t for t in aside if t == "technique:encapsulation" and t in offered]


def test_severity_and_activity_change_what_hinders(adviser: Adviser, make_case: Make) -> None:
    def hindrance(**fields: Any) -> int:
        found = {"id": "d", "damage": "dust", "parts": ["collar"], "evidence": "no", **fields}
        return option(adviser.weigh(make_case(damages=[found])), "d", "leave-and-monitor").hindrance

    plain = hindrance(severity="moderate", activity="stable")
    assert hindrance(severity="slight", activity="stable") == plain - 1
    assert hindrance(severity="severe", activity="stable") == plain + 1
    assert hindrance(severity="moderate", activity="active") == plain + 1
    assert hindrance(extent={"value": 80, "unit": "percent"}) == plain + 1
    assert hindrance(extent={"value": 2, "unit": "percent"}) == plain - 1
    assert hindrance(severity="moderate", extent={"value": 2, "unit": "percent"}) == plain


@pytest.mark.parametrize("name", ["festival-dancer", "furnishing-panel", "guild-banner"])
def test_nothing_is_accepted_while_a_condition_of_its_effect_is_open(
    adviser: Adviser, demo: Callable[[str], Case], name: str
) -> None:
    case = demo(name)
    verdicts = {o.id: o.verdict for o in adviser.weigh(case).options()}
    waiting = [c for c in find_candidates(case, adviser.catalogue) if c.open]

    assert waiting
    assert "accepted" not in {verdicts[c.id] for c in waiting}


HANDMADE = """
    condition:plain lw:partField "bears_needle" .
    condition:other lw:partField "bears_handling" .
    condition:silent-yes lw:partField "bears_handling" ; lw:whenSilent lw:yes .
    condition:silent-no lw:partField "bears_handling" ; lw:whenSilent lw:no .
    condition:nothing lw:note "no reading"@en .
    condition:all lw:allOf condition:plain , condition:other .
    condition:one lw:anyOf condition:plain , condition:other .
    condition:none lw:noneOf condition:plain , condition:other .
    condition:mixed lw:allOf condition:plain ; lw:anyOf condition:other ;
        lw:noneOf condition:mounted .
    condition:mixed-silent lw:allOf condition:plain ; lw:whenSilent lw:no .
    condition:nested lw:anyOf condition:all , condition:mounted .
    condition:mounted lw:whenMounted lw:flat .
    condition:hung lw:whenMounted lw:hung .
    condition:shown lw:anyOf condition:mounted , condition:hung .
    condition:half-shown lw:anyOf condition:mounted , condition:plain .
    condition:tested-mount lw:whenMounted lw:flat ; lw:settledBy test:prick .
    condition:settled lw:partField "bears_needle" ; lw:settledBy test:look , test:prick , test:no .
    condition:tested-all lw:allOf condition:other ; lw:settledBy test:look .
    condition:wide lw:scope "object" ; lw:partField "lies_flat" .
    condition:of-agent lw:partField "reverse_reachable" .
    test:prick a lw:Test ; lw:checksCondition condition:settled , condition:pricked .
    test:look a lw:Test ; lw:checksCondition condition:pricked .
    test:round a lw:Test ; lw:checksCondition condition:wide .
    test:trial a lw:Test ; lw:checksCondition condition:of-agent ; lw:oneAgentAtATime true .
    agent:water a lw:Agent ; lw:spreads lw:byContact .
    agent:steam a lw:Agent ; lw:spreads lw:byContact .
    agent:rubbing a lw:Agent ; lw:spreads lw:overSurface .
    technique:sponge a lw:Technique ;
        lw:brings [ lw:agent agent:water ] , [ lw:agent agent:rubbing ] .
    technique:brush a lw:Technique ; lw:brings [ lw:agent agent:rubbing ] .
    technique:both a lw:Technique ; lw:brings [ lw:agent agent:water ] , [ lw:agent agent:steam ] .
    technique:look-on a lw:Technique .
    technique:wash a lw:Technique ; lw:brings [ lw:agent agent:water ] ;
        lw:needsTest test:prick , test:look .
"""
Y, N, U = Tri.YES, Tri.NO, Tri.UNKNOWN


def reader(*tests: tuple[str, ...], two: bool = False, **fields: Any) -> ConditionReader:
    """Return a reader of a case of one part, or of two, with tests (test, result, part, agent)."""
    parts = [made_of("a", "silk", **fields), *([made_of("b", "silk")] if two else [])]
    made = [
        {"test": f"test:{test}", "result": result, "part": (where or ["a"])[0]}
        | ({"agent": where[1]} if len(where) > 1 else {})
        for test, result, *where in tests
    ]
    return ConditionReader(handmade(*parts, tests=made), catalogue(HANDMADE))


@pytest.mark.parametrize(
    ("needle", "handling", "every", "one", "none"),
    [
        (Y, Y, Y, Y, N),
        (Y, N, N, Y, N),
        (N, N, N, N, Y),
        (Y, U, U, Y, N),
        (N, U, N, U, U),
        (U, U, U, U, U),
    ],
)
def test_conditions_are_put_together_from_others(
    needle: Tri, handling: Tri, every: Tri, one: Tri, none: Tri
) -> None:
    read = reader(bears_needle=needle, bears_handling=handling)

    assert [read.at(f"condition:{c}", "a") for c in ("all", "one", "none")] == [every, one, none]


@pytest.mark.parametrize(
    ("needle", "handling", "expected"), [(Y, Y, N), (N, Y, N), (Y, U, N), (Y, N, N)]
)
def test_all_ways_of_putting_together_count_at_once(
    needle: Tri, handling: Tri, expected: Tri
) -> None:
    """The part lies flat for its aim, and none of what is mounted so may be."""
    read = reader(bears_needle=needle, bears_handling=handling)

    assert read.at("condition:mixed", "a") is expected


@pytest.mark.parametrize(
    ("condition", "handling", "expected"),
    [
        ("silent-yes", U, Y), ("silent-yes", N, N), ("silent-no", U, N), ("silent-no", Y, Y),
        ("other", U, U), ("nothing", U, U), ("mixed-silent", U, N),
    ],
)  # fmt: skip
def test_silence_is_unknown_unless_the_condition_says_what_it_means(
    condition: str, handling: Tri, expected: Tri
) -> None:
    assert reader(bears_handling=handling).at(f"condition:{condition}", "a") is expected


def test_over_several_parts_all_must_hold_or_one() -> None:
    case = handmade(made_of("a", "silk", bears_needle="yes"), made_of("b", "silk"),
                    made_of("c", "silk", bears_needle="no"))  # fmt: skip
    read, about = ConditionReader(case, catalogue(HANDMADE)), About()

    def both(*parts: str) -> tuple[Tri, Tri]:
        plain = "condition:plain"
        return read.on_all(plain, parts, about), read.on_any(plain, parts, about)

    assert both("a") == (Y, Y)
    assert both("a", "b") == (U, Y)
    assert both("b", "c") == (N, U)
    assert both("a", "c") == (N, Y)
    assert both() == (U, U), "of no part nothing is known"
    assert read.state_for("condition:plain", ("a", "c")) is N


@pytest.mark.parametrize(
    ("results", "expected"),
    [
        ([("prick", "good")], Y),
        ([("prick", "bad")], N),
        ([("prick", "inconclusive")], U),
        ([("prick", "good"), ("prick", "bad")], N),
        ([("prick", "good"), ("prick", "inconclusive")], U),
        ([("prick", "not-judged")], U),
        ([("prick", "good", "b")], U),
        ([("prick", "inconclusive"), ("look", "good")], Y),
        ([("prick", "inconclusive"), ("look", "bad")], N),
    ],
)
def test_a_test_answers_where_it_was_made(results: list[tuple[str, ...]], expected: Tri) -> None:
    assert reader(*results, two=True).at("condition:pricked", "a") is expected


def test_a_test_counts_before_what_the_record_says_and_its_silence_does_not() -> None:
    assert reader(("prick", "bad"), bears_needle="yes").at("condition:settled", "a") is N
    assert reader(("prick", "inconclusive"), bears_needle="yes").at("condition:settled", "a") is Y


def test_a_condition_of_the_whole_object_is_answered_by_a_test_of_any_part() -> None:
    assert reader(("round", "bad", "b"), two=True).at("condition:wide", "a") is N
    assert reader(("round", "good", "b"), two=True).at("condition:wide", "a") is Y


@pytest.mark.parametrize(
    ("agent", "technique", "expected"),
    [
        ("agent:water", True, N),
        ("agent:heat", True, U),
        ("agent:water", False, U),
        ("", True, N),
        ("", False, N),
    ],
)
def test_a_trial_of_one_agent_at_a_time_counts_for_a_technique_that_brings_it(
    agent: str, technique: bool, expected: Tri
) -> None:
    read = reader(("trial", "bad", "a", *([agent] if agent else [])))
    wash = read.catalogue.techniques["technique:wash"] if technique else None

    assert read.at("condition:of-agent", "a", About(None, wash)) is expected


def test_the_tests_of_a_condition_are_those_that_check_it_and_those_it_names_each_once() -> None:
    read = reader()

    assert read.tests_of("condition:settled") == ["test:prick", "test:look"]
    assert read.tests_of("condition:pricked") == ["test:look", "test:prick"]
    assert read.tests_of("condition:plain") == []


@pytest.mark.parametrize(
    ("condition", "expected"),
    [
        ("all", ["other"]),
        ("nested", ["other"]),
        ("settled", ["settled"]),
        ("plain", ["plain"]),
        ("nothing", ["nothing"]),
        ("tested-all", ["tested-all"]),
    ],
)
def test_what_is_open_within_a_condition_is_told_down_to_what_can_be_entered(
    condition: str, expected: list[str]
) -> None:
    read = reader(bears_needle="yes")
    found = read.open_within(f"condition:{condition}", "a", About())

    assert found == [f"condition:{one}" for one in expected]


def test_what_is_open_twice_within_a_condition_is_told_once() -> None:
    twice = """
        condition:both lw:allOf condition:one , condition:two .
        condition:one lw:anyOf condition:plain .  condition:two lw:noneOf condition:plain ;
            lw:allOf <https://w3id.org/leastwise/ns#Elsewhere> .
        condition:plain lw:partField "bears_needle" .
    """
    read = ConditionReader(handmade(), catalogue(twice))

    assert read.open_within("condition:both", "a", About()) == ["condition:plain"]
    assert read.open_within("lw:Elsewhere", "a", About()) == ["lw:Elsewhere"]


@pytest.mark.parametrize(
    ("condition", "expected"),
    [
        ("mounted", True),
        ("shown", True),
        ("half-shown", False),
        ("plain", False),
        ("tested-mount", False),
        ("nothing", False),
    ],
)
def test_what_the_aim_alone_decides_is_known_as_such(condition: str, expected: bool) -> None:
    assert reader().is_of_the_aim(f"condition:{condition}") is expected


@pytest.mark.parametrize(
    ("results", "expected"),
    [
        ([], {"prick": "untested", "look": "untested"}),
        ([("prick", "good"), ("look", "good")], {"prick": "untested", "look": "untested"}),
        ([("prick", "good"), ("prick", "good", "b"), ("look", "bad")],
         {"look": "bad"}),
        ([("prick", "inconclusive"), ("look", "good"), ("look", "bad", "b")],
         {"prick": "inconclusive", "look": "bad"}),
        ([("prick", "good"), ("prick", "inconclusive"), ("look", "inconclusive"),
          ("look", "inconclusive", "b")], {"prick": "inconclusive", "look": "inconclusive"}),
    ],
)  # fmt: skip
def test_a_test_that_a_technique_always_needs_is_missing_with_the_worst_state_of_its_parts(
    results: list[tuple[str, ...]], expected: dict[str, str]
) -> None:
    read = reader(*results, two=True)
    wash = read.catalogue.techniques["technique:wash"]
    damage = DamageFound(id="d", damage="damage:split", parts=["a"])
    treated: Any = SimpleNamespace(technique=wash, parts=("a", "b"), damage=damage)

    assert list(read.missing_tests(treated)) == [(f"test:{t}", s) for t, s in expected.items()]


def test_the_state_of_an_option_is_read_for_its_technique_and_its_damage() -> None:
    read = reader(("trial", "bad", "a", "agent:water"))
    wash = read.catalogue.techniques["technique:wash"]
    damage = DamageFound(id="d", damage="damage:split", parts=["a"])
    treated: Any = SimpleNamespace(technique=wash, parts=("a",), damage=damage)

    assert read.state("condition:of-agent", treated) is N
    assert read.state_for("condition:of-agent", ("a",)) is U


@pytest.mark.parametrize(
    ("name", "expected"),
    [
        ("collar lining", Tri.YES),
        ("Lining, left", Tri.YES),
        ("collar", Tri.NO),
        ("underlining", Tri.NO),  # whole words only
    ],
)
def test_a_part_is_a_lining_where_its_name_says_so(
    adviser: Adviser, make_case: Make, name: str, expected: Tri
) -> None:
    case = make_case(parts=[part("silk") | {"name": name}])
    assert asked(adviser, case, "is-lining") is expected


@pytest.mark.parametrize(
    ("size", "expected"),
    [
        ({}, Tri.NO),  # nobody measured it: taken as a thing of common size
        ({"area_cm2": 40_000}, Tri.NO),
        ({"area_cm2": 40_001}, Tri.YES),
        ({"length_cm": 300, "width_cm": 200}, Tri.YES),
        ({"length_cm": 300}, Tri.NO),
    ],
)
def test_an_object_is_very_large_by_its_area_or_its_sides(
    adviser: Adviser, make_case: Make, size: dict[str, float], expected: Tri
) -> None:
    case = make_case(
        parts=[part("silk")], object={"name": "flag", "kind": "flat-textile", "size": size}
    )
    assert asked(adviser, case, "is-very-large") is expected


def tried(
    technique: str, *trials: tuple[str, str, str | None], damage: str = "d"
) -> tuple[ConditionReader, Any]:
    """Return a reader of trials (agent, effect, damage), and a technique on a damage."""
    tests = [
        {"test": "test:trial", "part": "a", "agent": agent or None, "effect": effect}
        | ({"damage": on} if on else {})
        for agent, effect, on in trials
    ]
    damages = [{"id": one, "damage": "damage:stain", "parts": ["a"]} for one in ("d", "e")]
    made = handmade(made_of("a", "silk"), tests=tests, damages=damages)
    read = ConditionReader(made, catalogue(HANDMADE))
    found = next(one for one in made.damages if one.id == damage)
    kind = read.catalogue.techniques[f"technique:{technique}"]
    return read, SimpleNamespace(technique=kind, parts=("a",), damage=found)


WATER, STEAM, RUBBING = "agent:water", "agent:steam", "agent:rubbing"


@pytest.mark.parametrize(
    ("technique", "trials", "nothing"),
    [
        ("sponge", [(WATER, "nothing", "d")], True),
        ("sponge", [(RUBBING, "nothing", "d")], False),
        ("sponge", [(WATER, "nothing", "d"), (STEAM, "nothing", "d")], True),
        ("sponge", [(WATER, "nothing", "e")], False),
        ("sponge", [(WATER, "nothing", None)], False),
        ("sponge", [(WATER, "works", "d")], False),
        ("sponge", [(WATER, "nothing", "d"), (WATER, "works", "d")], False),
        ("sponge", [(WATER, "nothing", "d"), (STEAM, "works", "d")], True),
        ("sponge", [(WATER, "nothing", "d"), (WATER, "works", "e")], True),
        ("sponge", [(WATER, "inconclusive", "d")], False),
        ("sponge", [], False),
        ("brush", [(RUBBING, "nothing", "d")], True),
        ("brush", [(WATER, "nothing", "d")], False),
        ("both", [(WATER, "nothing", "d")], False),
        ("both", [(WATER, "nothing", "d"), (STEAM, "nothing", "d")], True),
        ("look-on", [(WATER, "nothing", "d")], False),
    ],
)
def test_a_technique_did_nothing_if_each_agent_by_which_it_acts_was_tried_there_in_vain(
    technique: str, trials: list[tuple[str, str, str | None]], nothing: bool
) -> None:
    read, treated = tried(technique, *trials)

    assert read.did_nothing(treated) is nothing


@pytest.mark.parametrize(
    ("trials", "damage", "expected"),
    [
        ([(WATER, "works", "d")], "d", Y),
        ([(WATER, "works", "d")], "e", U),
        ([(WATER, "works", None)], "e", Y),
        ([(WATER, "harms", "e"), (WATER, "works", "d")], "d", Y),
        ([(WATER, "harms", "e"), (WATER, "works", "d")], "e", N),
        ([(WATER, "nothing", "d")], "d", N),
        ([("", "nothing", "d")], "d", U),
    ],
)
def test_a_trial_on_one_damage_says_nothing_of_another(
    trials: list[tuple[str, str, str | None]], damage: str, expected: Tri
) -> None:
    read, treated = tried("wash", *trials, damage=damage)

    assert read.state("condition:of-agent", treated) is expected
