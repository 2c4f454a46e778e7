"""What a test found is believed: what it identified is certain, what did nothing is no option."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import pytest

from leastwise.graph import Adviser, Case
from leastwise.graph.weighing.tested import as_tested

MakeCase = Callable[..., Case]
PLAIN = {"id": "collar", "name": "collar", "lies_flat": "yes", "reverse_reachable": "yes"}


def part(**headings: Any) -> list[dict[str, Any]]:
    return [PLAIN | headings]


def found(case: Case, adviser: Adviser, heading: str = "fibre") -> dict[str, str]:
    """Return the materials of the collar under a heading as they are weighed."""
    (one,) = as_tested(case, adviser.knowledge).case.parts
    return {m.material: m.identified for m in one.materials if m.heading == heading}


def test(what: str, **said: Any) -> dict[str, Any]:
    return {"test": what, "part": "collar"} | said


test.__test__ = False  # type: ignore[attr-defined]  # a maker, no test
SILK = test("fibre-microscopy", identified="silk")


@pytest.mark.parametrize(
    "fibre",
    [
        "unknown",
        "not-examined",
        {"is": "silk", "identified": "presumed"},
        {"is": "wool", "identified": "presumed"},
        {"is": "protein-fibre"},
        {"one_of": ["silk", {"is": "viscose-rayon", "share": 0.5}]},
        {"one_of": ["wool", "protein-fibre"]},
    ],
)
def test_what_a_test_identified_becomes_the_fibre_of_the_part(
    fibre: Any, adviser: Adviser, make_case: MakeCase
) -> None:
    case = make_case(parts=part(fibre=fibre), tests=[SILK])

    assert found(case, adviser) == {"material:silk": "certain"}


def test_what_is_certain_stays_and_another_thing_found_is_added(
    adviser: Adviser, make_case: MakeCase
) -> None:
    case = make_case(parts=part(fibre={"is": "cotton", "identified": "certain"}), tests=[SILK])

    assert found(case, adviser) == {"material:cotton": "certain", "material:silk": "certain"}


def test_two_fibres_that_it_might_be_are_left_as_they_are(
    adviser: Adviser, make_case: MakeCase
) -> None:
    two = [{"is": "cotton", "identified": "presumed"}, {"is": "wool", "identified": "presumed"}]
    case = make_case(parts=part(fibre=two), tests=[SILK])

    assert found(case, adviser) == {
        "material:cotton": "presumed",
        "material:wool": "presumed",
        "material:silk": "certain",
    }


def test_a_test_of_one_colour_settles_that_colour_only(
    adviser: Adviser, make_case: MakeCase
) -> None:
    case = make_case(
        parts=part(fibre="silk", colour=[{"look": "red"}, {"look": "blue"}]),
        tests=[test("dye-chromatography", colour="red", identified="madder")],
    )

    assert found(case, adviser, "colour") == {
        "material:madder": "certain",
        "material:dye-unidentified": "unknown",
    }


def test_beads_that_weep_are_no_longer_unexamined(adviser: Adviser, make_case: MakeCase) -> None:
    read = test("bead-ph-strip", reading={"value": 9, "unit": "pH"})
    case = make_case(parts=part(fibre="silk", components="glass-beads"), tests=[read])

    assert found(case, adviser, "components") == {"material:glass-beads-weeping": "certain"}


@pytest.mark.parametrize(
    ("reading", "result"),
    [
        ({"value": 5, "unit": "grade"}, "good"),
        ({"value": 4.5, "unit": "Grey scale"}, "good"),
        ({"value": 4, "unit": "grade"}, "inconclusive"),
        ({"value": 3.5, "unit": "grade"}, "bad"),
        ({"value": 3.5, "unit": "grade", "plus_minus": 0.5}, "not-judged"),
        ({"value": 3, "unit": "lux"}, "not-judged"),
    ],
)
def test_a_reading_counts_as_the_result_on_its_side_of_the_limit(
    reading: dict[str, Any], result: str, adviser: Adviser, make_case: MakeCase
) -> None:
    case = make_case(
        parts=part(fibre="silk", colour="madder"),
        tests=[test("colourfastness-water", reading=reading)],
    )
    told = as_tested(case, adviser.knowledge)

    assert told.case.tests[0].result == result
    assert bool(told.settled) is (result != "not-judged")


def test_a_reading_never_overrules_what_somebody_judged(
    adviser: Adviser, make_case: MakeCase
) -> None:
    judged = test("colourfastness-water", reading={"value": 2, "unit": "grade"}, result="good")
    case = make_case(parts=part(fibre="silk", colour="madder"), tests=[judged])

    assert as_tested(case, adviser.knowledge).case.tests[0].result == "good"


def test_a_deposit_is_of_what_was_found(adviser: Adviser, make_case: MakeCase) -> None:
    glue = {"id": "glue", "damage": "adhesive-residue", "parts": ["collar"]}
    case = make_case(
        parts=part(fibre="silk"),
        damages=[glue],
        tests=[test("iodine", identified="starch-paste")],
    )
    told = as_tested(case, adviser.knowledge)

    assert told.case.damages[0].deposit == "starch"
    assert found(case, adviser, "components") == {}
    assert "starch" in told.settled[0].says


def test_soil_of_no_told_kind_is_what_was_found(adviser: Adviser, make_case: MakeCase) -> None:
    soil = {"id": "grey", "damage": "soil-unspecified", "parts": ["collar"]}
    case = make_case(
        parts=part(fibre="silk"),
        damages=[soil],
        tests=[test("soil-identification", damage="grey", identified="damage:soot")],
    )

    assert as_tested(case, adviser.knowledge).case.damages[0].damage == "damage:soot"


def test_a_record_without_findings_is_weighed_as_it_is(
    adviser: Adviser, make_case: MakeCase
) -> None:
    case = make_case(parts=part(fibre="silk"), tests=[test("fibre-microscopy", result="good")])

    assert as_tested(case, adviser.knowledge).case is case


def test_the_answer_counts_what_was_found_and_says_so(
    adviser: Adviser, make_case: MakeCase
) -> None:
    """Ketones on a fibre that nobody has named wait for a test; on cotton they don't."""
    stain = {"id": "wax", "damage": "stain", "parts": ["collar"], "deposit": "wax"}
    before = make_case(parts=part(colour="none"), damages=[stain])
    after = make_case(
        parts=part(colour="none"),
        damages=[stain],
        tests=[test("fibre-microscopy", identified="cotton")],
    )

    def waits(case: Case) -> set[str]:
        return {
            f.material
            for o in adviser.weigh(case).options()
            for f in o.findings
            if f.effect == "leavesUndecided"
        }

    assert "material:fibre-unidentified" in waits(before)
    assert "material:fibre-unidentified" not in waits(after)
    said = [one.says for one in adviser.weigh(after).settled]
    assert said == [
        "Fibre microscopy showed cotton on collar, recorded as unidentified fibre: "
        "weighed as certain."
    ]


