"""What would settle a finding: the gentlest test that tells, a stop, an entry."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from itertools import pairwise
from typing import Any

import pytest

from leastwise.graph import Adviser, Case
from leastwise.graph.answer import MendView
from leastwise.graph.case.record import DamageFound, Tri
from leastwise.graph.knowledge.concepts import Effect, Sensitivity
from leastwise.graph.meanings import Remedy
from leastwise.graph.weighing.candidates import Act, Candidate
from leastwise.graph.weighing.conditions import ConditionReader
from leastwise.graph.weighing.contacts import Reach
from leastwise.graph.weighing.exposure import Exposure
from leastwise.graph.weighing.settle import Mend, Settler, _cost
from leastwise.graph.weighing.settling import each_needed, settled_by, settling
from tests.conftest import changed
from tests.graph.handmade import case as handmade
from tests.graph.handmade import catalogue, made_of
from tests.graph.handmade import touching as joined

VAPOUR = "agent:water-vapour"
PACK = "crushed/membrane-pack-flat"
TEST = "test:hidden-spot-trial"


def part(name: str, *materials: str, known: str = "certain") -> dict[str, Any]:
    made = [{"material": one, "identified": known} for one in materials]
    return {"id": name, "name": name, "lies_flat": "yes", "materials": made}


def touching(**more: str) -> dict[str, Any]:
    return {"between": ["sequins", "collar"], "kind": "lies-on"} | more


@pytest.fixture
def settled(adviser: Adviser, make_case: Callable[..., Case]) -> Callable[..., list[Mend]]:
    """Return the mends of one exposure of the pack."""

    def of(material: str, *lifted_by: str, **changes: Any) -> list[Mend]:
        steps = adviser.steps(make_case(**changes), PACK)
        settler = Settler(steps.case, adviser.catalogue, steps.setting.reader)
        found: list[Exposure] = [*steps.setting.tracer.trace(steps.candidates[0])]
        (e,) = [e for e in found if e.material == f"material:{material}" and e.agent == VAPOUR]
        return settler.of_exposure(e, lifted_by)

    return of


def test_what_costs_the_object_less_comes_before_what_takes_less_time(adviser: Adviser) -> None:
    tests = adviser.catalogue.tests.values()
    kinds = sorted(tests, key=_cost)

    assert [t.material_lost for t in kinds] == sorted(t.material_lost for t in tests)
    for a, b in pairwise(kinds):
        assert a.material_lost < b.material_lost or a.minutes <= b.minutes


def test_a_colour_waits_for_the_gentlest_test_that_tries_the_agent(
    settled: Callable[..., list[Mend]],
) -> None:
    found = settled("madder", TEST, parts=[part("collar", "silk", "madder")])

    assert found == [Mend("test", "test:colourfastness-vapour", "collar", "material:madder")]


def test_what_nobody_identified_waits_for_its_identification(
    settled: Callable[..., list[Mend]],
) -> None:
    parts = [part("collar", "silk", "undyed"), part("sequins", "sequins-unidentified")]
    found = settled("sequins-unidentified", TEST, parts=parts, contacts=[touching()])

    assert {mend.kind for mend in found} == {"identity"}
    assert len(found) == 2


@pytest.mark.parametrize(
    ("barrier", "parting", "kinds"),
    [
        ("possible", "impossible", ["barrier"]),
        ("unknown", "possible", ["barrier", "parting"]),
        ("impossible", "impossible", []),
        ("impossible", "unknown", ["parting"]),
    ],
)
def test_stops_that_the_record_rules_out_are_not_offered(
    settled: Callable[..., list[Mend]], barrier: str, parting: str, kinds: list[str]
) -> None:
    parts = [part("collar", "silk", "undyed"), part("sequins", "gelatin-sequins")]
    contacts = [touching(barrier=barrier, parting=parting)]
    found = settled("gelatin-sequins", "lw:Barrier", "lw:Parting", parts=parts, contacts=contacts)

    assert [mend.kind for mend in found] == kinds
    assert {mend.what for mend in found} <= {"collar and sequins"}


def test_only_the_stops_that_a_rule_names_lift_it(settled: Callable[..., list[Mend]]) -> None:
    parts = [part("collar", "silk", "undyed"), part("sequins", "gelatin-sequins")]
    contacts = [touching(barrier="possible", parting="possible")]

    found = settled("gelatin-sequins", "lw:Parting", parts=parts, contacts=contacts)

    assert [mend.kind for mend in found] == ["parting"]


def test_where_no_contact_is_recorded_the_record_is_what_settles_it(
    settled: Callable[..., list[Mend]],
) -> None:
    parts = [part("collar", "silk", "undyed"), part("sequins", "gelatin-sequins")]

    found = settled("gelatin-sequins", TEST, "lw:Barrier", parts=parts)

    assert found == [Mend("record", "lw:hasContact", "sequins")]


def test_a_test_that_looks_at_the_part_is_named_as_the_rule_names_it(
    settled: Callable[..., list[Mend]],
) -> None:
    """X-ray fluorescence tries no agent: it is what the rule asks for, and no trial replaces it."""
    found = settled("silk", "test:xrf-elements", parts=[part("collar", "silk", "undyed")])

    assert found == [Mend("test", "test:xrf-elements", "collar", "material:silk")]


def test_of_the_tests_that_a_rule_names_the_one_that_tries_the_agent_is_asked_for(
    settled: Callable[..., list[Mend]],
) -> None:
    named = ("test:finish-drop-tests", "test:tack-watch")
    found = settled("silk", *named, parts=[part("collar", "silk", "undyed")])

    assert [mend.what for mend in found] == ["test:tack-watch"]


def test_a_bad_result_is_not_settled_by_the_same_test_again(
    settled: Callable[..., list[Mend]],
) -> None:
    bad = {"test": "colourfastness-vapour", "part": "collar", "result": "bad"}
    parts = [part("collar", "silk", "madder")]

    assert settled("madder", "test:colourfastness-vapour", parts=parts, tests=[bad]) == []


def test_the_agreement_of_the_curator_is_asked_for_only_where_it_is_lacking(
    settled: Callable[..., list[Mend]],
) -> None:
    agrees = "condition:curator-agrees"
    parts = [part("collar", "silk", "undyed")]
    silent = {"statement": "x", "curator_agrees": "unknown"}

    assert settled("silk", agrees, parts=parts) == []
    assert settled("silk", agrees, parts=parts, significance=silent) == [
        Mend("record", agrees, "collar")
    ]


def test_a_test_is_asked_for_on_a_part_on_which_it_means_something(
    adviser: Adviser, make_case: Callable[..., Case]
) -> None:
    """Diphenylamine tells of plastic, so it is the buckle that waits for it and not the silk."""
    parts = [part("collar", "silk", "undyed"), part("buckle", "cellulose-nitrate")]
    steps = adviser.steps(make_case(parts=parts), PACK)
    settler = steps.settler

    found = settler.of_option(steps.candidates[0], ("test:diphenylamine", "test:vapour-trial"))

    assert [(mend.what, mend.part) for mend in found] == [
        ("test:diphenylamine", "buckle"),
        ("test:vapour-trial", "collar"),
    ]


HANDMADE = """
    agent:water lw:stoppedBy lw:Barrier , lw:Parting .  agent:water a lw:Agent .
    agent:heat a lw:Agent ; lw:stoppedBy lw:Parting .
    material:madder skos:broader material:colourant .
    material:gum skos:broader material:finish .
    material:cloth lw:identifiedBy test:cut , test:look , test:nowhere , test:burn .
    material:madder lw:identifiedBy test:look .
    material:odd lw:identifiedBy test:nowhere .
    test:look a lw:Test ; lw:minutes 30 ; lw:materialLost 0 .
    test:burn a lw:Test ; lw:minutes 5 ; lw:materialLost 2 .
    test:cut a lw:Test ; lw:minutes 90 ; lw:materialLost 3 .
    test:drop a lw:Test ; lw:minutes 20 ; lw:materialLost 1 ; lw:testsAgent agent:water ;
        lw:goodResultClears agent:water .
    test:bath a lw:Test ; lw:minutes 10 ; lw:materialLost 1 ; lw:testsAgent agent:water ;
        lw:goodResultClears agent:water .
    test:dye-drop a lw:Test ; lw:minutes 5 ; lw:materialLost 0 ; lw:testsAgent agent:water ;
        lw:goodResultClears agent:water ; lw:appliesTo material:colourant .
    test:bars-only a lw:Test ; lw:minutes 1 ; lw:materialLost 0 ; lw:testsAgent agent:water ;
        lw:badResultBars agent:water .
    test:clears-only a lw:Test ; lw:minutes 1 ; lw:materialLost 0 ;
        lw:goodResultClears agent:water .
    test:prick a lw:Test ; lw:checksCondition condition:needle ; lw:appliesTo material:silk .
    condition:needle lw:partField "bears_needle" .
    condition:flat lw:partField "lies_flat" .
    technique:sew a lw:Technique ; lw:requires condition:needle , condition:flat ;
        lw:needsTest test:drop , test:bath .
