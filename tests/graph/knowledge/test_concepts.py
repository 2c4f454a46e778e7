"""The knowledge as frozen values: each field read from its predicate, and what silence means."""

from __future__ import annotations

import pytest

from leastwise.graph.knowledge.concepts import (
    AgentUse,
    Catalogue,
    Damage,
    HindranceShift,
    Passage,
    Sensitivity,
    _claimed,
)
from tests.graph.handmade import catalogue

WATER = "agent:water"


def test_an_agent_that_says_nothing_of_how_it_travels_reaches_the_whole_object() -> None:
    agents = catalogue("""
        agent:cold a lw:Agent ; skos:prefLabel "cold"@en .
        agent:glue a lw:Agent ; lw:spreads lw:onlyAtPlace ; lw:graded true ;
            lw:stoppedBy lw:Barrier , lw:Parting ; lw:meansNothingFor material:colourant .
    """).agents

    cold, glue = agents["agent:cold"], agents["agent:glue"]
    assert [*agents] == ["agent:cold", "agent:glue"]
    assert (cold.label, cold.travels, cold.graded) == ("cold", "wholeObject", False)
    assert (cold.stopped_by, cold.means_nothing_for) == (frozenset(), frozenset())
    assert (glue.label, glue.travels, glue.graded) == ("glue", "onlyAtPlace", True)
    assert glue.stopped_by == {"lw:Barrier", "lw:Parting"}
    assert glue.means_nothing_for == {"material:colourant"}


AXES = """
    axis:a a lw:Axis ; lw:order 2 .  axis:b a lw:Axis ; lw:order 1 .  axis:c a lw:Axis .
"""


def test_axes_stand_in_their_order_and_those_without_one_count_as_nought() -> None:
    assert catalogue(AXES).axes == ("axis:c", "axis:b", "axis:a")
    assert catalogue("axis:x a lw:Axis ; lw:order 0 . axis:y a lw:Axis .").axes == (
        "axis:x",
        "axis:y",
    )


def test_a_technique_is_read_field_by_field() -> None:
    found = catalogue(
        AXES
        + """
        technique:pack a lw:Technique ; skos:prefLabel "pack"@en ; skos:definition "A pack."@en ;
            skos:broader technique:damp ;
            lw:brings [ lw:agent agent:water ; lw:dose 2 ; lw:confined true ; lw:restsOn claim:1 ] ,
                      [ lw:agent agent:pressure ] ;
            lw:requires condition:x ; lw:needsTest test:t ;
            lw:burdens [ lw:axis axis:a ; lw:grade 3 ] , [ lw:axis axis:b ] ,
                       [ lw:axis axis:a ; lw:grade 1 ] ;
            lw:skill 2 ; lw:hours [ lw:least 1.5 ; lw:most 4 ; lw:per "object" ] ;
            lw:equipment "a sheet"@en ; lw:equipmentKey "sheet" ; lw:setUp "Lay it."@en ;
            lw:monitoring "Look."@en ; lw:stopSign "Bleeding."@en ; lw:caution caution:c ;
            lw:notWhile lw:onFigure ; lw:onlyFor lw:costume ; lw:restsOn claim:2 ;
            lw:supplies lw:Barrier ; lw:forContact contact:lies-on ; lw:reachesWholeObject true .
        technique:bare a lw:Technique .
        """
    ).techniques

    t = found["technique:pack"]
    assert (t.label, t.definition, t.groups) == ("pack", "A pack.", ("technique:damp",))
    assert t.brings == (
        AgentUse("agent:pressure", 4, False, ()),
        AgentUse("agent:water", 2, True, ("claim:1",)),
    )
    assert (t.requires, t.needs_tests) == (("condition:x",), ("test:t",))
    assert t.burdens == (("axis:c", 0), ("axis:b", 0), ("axis:a", 3)), "the first grade stays"
    assert (t.skill, t.hours, t.hours_per) == (2, (1.5, 4.0), "object")
    assert (t.equipment, t.equipment_keys) == ("a sheet", ("sheet",))
    assert (t.set_up, t.monitoring, t.stop_sign) == ("Lay it.", "Look.", "Bleeding.")
    assert (t.cautions, t.rests_on) == (("caution:c",), ("claim:2",))
    assert (t.not_while, t.only_for) == ({"lw:onFigure"}, {"lw:costume"})
    assert (t.supplies, t.for_contacts) == (("lw:Barrier",), {"contact:lies-on"})
    assert t.reaches_whole


