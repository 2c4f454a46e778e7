"""Findings: to whom they belong, in which words and which order, alone and in a batch."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from typing import Any

import pytest

from leastwise.graph import Adviser, Case
from leastwise.graph.case.record import DamageFound
from leastwise.graph.knowledge.concepts import Effect, Sensitivity
from leastwise.graph.weighing.candidates import Candidate
from leastwise.graph.weighing.conditions import ConditionReader
from leastwise.graph.weighing.contacts import Reach
from leastwise.graph.weighing.exposure import Exposure
from leastwise.graph.weighing.findings import CaseData, Finding, find, find_all
from tests.conftest import DEMOS
from tests.graph.handmade import case, catalogue, made_of, rule, rule_book


def test_a_batch_says_of_each_case_what_it_says_of_it_alone(
    adviser: Adviser, demo: Callable[[str], Case]
) -> None:
    batch = [adviser.steps(demo(name)).data for name in DEMOS]
    alone = [find(data, adviser.rules) for data in batch]
    assert all(found for found in alone)
    assert find_all(batch, adviser.rules) == alone
    assert find_all(batch[::-1], adviser.rules) == alone[::-1]


def test_a_case_without_options_takes_its_place_in_a_batch(
    adviser: Adviser, make_case: Callable[..., Case]
) -> None:
    empty = make_case(damages=[]).model_copy(update={"id": "undamaged"})
    batch = [adviser.steps(case).data for case in (make_case(), empty)]
    assert find_all(batch, adviser.rules) == [find(data, adviser.rules) for data in batch]


def test_no_case_makes_no_findings(adviser: Adviser) -> None:
    assert find_all([], adviser.rules) == []


KNOWLEDGE = """
    agent:water skos:prefLabel "water"@en .  agent:heat skos:prefLabel "heat"@en .
    material:silk skos:prefLabel "silk"@en .
    agent:acids skos:prefLabel "acids"@en .  material:beads skos:prefLabel "beads"@en .
    axis:a a lw:Axis .
    damage:split skos:prefLabel "split"@en .
    condition:yes skos:prefLabel "lies flat"@en ; lw:partField "lies_flat" .
    condition:no skos:prefLabel "bears handling"@en ; lw:partField "bears_handling" .
    condition:no-2 skos:prefLabel "back reached"@en ; lw:partField "reverse_reachable" .
    condition:open skos:prefLabel "bears a needle"@en ; lw:partField "bears_needle" .
    test:prick a lw:Test ; skos:prefLabel "needle trial"@en .
    test:look a lw:Test ; skos:prefLabel "a look"@en .
    technique:pack a lw:Technique ; skos:prefLabel "pack"@en ; lw:equipmentKey "sheet" , "lamp" ;
        lw:needsTest test:prick , test:look ;
        lw:requires condition:yes , condition:no , condition:no-2 , condition:open .
    technique:bare a lw:Technique ; skos:prefLabel "bare work"@en ; lw:requires condition:open .
"""
RULES = """
    rule:stop a sh:NodeShape ; sh:targetClass lw:Exposure ; sh:severity sh:Violation ;
        lw:verdictEffect lw:defeats ; sh:message "{Agent} harms {material} of {part}{via}."@en ;
        sh:not [ sh:property [ sh:path lw:expectedHarm ; sh:minCount 1 ; sh:minInclusive 4 ] ] .
    rule:ask a sh:NodeShape ; sh:targetClass lw:Exposure ; sh:severity sh:Warning ;
        lw:verdictEffect lw:leavesUndecided ; sh:message "{agent} by {technique} may harm."@en ;
        sh:not [ sh:property [ sh:path lw:expectedHarm ; sh:minCount 1 ; sh:minInclusive 3 ] ] .
    rule:care a sh:NodeShape ; sh:targetClass lw:Exposure ; sh:severity sh:Info ;
        lw:verdictEffect lw:cautions ; sh:message "Watch {material}."@en ;
        sh:not [ sh:property [ sh:path lw:expectedHarm ; sh:minCount 1 ; sh:minInclusive 0 ] ] .
    rule:contact-not-recorded a sh:NodeShape ; sh:targetClass lw:Nothing ;
        sh:severity sh:Warning ; lw:verdictEffect lw:leavesUndecided ;
        sh:message "How does {part} touch?"@en .
    rule:option a sh:NodeShape ; sh:targetClass lw:Option ; sh:severity sh:Info ;
        lw:verdictEffect lw:records ; sh:message "{Technique} on {part}."@en ;
        sh:not [ sh:property [ sh:path lw:technique ; sh:hasValue technique:pack ] ] .
    rule:part a sh:NodeShape ; sh:targetClass lw:Part ; sh:severity sh:Info ;
        lw:verdictEffect lw:cautions ; sh:message "{Part} is of silk, {nothing}."@en ;
        sh:not [ sh:property [ sh:path lw:material ; sh:minCount 1 ] ] .
    rule:record a sh:NodeShape ; sh:targetClass lw:Case ; sh:severity sh:Info ;
        lw:verdictEffect lw:records ; sh:message "{object} has no date."@en ;
        sh:not [ sh:property [ sh:path lw:dated ; sh:maxCount 0 ] ] .
    rule:knowledge a sh:NodeShape ; sh:targetClass lw:Axis ; sh:severity sh:Info ;
        lw:verdictEffect lw:records ; sh:message "Speaks of no case."@en ;
        sh:not [ sh:property [ sh:path lw:graded ; sh:maxCount 0 ] ] .
    lw:NotARule a sh:NodeShape ; sh:targetClass lw:Case ; sh:message "x"@en ;
        sh:not [ sh:property [ sh:path lw:dated ; sh:maxCount 0 ] ] .
