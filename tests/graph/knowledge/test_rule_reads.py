"""Which tests a rule reads: those it names, or all where it asks in another way."""

from __future__ import annotations

import pytest

from leastwise.graph import Adviser
from leastwise.graph.knowledge.rule_reads import TestReading
from tests.graph.handmade import rule_book

RULE = """
rule:one a sh:NodeShape ; sh:targetClass lw:Option ; lw:verdictEffect lw:leavesUndecided ;
    sh:severity sh:Warning ; sh:message "One."@en ; lw:liftedBy test:of-no-account ;
    sh:not [ sh:and (
        [ sh:property [ sh:path lw:technique ; sh:hasValue technique:washing ] ]
        %s
    ) ] .
"""
NAMED = "sh:hasValue test:rub-dry"
ONE_OF = "sh:qualifiedMinCount 1 ; sh:qualifiedValueShape [ sh:in ( test:rub-dry test:rub-wet ) ]"


def reading(asked: str) -> tuple[TestReading, ...]:
    return rule_book(RULE % asked).reads_tests or ()


def prop(path: str, asked: str) -> str:
    return f"[ sh:property [ sh:path {path} ; {asked} ] ]"


@pytest.mark.parametrize(
    ("asked", "tests", "elsewhere"),
    [
        (prop("( lw:part lw:testedGood )", NAMED), {"rub-dry"}, False),
        (prop("( lw:part lw:testedBad )", ONE_OF), {"rub-dry", "rub-wet"}, False),
        (prop("( lw:part lw:testedGood )", f"sh:minCount 1 ; {NAMED}"), {"rub-dry"}, False),
        (prop("( lw:case lw:hasPart lw:testedGood )", NAMED), {"rub-dry"}, True),
        (
            prop(
                "( lw:part [ sh:inversePath lw:part ] )",
                "sh:qualifiedMinCount 1 ; sh:qualifiedValueShape [ sh:and ("
                f"{prop('lw:test', NAMED)} {prop('lw:result', 'sh:hasValue lw:good')} ) ]",
            ),
            {"rub-dry"},
            False,
        ),
    ],
)
def test_a_rule_reads_the_tests_it_names(asked: str, tests: set[str], elsewhere: bool) -> None:
    (one,) = reading(asked)

    assert one.tests == {f"test:{name}" for name in tests}
    assert (one.any_test, one.elsewhere, one.on) == (False, elsewhere, "lw:Option")
    assert one.may_speak_of({"technique": {"technique:washing", "technique:wet-cleaning"}})
    assert not one.may_speak_of({"technique": {"technique:overlay"}})


@pytest.mark.parametrize(
    "asked",
    [
        prop("( lw:part lw:testedGood )", "sh:minCount 1"),
        prop("( lw:part lw:testedGood )", "sh:maxCount 0"),
        prop("( lw:part lw:testedGood )", "sh:minCount 1 ; sh:in ( test:rub-dry )"),
        prop("( lw:part lw:testedGood )", "sh:minCount 2 ; sh:hasValue test:rub-dry"),
        prop("( lw:part lw:testedGood rdf:type )", "sh:hasValue lw:Test"),
        prop("( lw:part [ sh:zeroOrMorePath lw:testedGood ] )", NAMED),
        prop("( lw:case lw:hasTest lw:result )", "sh:hasValue lw:bad"),
        prop("( lw:part [ sh:inversePath lw:part ] )", "sh:minCount 4"),
        prop("( lw:part [ sh:inversePath lw:part ] lw:result )", "sh:hasValue lw:bad"),
        prop("lw:part", "sh:equals lw:testedGood"),
    ],
)
def test_a_rule_that_asks_in_another_way_reads_every_test(asked: str) -> None:
    (one,) = reading(asked)

    assert one.any_test
    assert one.elsewhere


def test_a_rule_that_asks_for_no_test_reads_none() -> None:
    assert reading(prop("( lw:part lw:bears )", "sh:hasValue damage:tear")) == ()


def test_no_shipped_rule_reads_every_test(adviser: Adviser) -> None:
    found = adviser.rules.reads_tests

    assert found
    assert [one.rule for one in found if one.any_test] == []