def test_what_a_technique_does_not_say_is_taken_at_its_gravest_or_as_none() -> None:
    bare = catalogue(AXES + "technique:bare a lw:Technique .").techniques["technique:bare"]

    assert bare.skill == 3, "a specialist, where nobody says who may do it"
    assert bare.burdens == (("axis:c", 0), ("axis:b", 0), ("axis:a", 0))
    assert (bare.hours, bare.hours_per, bare.brings) == ((0.0, 0.0), "", ())
    assert not bare.reaches_whole
    assert (bare.groups, bare.supplies, bare.for_contacts) == ((), (), frozenset())


def test_an_agent_that_two_entries_bring_alike_is_brought_once() -> None:
    found = catalogue("""
        technique:t a lw:Technique ; lw:brings [ lw:agent agent:heat ] , [ lw:agent agent:heat ] .
    """)

    assert [use.agent for use in found.techniques["technique:t"].brings] == ["agent:heat"]


def test_of_the_acts_that_supply_the_same_the_lightest_comes_first_then_the_quickest() -> None:
    found = catalogue("""
        axis:a a lw:Axis .  axis:b a lw:Axis .
        technique:heavy a lw:Technique ; lw:supplies lw:Barrier ;
            lw:burdens [ lw:axis axis:a ; lw:grade 1 ] , [ lw:axis axis:b ; lw:grade 1 ] .
        technique:slow a lw:Technique ; lw:supplies lw:Barrier , lw:Parting ;
            lw:burdens [ lw:axis axis:a ; lw:grade 1 ] ; lw:hours [ lw:least 1 ; lw:most 5 ] .
        technique:quick a lw:Technique ; lw:supplies lw:Barrier ;
            lw:burdens [ lw:axis axis:b ; lw:grade 1 ] ; lw:hours [ lw:least 2 ; lw:most 3 ] .
        technique:also-quick a lw:Technique ; lw:supplies lw:Barrier ;
            lw:burdens [ lw:axis axis:b ; lw:grade 1 ] ; lw:hours [ lw:least 2 ; lw:most 3 ] .
        technique:none a lw:Technique .
    """)

    acts = {what: [act.id for act in some] for what, some in found.acts.items()}
    assert acts == {
        "lw:Barrier": [f"technique:{t}" for t in ("also-quick", "quick", "slow", "heavy")],
        "lw:Parting": ["technique:slow"],
    }


def test_a_test_is_read_field_by_field_and_costs_something_unless_it_says_not() -> None:
    found = catalogue("""
        test:bare a lw:Test .
        test:full a lw:Test ; skos:prefLabel "full"@en ; skos:definition "All."@en ;
            lw:minutes 5 ; lw:materialLost 0 ; lw:testsAgent agent:a ; lw:goodResultClears agent:b ;
            lw:badResultBars agent:c ; lw:appliesTo material:dye ; lw:identifies material:silk ;
            lw:checksCondition condition:x ; lw:oneAgentAtATime true ; lw:restsOn claim:1 .
    """).tests

    bare, full = found["test:bare"], found["test:full"]
    assert (bare.minutes, bare.material_lost, bare.one_agent_at_a_time) == (60, 1, False)
    assert (full.label, full.definition) == ("full", "All.")
    assert (full.minutes, full.material_lost, full.one_agent_at_a_time) == (5, 0, True)
    assert (full.tests_agent, full.clears, full.bars) == ({"agent:a"}, {"agent:b"}, {"agent:c"})
    assert (full.applies_to, full.identifies) == ({"material:dye"}, {"material:silk"})
    assert (full.checks, full.rests_on) == ({"condition:x"}, ("claim:1",))