"""
TRIAL = """
    test:hidden-spot-trial a lw:Test ; lw:minutes 1 ; lw:materialLost 0 ;
        lw:testsAgent agent:water , agent:heat ; lw:goodResultClears agent:water , agent:heat .
"""


def settler(*parts: dict[str, Any], turtle: str = HANDMADE, **more: Any) -> Settler:
    made, known = handmade(*parts, **more), catalogue(turtle)
    return Settler(made, known, ConditionReader(made, known))


def at(material: str = "cloth", way: tuple[str, ...] = ("a",), **more: Any) -> Exposure:
    reach = Reach(way[-1], 3, way, more.pop("stoppable", "yes"))
    e = Exposure(
        "x/0", "x", "technique:x", "agent:water", 3, way[-1], f"material:{material}", "certain",
        len(way) == 1, reach, True, Sensitivity(4, ()), 4, "known", "untested", (),
    )  # fmt: skip
    return e._replace(**more)


def names_of(mends: list[Mend]) -> list[str]:
    return [mend.what.partition(":")[2] for mend in mends]


def test_of_two_tests_the_cost_to_the_object_counts_then_the_minutes_then_the_name() -> None:
    tests = settler().catalogue.tests

    assert [_cost(tests[f"test:{t}"])[:2] for t in ("look", "cut")] == [(0, 30), (3, 90)]
    kinds = sorted((tests[f"test:{t}"] for t in ("cut", "burn", "drop", "bath", "look")), key=_cost)
    assert [t.id.partition(":")[2] for t in kinds] == ["look", "bath", "drop", "burn", "cut"]


@pytest.mark.parametrize(
    ("material", "known", "kind", "expected"),
    [
        ("cloth", "unknown", "identity", ["look", "burn"]),
        ("cloth", "certain", "test", ["bath"]),
        ("cloth", "presumed", "test", ["bath"]),
        ("madder", "unknown", "test", ["dye-drop"]),
        ("madder", "certain", "test", ["dye-drop"]),
        ("gum", "unknown", "test", ["bath"]),
        ("odd", "unknown", "test", ["bath"]),
    ],
)
def test_the_gentlest_test_that_tells_stands_for_a_trial_on_a_hidden_spot(
    material: str, known: str, kind: str, expected: list[str]
) -> None:
    found = settler(turtle=HANDMADE + TRIAL).of_exposure(
        at(material, identification=known), ("test:hidden-spot-trial",)
    )

    assert names_of(found) == expected
    assert {(m.kind, m.part, m.material) for m in found} == {(kind, "a", f"material:{material}")}


def test_the_trial_itself_is_the_last_resort_and_where_it_is_unknown_there_is_none() -> None:
    heat = at(agent="agent:heat")
    shipped, without = settler(turtle=HANDMADE + TRIAL), settler()

    assert names_of(shipped.of_exposure(heat, (TEST,))) == ["hidden-spot-trial"]
    assert without.of_exposure(heat, (TEST, "test:drop")) == [
        Mend("test", "test:drop", "a", "material:cloth")
    ]
    assert without._tests(heat) == []


@pytest.mark.parametrize(
    ("material", "named", "expected"),
    [
        ("cloth", ["drop", "bath"], ["bath"]),
        ("cloth", ["drop"], ["drop"]),
        ("cloth", ["dye-drop", "drop"], ["drop"]),
        ("madder", ["dye-drop", "drop"], ["dye-drop"]),
        ("cloth", ["dye-drop", "bath", "look"], ["bath"]),
        ("cloth", ["look", "cut"], ["look", "cut"]),
        ("cloth", ["cut", "drop"], ["drop"]),
    ],
)
def test_of_the_tests_that_a_rule_names_the_gentlest_that_tries_the_agent_is_asked_for(
    material: str, named: list[str], expected: list[str]
) -> None:
    found = settler().of_exposure(at(material), tuple(f"test:{one}" for one in named))

    assert names_of(found) == expected
    assert {m.kind for m in found} == {"test"}


def test_where_none_of_the_tests_that_try_the_agent_fits_the_gentlest_is_asked_for() -> None:
    turtle = (
        HANDMADE
        + """
        test:dye-bath a lw:Test ; lw:minutes 2 ; lw:materialLost 0 ; lw:testsAgent agent:water ;
            lw:goodResultClears agent:water ; lw:appliesTo material:colourant .
    """
    )
    found = settler(turtle=turtle).of_exposure(at(), ("test:dye-drop", "test:dye-bath"))

    assert names_of(found) == ["dye-bath"]


def test_what_is_unidentified_waits_for_its_identity_where_a_rule_names_a_trial() -> None:
    unknown = at(identification="unknown")

    assert names_of(settler().of_exposure(unknown, ("test:drop",))) == ["look", "burn"]
    assert names_of(settler().of_exposure(unknown, ("test:cut",))) == ["cut"]


@pytest.mark.parametrize(("named", "expected"), [("drop", []), ("look", ["look"])])
def test_a_bad_result_is_not_lifted_by_trying_the_agent_once_more(
    named: str, expected: list[str]
) -> None:
    found = settler().of_exposure(at(test_state="bad"), (f"test:{named}",))

    assert names_of(found) == expected


@pytest.mark.parametrize(
    ("material", "kind", "expected"),
    [
        ("cloth", "identity", ["look", "burn"]),
        ("madder", "identity", ["look"]),
        ("odd", "test", ["bath"]),
    ],
)
def test_an_identification_names_the_gentlest_two_tests_else_a_trial(
    material: str, kind: str, expected: list[str]
) -> None:
    found = settler().of_exposure(at(material), ("lw:Identification", "test:cut"))

    assert names_of(found) == expected
    assert {m.kind for m in found} == {kind}


def test_a_test_that_nothing_knows_and_words_that_name_none_lift_nothing() -> None:
    assert settler().of_exposure(at(), ("test:nowhere", "lw:openEffect")) == []


CHAIN = [made_of("a", "silk"), made_of("b", "silk"), made_of("c", "silk")]
STOPS = ("lw:Barrier", "lw:Parting")


@pytest.mark.parametrize(
    ("more", "expected"),
    [
        ({}, ["barrier b and c", "parting b and c"]),
        ({"confined": False}, ["parting b and c"]),
        ({"agent": "agent:heat"}, ["parting b and c"]),
    ],
)
def test_stops_are_looked_for_at_each_contact_on_the_way(
    more: dict[str, Any], expected: list[str]
) -> None:
    contacts = [
        joined("b", "a", barrier="impossible", parting="impossible"),
        joined("c", "b", barrier="unknown", parting="possible"),
        joined("a", "c", barrier="possible", parting="possible"),
    ]
    found = settler(*CHAIN, contacts=contacts).of_exposure(at(way=("a", "b", "c"), **more), STOPS)

    assert [f"{m.kind} {m.what}" for m in found] == expected
    assert {m.part for m in found} == {"c"}


@pytest.mark.parametrize(
    ("barrier", "parting", "kinds"),
    [
        ("in-place", "done", []),
        ("possible", "done", ["barrier"]),
        ("in-place", "possible", ["parting"]),
        ("unknown", "unknown", ["barrier", "parting"]),
    ],
)
def test_only_what_is_possible_or_open_is_a_stop(
    barrier: str, parting: str, kinds: list[str]
) -> None:
    contacts = [joined("a", "b", barrier=barrier, parting=parting)]
    found = settler(*CHAIN, contacts=contacts).of_exposure(at(way=("a", "b")), STOPS)

    assert [m.kind for m in found] == kinds


@pytest.mark.parametrize(
    ("stoppable", "expected"),
    [("yes", ["b and a", "c and b"]), ("unknown", ["b and a", "c and b"]), ("no", [])],
)
def test_what_a_tent_reaches_is_kept_out_by_taking_it_off(
    stoppable: str, expected: list[str]
) -> None:
    contacts = [
        joined("b", "a", parting="possible"),
        joined("a", "c", parting="possible"),
        joined("c", "b", parting="unknown"),
        joined("b", "c", parting="impossible"),
        joined("b", "c", parting="done"),
    ]
    made = settler(*CHAIN, contacts=contacts)
    found = made.of_exposure(at(way=("b",), stoppable=stoppable), ("lw:Parting",))

    assert found == [Mend("parting", pair, "b") for pair in expected]


@pytest.mark.parametrize(("flat", "asked"), [("yes", False), ("no", True), ("unknown", True)])
def test_a_condition_that_a_rule_names_is_asked_for_unless_it_holds_there(
    flat: str, asked: bool
) -> None:
    parts = [made_of("a", "silk", lies_flat=flat), made_of("b", "silk", lies_flat="yes")]
    found = settler(*parts).of_exposure(at(), ("test:drop", "condition:flat"))

    expected = [Mend("test", "test:drop", "a", "material:cloth")]
    assert found == expected + [Mend("record", "condition:flat", "a")] * asked


def sewing(*parts: str, effects: tuple[Effect, ...] = (), **more: Any) -> Any:
    """Return what would lift a finding on sewing two parts of silk and one of wool."""
    made = [made_of("a", "silk", **more), made_of("b", "silk"), made_of("w", "wool")]
    done = [{"test": "test:drop", "part": part, "result": "good"} for part in ("a", "b", "w")]
    of = settler(*made, tests=done)
    damage = DamageFound(id="d", damage="damage:split", parts=[*parts])
    technique = of.catalogue.techniques["technique:sew"]
    candidate = Candidate(
        "d/sew", technique, damage, effects[0] if effects else None, (), effects=effects
    )
    return lambda *lifted_by: of.of_option(candidate, lifted_by)


def test_a_test_that_is_missing_is_asked_for_on_each_part_treated() -> None:
    assert sewing("a", "w")("lw:testMissing") == [
        Mend("test", "test:bath", "a"),
        Mend("test", "test:bath", "w"),
    ]


def test_a_condition_that_is_open_is_settled_by_its_test_or_by_an_entry() -> None:
    assert sewing("a", "b", lies_flat="yes")("lw:unknownCondition") == [
        Mend("test", "test:prick", "a", condition="condition:needle"),
        Mend("test", "test:prick", "b", condition="condition:needle"),
        Mend("record", "condition:flat", "b", condition="condition:flat"),
    ]


def test_what_is_answered_is_not_asked_for_again() -> None:
    assert sewing("a", lies_flat="no", bears_needle="yes")("lw:unknownCondition") == []


def test_an_open_effect_asks_for_what_its_condition_waits_for() -> None:
    effect = Effect(
        "claim:e", "technique:sew", "damage:split", 3, 3, "", "", "", "", (),
        holds_if=("condition:back",),
    )  # fmt: skip

    assert sewing("a", effects=(effect,))("lw:openEffect") == [
        Mend("record", "condition:back", "a", condition="condition:back")
    ]


@pytest.mark.parametrize(
    ("name", "expected"),
    [
        ("lw:beyondSkill", [Mend("means", "lw:beyondSkill")]),
        ("lw:beyondHours", [Mend("means", "lw:beyondHours")]),
        ("lw:lacksEquipment", [Mend("means", "lw:lacksEquipment")]),
        ("lw:Barrier", []),
        ("lw:Parting", []),
        ("lw:curatorAgrees", [Mend("record", "lw:curatorAgrees")]),
        ("test:look", [Mend("test", "test:look", "w")]),
        ("test:prick", [Mend("test", "test:prick", "a"), Mend("test", "test:prick", "b")]),
        ("test:dye-drop", [Mend("test", "test:dye-drop", "w")]),
    ],
)
def test_what_lifts_a_finding_on_an_option_is_of_the_kind_that_its_rule_names(
    name: str, expected: list[Mend]
) -> None:
    """Needle and silk go together, so where only wool is treated the silk is pricked elsewhere."""
    assert sewing("w")(name) == expected


def test_a_test_is_made_on_those_parts_treated_on_which_it_means_something() -> None:
    assert sewing("w", "b")("test:prick") == [Mend("test", "test:prick", "b")]


def test_what_work_before_leaves_to_prove_is_proved_where_the_work_was_done() -> None:
    turtle = HANDMADE + "technique:line a lw:Technique ; lw:leavesToProve condition:needle ."
    of = settler(made_of("a", "silk"), made_of("b", "silk"), turtle=turtle)
    line, sew = (of.catalogue.techniques[f"technique:{one}"] for one in ("line", "sew"))
    damage = DamageFound(id="d", damage="damage:split", parts=["a"])
    acts = (Act(line, "condition:flat", ("b", "a")), Act(sew, "condition:flat", ("a",)))
    course = Candidate("d/sew", sew, damage, None, (), acts)

    assert of.of_option(course, ("lw:waitsForWork",)) == [Mend("test", "test:prick", "b")]
    assert of.of_option(replace(course, acts=acts[1:]), ("lw:waitsForWork",)) == []


def test_each_condition_needs_its_own_test_and_any_of_one_will_do() -> None:
    def view(what: str, condition: str) -> MendView:
        return MendView(Remedy.TEST, what, what, "a", "", condition)

    one, two = [view("prick", "needle"), view("strength", "needle")], [view("closing", "closes")]

    assert each_needed([*one, *two]) == [one, two]
    assert settled_by(one) == ("Any of", ["prick", "strength"])
    assert settled_by([*one, *two]) == (
        "Each of",
        ["“needle”: prick, or strength", "“closes”: closing"],
    )
    assert next(iter(settling([*one, *two]))) == "“needle”: prick"
    assert settled_by([]) == ("Any of", [])


def test_a_closure_is_tried_once_in_a_piece_and_answers_for_all_of_it(
    adviser: Adviser, demo: Callable[[str], Case]
) -> None:
    """Common practice: a skirt with tiers and lining has one waist to close."""
    case = demo("festival-dancer")

    def tried(*parts: str) -> str:
        done = [
            {"test": test, "part": part, "result": "good"}
            for test, where in (
                ("test:handling-strength", [part.id for part in case.parts]),
                ("test:closure-trial", parts),
            )
            for part in where
        ]
        then = changed(case, adviser, lambda data: data["tests"].extend(done))
        figure = "need-carried-on-figure/padded-figure"
        return next(o.verdict for o in adviser.weigh(then).options() if o.id == figure)

    assert tried("skirt", "fastenings", "belt") == "accepted"
    assert tried("skirt", "fastenings") == "undecided"
    assert tried("top-tier", "lining", "belt") == "undecided"


def test_a_needle_is_tried_on_the_cloth_that_carries_a_hook(
    adviser: Adviser, demo: Callable[[str], Case]
) -> None:
    case = demo("festival-dancer")
    option = "need-closed/substitute-fastening"

    def open_still(part: str) -> list[str]:
        done = {"test": "test:needle-prick", "part": part, "result": "good"}
        then = changed(case, adviser, lambda data: data["tests"].append(done))
        found = next(o for o in adviser.weigh(then).options() if o.id == option)
        return [m.condition for f in found.findings for m in f.mends]

    assert "bears a needle" in open_still("lining")
    assert "bears a needle" not in open_still("bodice")


def test_a_rule_on_the_whole_object_asks_of_all_its_cloth_that_is_still_open(
    adviser: Adviser, demo: Callable[[str], Case]
) -> None:
    """Underpinnings treat the tiers alone, and skirt, lining and belt are handled with them."""
    case, option = demo("festival-dancer"), "need-held-out/corset-underpinning"
    open_still = {p.id for p in case.parts if p.bears_handling is Tri.UNKNOWN}
    answer = next(o for o in adviser.weigh(case).options() if o.id == option)
    rule = "rule:handling-trial-before-dressing-or-hanging"
    (found,) = (f for f in answer.findings if f.rule == rule)

    assert {m.part for m in found.mends} == {"skirt", "lining", "belt"}
    assert open_still - {"skirt", "lining", "belt"} == {"sequins", "braid", "fastenings"}