# -- what was tried and did nothing


def trial(agent: str, effect: str) -> dict[str, Any]:
    return test("cleaning-trial", agent=agent, effect=effect, damage="wax")


def techniques(case: Case, adviser: Adviser) -> dict[str, int]:
    """Return technique -> how well it answers the stain, as the record stands."""
    steps = adviser.steps(case)
    return {c.technique.id.partition(":")[2]: c.efficacy for c in steps.candidates if c.effect}


def test_an_agent_that_did_nothing_takes_the_effect_of_its_technique(
    adviser: Adviser, make_case: MakeCase
) -> None:
    stain = {"id": "wax", "damage": "stain", "parts": ["collar"], "deposit": "ink"}

    def with_tests(*done: dict[str, Any]) -> dict[str, int]:
        case = make_case(parts=part(fibre="silk", colour="none"), damages=[stain], tests=list(done))
        return techniques(case, adviser)

    untried = with_tests()
    tried = with_tests(trial("solvent-alcohol", "nothing"))
    both = with_tests(trial("solvent-alcohol", "nothing"), trial("solvent-alcohol", "works"))

    assert untried["local-solvent-alcohol"] > 0
    assert tried["local-solvent-alcohol"] == 0
    assert both["local-solvent-alcohol"] == untried["local-solvent-alcohol"]
    others = {one for one, efficacy in untried.items() if "alcohol" not in one and efficacy}
    assert any(tried[one] == untried[one] for one in others)
    # a bath also brings water and detergent, which nobody has tried
    assert tried.get("immersion-washing") == untried.get("immersion-washing")


def test_what_did_nothing_to_one_damage_may_work_on_another(
    adviser: Adviser, make_case: MakeCase
) -> None:
    stains = [
        {"id": one, "damage": "stain", "parts": ["collar"], "deposit": "ink"}
        for one in ("wax", "ink")
    ]
    case = make_case(
        parts=part(fibre="silk", colour="none"),
        damages=stains,
        tests=[trial("solvent-alcohol", "nothing")],
    )
    answered = {c.id: c.efficacy for c in adviser.steps(case).candidates}

    assert answered["wax/local-solvent-alcohol"] == 0
    assert answered["ink/local-solvent-alcohol"] > 0


def test_the_reason_stands_in_the_tree_of_the_option(adviser: Adviser, make_case: MakeCase) -> None:
    stain = {"id": "wax", "damage": "stain", "parts": ["collar"], "deposit": "ink"}
    case = make_case(
        parts=part(fibre="silk", colour="none"),
        damages=[stain],
        tests=[trial("solvent-alcohol", "nothing")],
    )
    option = next(o for o in adviser.weigh(case).options() if o.id == "wax/local-solvent-alcohol")

    assert "does something in a trial" in str(option.reasons)


# -- what nobody has examined


@pytest.mark.parametrize(
    ("heading", "technique", "tells"),
    [
        ("finish", "steam", "a drop test tells"),
        ("structure", "immersion-washing", "try whether it shrinks"),
        ("components", "immersion-washing", "look through it"),
    ],
)
def test_a_heading_that_nobody_examined_is_a_caution_with_the_test_that_tells(
    heading: str, technique: str, tells: str, adviser: Adviser, make_case: MakeCase
) -> None:
    known = {"fibre": "silk", "colour": "none", "finish": "none", "components": "none"}
    rule = f"rule:{heading}-not-examined"

    def said(stated: str) -> list[tuple[str, str]]:
        case = make_case(
            parts=part(**(known | {"structure": "plain-weave", heading: stated})),
            damages=[{"id": "soil", "damage": "ingrained-soil", "parts": ["collar"]}]
            if heading != "finish"
            else [{"id": "fold", "damage": "crease", "parts": ["collar"]}],
        )
        return [
            (f.effect, f.message)
            for o in adviser.weigh(case).options()
            if o.technique == f"technique:{technique}"
            for f in o.findings
            if f.rule == rule
        ]

    ((effect, message),) = said("not-examined")
    assert effect == "cautions"
    assert tells in message
    assert said("none") == []