DAMAGES = """
    damage:split a lw:Damage ; skos:prefLabel "split"@en ; lw:weakensObject true ;
        lw:hinders [ lw:aim aim:display ; lw:grade 2 ] , [ lw:aim aim:study ] ,
                   [ lw:aim aim:display ; lw:grade 1 ] ; lw:restsOn claim:1 .
    damage:stain a lw:Damage ; lw:mayBeEvidence true .
    need:upright a lw:Need ; skos:broader need:mount ; lw:without "It hangs."@en ;
        lw:arisesWhen condition:x , condition:y ; lw:ofParts condition:z ; lw:beforehand true .
    need:mount a lw:Need ; lw:hinders [ lw:aim aim:display ; lw:grade 3 ] .
    aim:loan lw:gradedAs aim:display .
"""


def test_a_damage_hinders_each_aim_by_its_first_grade_and_wholly_without_one() -> None:
    found = catalogue(DAMAGES).damages

    assert found == {
        "damage:split": Damage(
            "damage:split", "split", True, False, {"aim:display": 2, "aim:study": 4}, ("claim:1",)
        ),
        "damage:stain": Damage("damage:stain", "stain", False, True, {}, ()),
    }


def test_a_need_takes_the_grades_that_it_lacks_from_a_broader_one() -> None:
    upright, mount = (catalogue(DAMAGES).needs[f"need:{one}"] for one in ("upright", "mount"))

    assert (upright.label, upright.without) == ("upright", "It hangs.")
    assert (upright.arises_when, upright.of_parts) == (
        ("condition:x", "condition:y"),
        "condition:z",
    )
    assert upright.beforehand
    assert not mount.beforehand
    assert (mount.of_parts, mount.arises_when) == ("", ())
    assert upright.hinders == mount.hinders == {"aim:display": 3}


@pytest.mark.parametrize(
    ("problem", "aim", "grade"),
    [
        ("damage:split", "aim:display", 2),
        ("damage:split", "aim:study", 4),
        ("damage:split", "aim:loan", 2),
        ("damage:split", "aim:storage", None),
        ("need:upright", "aim:loan", 3),
        ("damage:stain", "aim:display", None),
        ("damage:nothing", "aim:display", None),
    ],
)
def test_an_aim_without_grades_of_its_own_takes_those_of_the_one_it_names(
    problem: str, aim: str, grade: int | None
) -> None:
    assert catalogue(DAMAGES).hindrance(problem, aim) == grade


def test_a_shift_is_for_a_word_of_the_record_or_for_an_extent() -> None:
    found = catalogue("""
        policy:s1 a lw:HindranceShift ; lw:whenFound lw:severe ; lw:grades 1 ; lw:fromGrade 2 .
        policy:s2 a lw:HindranceShift ; lw:percentFrom 0 ; lw:percentTo 5 ; lw:grades -1 .
        policy:s3 a lw:HindranceShift ; lw:percentFrom 50 .
    """).shifts

    assert found == (
        HindranceShift("lw:severe", None, 1, 2),
        HindranceShift("", (0.0, 5.0), -1, 0),
        HindranceShift("", (50.0, 100.0), 0, 0),
    )


