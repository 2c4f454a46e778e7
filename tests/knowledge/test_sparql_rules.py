"""Rules of a collection that need SPARQL run on pySHACL beside the others, on the same case."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest

from leastwise.graph import Adviser, Case, KnowledgeError, load_adviser
from leastwise.graph.authoring.check_knowledge import Checker
from leastwise.graph.names import BASE, PREFIXES

pytestmark = pytest.mark.slow  # pySHACL reads the whole knowledge

HEAD = "".join(f"@prefix {prefix}: <{iri}> .\n" for prefix, iri in PREFIXES.items()) + (
    f"@prefix flagged: <{BASE}example/flagged/> .\n@prefix passing: <{BASE}example/passing/> .\n"
)
#: More than two agents on one part by one option: Core can't count across exposures.
RULE = """
rule:house-many-agents a sh:NodeShape ;
    sh:targetClass lw:Part ;
    sh:sparql [ sh:select "SELECT $this WHERE { $this a lw:Part . QUERY }" ] ;
    sh:severity sh:Info ;
    lw:verdictEffect lw:records ;
    lw:theme "record" ;
    sh:message "Several materials meet in {part}: draw them in section."@en .

flagged:house-many-agents a lw:Part ; lw:constituent [ lw:material material:silk ] ,
    [ lw:material material:wool ] .
passing:house-many-agents a lw:Part ; lw:constituent [ lw:material material:silk ] .
"""
COUNT = (
    "{ SELECT $this (COUNT(DISTINCT ?m) AS ?n) WHERE { $this lw:constituent/lw:material ?m } "
    "GROUP BY $this } FILTER (?n > 1)"
)


@pytest.fixture
def house(tmp_path: Path) -> Callable[[str], Path]:
    def write(query: str, rule: str = RULE) -> Path:
        (tmp_path / "rules").mkdir(exist_ok=True)
        text = HEAD + rule.replace("QUERY", query)
        (tmp_path / "rules" / "house.ttl").write_text(text, "utf-8")
        return tmp_path

    return write


def said(adviser: Adviser, case: Case) -> set[str]:
    answer = adviser.weigh(case)
    found = [*answer.record, *(f for o in answer.options() for f in o.findings)]
    return {f.part for f in found if f.rule == "rule:house-many-agents"}


def test_a_rule_that_counts_speaks_of_the_parts_it_counts_in(
    house: Callable[[str], Path], demo: Callable[[str], Case], cache: Path
) -> None:
    case = demo("festival-dancer")
    expected = {p.id for p in case.parts if len({m.material for m in p.materials}) > 1}
    assert expected
    assert expected != {p.id for p in case.parts}

    assert said(load_adviser([house(COUNT)], cache=cache), case) == expected


def test_its_examples_are_asked_of_it(house: Callable[[str], Path], checker: Checker) -> None:
    assert checker.check([house(COUNT)])[0] == []

    (fault,) = checker.check([house(COUNT.replace("> 1", "> 2"))])[0]
    assert "lets pass its example flagged:house-many-agents" in fault.what


@pytest.mark.parametrize(
    "query", ["no SPARQL at all {", "SERVICE <http://127.0.0.1:9/> { ?s ?p ?o }"]
)
def test_a_query_that_can_not_be_asked_is_told_with_its_rule(
    house: Callable[[str], Path], checker: Checker, query: str, cache: Path
) -> None:
    folder = house(query)

    faults = checker.check([folder])[0]

    assert any(f.subject == "rule:house-many-agents" and f.blocking for f in faults)
    with pytest.raises(KnowledgeError):
        load_adviser([folder], cache=cache)


def test_the_shipped_rules_need_none(adviser: Adviser) -> None:
    assert not adviser.rules.in_sparql
    assert adviser.rules.flagged_in_sparql(adviser.knowledge.triples) == []