"""
BOOK = rule_book(RULES)
SPLIT = DamageFound(id="d", damage="damage:split", parts=["a", "b"])


def exposure(
    number: int = 0, harm: int = 4, part: str = "a", option: str = "d/pack", **more: Any
) -> Exposure:
    way = {"a": ("a",), "b": ("a", "b"), "c": ("a", "b", "c")}[part]
    e = Exposure(
        f"{option}/{number}", option, "technique:pack", "agent:water", 3, part, "material:silk",
        "certain", part == "a", Reach(part, 3, way), True, Sensitivity(harm, ("claim:x",)), harm,
        "known", "untested", (),
    )  # fmt: skip
    return e._replace(**more)


def data(*exposures: Exposure, name: str = "handmade", **more: Any) -> CaseData:
    """Return a case of three parts with a pack on a split, and what the pack brings."""
    fields = {"lies_flat": "yes", "bears_handling": "no", "reverse_reachable": "no"}
    parts = [made_of(one, "silk", **fields) for one in ("a", "b", "c")]
    tests = [{"test": "test:prick", "part": one, "result": "good"} for one in ("a", "b")]
    means = {"equipment": ["sheet"], "hours": 500, "skill": "specialist"}
    made = case(*parts, id=name, tests=tests, means=means)
    known = catalogue(KNOWLEDGE)
    pack = Candidate("d/pack", known.techniques["technique:pack"], SPLIT, None, ())
    bare = Candidate("d/bare", known.techniques["technique:bare"], SPLIT, None, ())
    by_option = {"d/pack": exposures} if exposures else {}
    found = CaseData(made, known, (pack, bare), by_option, ConditionReader(made, known))
    return replace(found, **more)


def said(found: dict[str, tuple[Finding, ...]]) -> dict[str, list[tuple[str, str]]]:
    return {one: [(f.rule.id, f.message) for f in some] for one, some in found.items()}


def test_findings_stand_by_option_and_those_on_parts_and_the_record_by_themselves() -> None:
    found = find(data(exposure()), BOOK)

    assert [*found] == ["", "d/pack"]
    assert said(found)[""] == [
        ("rule:part", "The a is of silk, {nothing}."),
        ("rule:part", "The b is of silk, {nothing}."),
        ("rule:part", "The c is of silk, {nothing}."),
        ("rule:record", "An invented object has no date."),
    ]
    assert [f.focus for f in found[""]] == ["part/a", "part/b", "part/c", "record"]
    assert [f.part for f in found[""]] == ["a", "b", "c", ""]


def test_a_finding_on_an_option_names_its_technique_and_all_parts_treated() -> None:
    found = find(data(), BOOK)

    (one,) = found["d/pack"]
    assert (one.rule.id, one.focus) == ("rule:option", "option/d/pack")
    assert (one.message, one.part, one.exposure) == ("Pack on the a and the b.", "", None)
    assert "d/bare" not in found


def test_findings_on_an_option_stand_gravest_first_then_by_rule_and_focus() -> None:
    flagged = [exposure(0, 1), exposure(1, 4, material="material:x"), exposure(2, 3)]
    found = find(data(*flagged), BOOK)["d/pack"]

    assert [(f.rule.id, f.focus) for f in found] == [
        ("rule:stop", "exposure/d/pack/1"),
        ("rule:ask", "exposure/d/pack/1"),
        ("rule:ask", "exposure/d/pack/2"),
        ("rule:care", "exposure/d/pack/0"),
        ("rule:care", "exposure/d/pack/1"),
        ("rule:care", "exposure/d/pack/2"),
        ("rule:option", "option/d/pack"),
    ]


def test_a_finding_on_an_exposure_carries_what_it_speaks_of() -> None:
    e = exposure(part="c")
    found = find(data(exposure(1, 0), e), BOOK)["d/pack"][0]

    assert (found.part, found.material, found.agent) == ("c", "material:silk", "agent:water")
    assert (found.via, found.claims, found.exposure) == ("b", ("claim:x",), e)


@pytest.mark.parametrize(
    ("e", "message"),
    [
        (exposure(), "Water harms silk of the a."),
        (exposure(part="b"), "Water harms silk of the b, coming from the a."),
        (exposure(part="c"), "Water harms silk of the c, coming from the a by way of the b."),
        (exposure(part="b", reach=Reach("b", 3, ("b",))), "Water harms silk of the b."),
        (exposure(part="b", on_target=True), "Water harms silk of the b."),
        (exposure(agent="agent:heat", material="material:odd-thing"),
         "Heat harms odd thing of the a."),
    ],
)  # fmt: skip
def test_the_message_says_which_agent_comes_to_what_and_which_way(
    e: Exposure, message: str
) -> None:
    assert find(data(e), BOOK)["d/pack"][0].message == message


def test_a_message_is_put_into_words_for_each_technique_that_it_names() -> None:
    """Two options bring the same agent to the same place: only the technique tells them apart."""
    by_pack = exposure(0, 3)
    by_bare = exposure(1, 3, option="d/bare", technique="technique:bare")
    made = data(by_pack, exposures={"d/pack": (by_pack,), "d/bare": (by_bare,)})
    found = find(made, BOOK)

    assert found["d/pack"][0].message == "Water by pack may harm."
    assert found["d/bare"][0].message == "Water by bare work may harm."
    assert [*made.all_exposures()] == [by_pack, by_bare]


@pytest.mark.parametrize(
    ("harm", "expected"),
    [(4, ["rule:contact-not-recorded"]), (3, ["rule:contact-not-recorded"]), (1, []), (0, [])],
)
def test_where_no_contact_is_recorded_what_would_matter_comes_down_to_one_question(
    harm: int, expected: list[str]
) -> None:
    e = exposure(0, harm, "b", reach=Reach("b", 3, ("b",), "unknown", recorded=False))
    found = find(data(e), BOOK)["d/pack"]

    assert [f.rule.id for f in found if f.exposure] == expected
    assert all(f.message == "How does the b touch?" for f in found if f.exposure)


def test_a_book_that_asks_no_such_question_lets_the_rule_speak() -> None:
    e = exposure(0, 3, "b", reach=Reach("b", 3, ("b",), "unknown", recorded=False))
    rules = {name: one for name, one in BOOK.rules.items() if "not-recorded" not in name}
    found = find(data(e), replace(BOOK, rules=rules))["d/pack"]

    assert [f.rule.id for f in found if f.exposure] == ["rule:ask"]


def test_a_stopped_exposure_is_seen_by_no_rule() -> None:
    e = exposure(0, 4, "b", reach=Reach("b", 3, ("a", "b"), "yes", "barrier"))

    assert [f.rule.id for f in find(data(e), BOOK)["d/pack"]] == ["rule:option"]


def test_each_case_of_a_batch_gets_its_own_findings_whatever_stands_between() -> None:
    one, none, other = (
        data(exposure(0, 4), exposure(1, 0), name="one"),
        data(name="none"),
        data(exposure(0, 0), exposure(1, 3), exposure(2, 4), name="other"),
    )
    found = find_all([one, none, other], BOOK)

    assert [len(some.get("d/pack", ())) for some in found] == [5, 1, 7]
    assert found == [find(each, BOOK) for each in (one, none, other)]
    assert [[f.exposure for f in some["d/pack"] if f.rule.id == "rule:stop"] for some in found] == [
        [one.exposures["d/pack"][0]],
        [],
        [other.exposures["d/pack"][2]],
    ]


def test_the_terms_of_exposures_are_numbered_in_their_order() -> None:
    made = data(exposure(0), exposure(1), exposure(2))
    terms = made.triples.terms

    assert len(made.exposure_terms) == 3
    assert [terms[n].rpartition("/")[2] for n in made.exposure_terms] == ["0>", "1>", "2>"]


@pytest.mark.parametrize(
    ("message", "expected"),
    [
        ("{Technique}: {damage}.", "Pack: the split."),
        ("On {part}.", "On the a and the b."),
        ("Needs {condition}.", "Needs \u201cbears handling\u201d and \u201cback reached\u201d."),
        ("Lacks {equipment}.", "Lacks lamp."),
        ("Wants {test}.", "Wants a look."),
        ("{Open}|{open}", "|"),
        ("{unheard} of {Unheard}", "{unheard} of {Unheard}"),
    ],
)
def test_the_words_of_an_option_are_filled_in(message: str, expected: str) -> None:
    assert data().finding(rule("cautions", message), "option/d/pack").message == expected


def test_what_the_record_leaves_open_is_named_where_it_denies_nothing() -> None:
    found = data().finding(rule("cautions", "{condition}"), "option/d/bare")

    assert found.message == "\u201cbears a needle\u201d"


def test_the_open_conditions_of_an_effect_are_named() -> None:
    effect = Effect(
        "claim:e", "technique:bare", "damage:split", 3, 3, "", "", "", "", (),
        holds_if=("condition:open", "condition:no"),
    )  # fmt: skip
    made = data()
    pack, bare = made.candidates
    open_one = replace(pack, effect=effect, effects=(effect,), technique=replace(
        pack.technique, requires=()))  # fmt: skip
    found = replace(made, candidates=(open_one, bare)).finding(
        rule("cautions", "{open}"), "option/d/pack"
    )

    assert found.message == "\u201cbears a needle\u201d"


def test_braces_in_a_name_of_the_record_stay_as_they_are() -> None:
    made = data()
    odd = made.case.model_copy(
        update={"object": made.case.object.model_copy(update={"name": "{part}"})}
    )
    found = replace(made, case=odd).finding(rule("records", "{object}; {Object}"), "record")

    assert found.message == "The {part}; The {part}"


def named(made: CaseData, **names: str) -> CaseData:
    """Return the data with other names for its parts."""
    parts = [
        one.model_copy(update={"name": names.get(one.id, one.name)}) for one in made.case.parts
    ]
    return replace(made, case=made.case.model_copy(update={"parts": parts}))


@pytest.mark.parametrize(
    ("parts", "names", "said"),
    [
        (["a", "b"], {}, "The a and the b bear no needle."),
        (["a"], {}, "The a bears no needle."),
        (["a"], {"a": "hooks"}, "The hooks bear no needle."),
        (["b", "a"], {"b": "hooks"}, "The hooks and the a bear no needle."),
        (["b", "a"], {"a": "hooks"}, "The b and the hooks bear no needle."),
    ],
)
def test_the_verb_of_a_sentence_agrees_with_the_parts(
    parts: list[str], names: dict[str, str], said: str
) -> None:
    made = named(data(), **names)
    damage = SPLIT.model_copy(update={"parts": parts})
    pack = replace(made.candidates[0], damage=damage)
    found = replace(made, candidates=(pack,)).finding(
        rule("cautions", "{Part} bears no needle."), "option/d/pack"
    )

    assert found.message == said


@pytest.mark.parametrize(
    ("name", "said"), [("collar", "The collar bears it."), ("cuffs", "The cuffs bear it.")]
)
def test_the_verb_agrees_with_the_name_of_one_part(name: str, said: str) -> None:
    made = named(data(), a=name)

    assert made.finding(rule("cautions", "{Part} bears it."), "part/a").message == said


@pytest.mark.parametrize(
    ("more", "message", "said"),
    [
        ({}, "{Agent} comes here.", "Water comes here."),
        ({"agent": "agent:acids"}, "{Agent} comes here.", "Acids come here."),
        ({}, "{Material} of {part} swells.", "Silk of the a swells."),
        ({"material": "material:beads"}, "{Material} of {part} swells.", "Beads of the a swell."),
        ({"material": "material:beads"}, "{Agent} comes to {material}.", "Water comes to beads."),
        ({"agent": "agent:acids"}, "{Material} swells, as {agent} comes.",
         "Silk swells, as acids come."),
    ],
)  # fmt: skip
def test_the_verb_agrees_with_what_it_speaks_of_and_not_with_what_stands_nearest(
    more: dict[str, str], message: str, said: str
) -> None:
    e = exposure(**more)

    assert data(e).of_exposure(rule("cautions", message), e).message == said


def test_the_verb_agrees_with_the_nearest_name_where_a_part_is_of_several_things() -> None:
    made, e = named(data(exposure()), a="cuffs"), exposure()
    found = made.of_exposure(rule("cautions", "{Material} of {part} swells."), e)

    assert found.message == "Silk of the cuffs swells."