def test_effects_stand_by_damage_the_best_first_then_by_name() -> None:
    found = catalogue("""
        claim:b a lw:EffectClaim ; lw:technique technique:t ; lw:damage damage:d ; lw:efficacy 2 .
        claim:a a lw:EffectClaim ; lw:technique technique:u ; lw:damage damage:d ; lw:efficacy 2 .
        claim:c a lw:EffectClaim ; lw:technique technique:t ; lw:damage damage:d ; lw:efficacy 4 ;
            lw:efficacyLow 1 ; lw:under "if dry"@en ; lw:statement "Helps."@en ;
            lw:basis lw:practice ; lw:confidence lw:low ; lw:restsOn source:s ;
            lw:holdsIf condition:x ; lw:failsIf condition:y .
        claim:d a lw:EffectClaim ; lw:technique technique:t ; lw:damage damage:e ;
            lw:inWords "when new"@en .
        claim:no-damage a lw:EffectClaim ; lw:technique technique:t ; lw:efficacy 4 .
        claim:no-technique a lw:EffectClaim ; lw:damage damage:d ; lw:efficacy 4 .
    """).effects

    assert {d: [e.id for e in some] for d, some in found.items()} == {
        "damage:d": ["claim:c", "claim:a", "claim:b"],
        "damage:e": ["claim:d"],
    }
    best, plain, silent = found["damage:d"][0], found["damage:d"][1], found["damage:e"][0]
    assert (best.technique, best.damage, best.efficacy, best.low) == (
        "technique:t", "damage:d", 4, 1,
    )  # fmt: skip
    assert (best.under, best.statement) == ("if dry", "Helps.")
    assert (best.basis, best.confidence) == ("practice", "low")
    assert (best.rests_on, best.holds_if, best.fails_if) == (
        ("source:s",), ("condition:x",), ("condition:y",),
    )  # fmt: skip
    assert (plain.low, plain.under, plain.basis, plain.confidence) == (2, "", "", "")
    assert (silent.efficacy, silent.low, silent.under) == (0, 0, "when new")


def test_a_contact_passes_both_ways_unless_it_names_one_end() -> None:
    found = catalogue("""
        contact:sewn a lw:ContactKind ; skos:prefLabel "sewn"@en ; lw:sewn true ;
            lw:passes [ lw:manner lw:byContact ; lw:doseLoss 1 ] ,
                      [ lw:manner lw:downward ; lw:towards lw:theSecond ] ,
                      [ lw:manner lw:overSurface ; lw:towards lw:theFirst ] .
        contact:apart a lw:ContactKind .
    """).contact_kinds

    sewn, apart = found["sewn"], found["apart"]
    assert (sewn.id, sewn.label, sewn.sewn) == ("contact:sewn", "sewn", True)
    assert sewn.passes == {
        "byContact": Passage(1, to_first=True, to_second=True),
        "downward": Passage(0, to_first=False, to_second=True),
        "overSurface": Passage(0, to_first=True, to_second=False),
    }
    assert (apart.sewn, apart.passes) == (False, {})
    assert Passage(1) == Passage(1, to_first=True, to_second=True)


CLAIMS = """
    material:silk skos:broader material:fibre .
    material:net skos:broader material:silk , material:cotton .
    material:tulle skos:broader material:net .
    claim:a a lw:SensitivityClaim ; lw:about material:silk ; lw:agent agent:water ; lw:severity 1 .
    claim:b a lw:SensitivityClaim ; lw:about material:silk ; lw:agent agent:water ; lw:severity 3 .
    claim:c a lw:SensitivityClaim ; lw:about material:cotton ; lw:agent agent:water ;
        lw:severity 3 .
    claim:good a lw:SensitivityClaim ; lw:about material:silk ; lw:agent agent:heat .
    claim:words a lw:SensitivityClaim ; lw:about material:silk ; lw:agent agent:heat ;
        lw:severity 4 ; lw:onlyIf "if it is old"@en .
    claim:state a lw:SensitivityClaim ; lw:about material:silk , damage:split ;
        lw:agent agent:heat , agent:needle ; lw:severity 2 ; lw:onlyIf damage:brittle .
    claim:root a lw:SensitivityClaim ; lw:about material:fibre ; lw:agent agent:cold ;
        lw:severity 0 .
"""


@pytest.fixture
def graded() -> Catalogue:
    return catalogue(CLAIMS)


def test_of_claims_on_one_material_the_gravest_leads_and_two_grades_apart_is_contested(
    graded: Catalogue,
) -> None:
    assert graded.sensitivity("material:silk", WATER) == Sensitivity(
        3, ("claim:b", "claim:a"), contested=True
    )


@pytest.mark.parametrize(
    ("grades", "contested"), [((3, 3), False), ((3, 2), False), ((3, 1), True), ((4, 0), True)]
)
def test_sources_that_differ_by_one_grade_do_not_contest(
    grades: tuple[int, int], contested: bool
) -> None:
    rows = [(grade, f"claim:{n}", "") for n, grade in enumerate(grades)]
    found = _claimed({("m", "a"): rows}, "m", "a", frozenset())

    assert (found.harm, found.contested) == (grades[0], contested)
    assert found.claims == ("claim:0", "claim:1")


def test_claims_of_one_grade_stand_by_name_whatever_state_they_are_for() -> None:
    rows = [(2, "claim:a", "damage:brittle"), (2, "claim:b", ""), (1, "claim:0", "")]
    found = _claimed({("m", "a"): rows}, "m", "a", frozenset({"damage:brittle"}))

    assert found.claims == ("claim:a", "claim:b", "claim:0")


def test_a_claim_that_holds_in_a_state_is_left_out_where_the_part_is_not_in_it(
    graded: Catalogue,
) -> None:
    brittle = frozenset({"damage:brittle", "damage:dust"})

    assert not graded.sensitivity("material:silk", "agent:heat").known
    assert graded.sensitivity("material:silk", "agent:heat", brittle).claims == ("claim:state",)
    assert graded.sensitivity("material:silk", "agent:needle", brittle).harm == 2


def test_what_is_no_material_and_what_holds_in_words_alone_has_no_grade(graded: Catalogue) -> None:
    assert {material for material, _ in graded._graded} == {
        "material:silk",
        "material:cotton",
        "material:fibre",
    }
    assert "claim:words" not in {row[1] for rows in graded._graded.values() for row in rows}
    assert graded._states == {"damage:brittle"}


def test_a_grade_is_taken_from_above_with_the_name_of_where_it_stands(graded: Catalogue) -> None:
    below = graded.sensitivity("material:tulle", WATER)

    assert (below.harm, below.inherited_from) == (3, "material:silk")
    assert graded.sensitivity("material:net", WATER).inherited_from == "material:silk"
    assert graded.sensitivity("material:silk", "agent:cold") == Sensitivity(
        0, ("claim:root",), inherited_from="material:fibre"
    )
    assert graded.sensitivity("material:silk", "agent:cold").known


@pytest.mark.parametrize("parents", ["a b c", "c b a", "b a c"])
def test_of_several_parents_the_gravest_counts_whichever_comes_first(parents: str) -> None:
    above = " , ".join(f"material:{one}" for one in parents.split())
    found = catalogue(f"""
        material:mixed skos:broader {above} .
        claim:a a lw:SensitivityClaim ; lw:about material:a ; lw:agent agent:water ; lw:severity 1 .
        claim:b a lw:SensitivityClaim ; lw:about material:b ; lw:agent agent:water ; lw:severity 3 .
    """)

    assert found.sensitivity("material:mixed", WATER) == Sensitivity(
        3, ("claim:b",), inherited_from="material:b"
    )


def test_what_nothing_grades_anywhere_above_is_unknown(graded: Catalogue) -> None:
    assert graded.sensitivity("material:tulle", "agent:light") == Sensitivity(-1, ())
    assert not graded.sensitivity("material:nothing", WATER).known


def test_materials_that_stand_above_each_other_end_no_search() -> None:
    found = catalogue("""
        material:a skos:broader material:b .  material:b skos:broader material:a , material:c .
        claim:c a lw:SensitivityClaim ; lw:about material:c ; lw:agent agent:water ; lw:severity 2 .
    """)

    assert found.sensitivity("material:a", WATER).harm == 2
    assert found.sensitivity("material:a", "agent:heat").harm == -1


def test_a_sensitivity_is_worked_out_once(graded: Catalogue) -> None:
    first = graded.sensitivity("material:silk", WATER, frozenset({"damage:dust"}))

    assert graded.sensitivity("material:silk", WATER) is first, "no claim asks for dust"


def test_entries_that_say_what_is_absent_or_unidentified_are_known_as_such() -> None:
    found = catalogue("""
        material:undyed a skos:Concept ; lw:isAbsence true .
        material:dye-unidentified a skos:Concept ; lw:unidentified true .
        material:silk a skos:Concept ; lw:isAbsence false .
    """)

    assert found.absences == {"material:undyed"}
    assert found.uncertain_materials == {"material:dye-unidentified"}
    assert found.absences is found.absences
