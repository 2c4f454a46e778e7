"""Every rule flags its flagged examples, and nothing else."""

from __future__ import annotations

from pathlib import Path

import pytest

from leastwise.graph import Adviser
from leastwise.graph.knowledge.turtle import load_triples
from leastwise.graph.names import curie_of
from leastwise.graph.shacl import Triples

SHAPES = Path(__file__).parents[2] / "shapes"
EXAMPLES = sorted((SHAPES / "examples").glob("*.ttl"))
FLAGGED = "<https://w3id.org/leastwise/example/flagged/"
PASSING = "<https://w3id.org/leastwise/example/passing/"


def over(adviser: Adviser, example: Path) -> Triples:
    """Lay an example over the shipped knowledge."""
    mine, _ = load_triples([example], None)
    terms = adviser.knowledge.triples.terms.child()
    s, p, o = (terms.intern_many([mine.terms[i] for i in column]) for column in mine.columns())
    return adviser.knowledge.triples.extended_with(terms, s, p, o)


@pytest.mark.parametrize("example", EXAMPLES, ids=lambda path: path.stem)
def test_a_rule_flags_its_flagged_examples_and_no_other(adviser: Adviser, example: Path) -> None:
    results = adviser.rules.evaluate(over(adviser, example))
    triples, _ = load_triples([example], None)
    subjects = {triples.terms[i] for i in triples.s}
    flagged = {s for s in subjects if s.startswith(FLAGGED)}

    found = {
        row.focus for row in results if curie_of(row.shape) == f"rule:{example.stem}"
    } & subjects

    assert found == flagged
    assert flagged, f"{example.name} shows no case that the rule should flag"
    assert any(s.startswith(PASSING) for s in subjects), f"{example.name} lets nothing pass"


def test_every_rule_has_its_example_file(adviser: Adviser) -> None:
    assert {f"rule:{path.stem}" for path in EXAMPLES} == set(adviser.rules.rules)


def test_there_are_rules_on_every_theme_of_harm(adviser: Adviser) -> None:
    themes = set(adviser.rules.themes)

    assert {
        "moisture",
        "heat",
        "solvent",
        "needle",
        "adhesive",
        "pressure",
        "light",
        "storage",
    } <= themes
    assert {"pests", "people", "significance", "record"} <= themes


def test_every_rule_rests_on_a_claim_that_exists_or_says_practice(adviser: Adviser) -> None:
    claims = set(adviser.knowledge.instances("lw:Claim"))

    for rule in adviser.rules.rules.values():
        assert set(rule.rests_on) <= claims, rule.id


def test_no_violation_rests_on_memory_alone_without_saying_so(adviser: Adviser) -> None:
    k = adviser.knowledge
    for rule in adviser.rules.rules.values():
        bases = {k.object(claim, "lw:basis") for claim in rule.rests_on}
        if rule.severity == "Violation" and bases == {"lw:memory"}:
            assert "safe side" in rule.note, rule.id


def test_every_caution_of_a_rule_has_its_text(adviser: Adviser) -> None:
    for rule in adviser.rules.rules.values():
        for caution in rule.cautions:
            assert adviser.knowledge.text(caution, "skos:definition"), f"{rule.id}: {caution}"


def test_what_protects_people_defers_to_law_and_licensed_practice(adviser: Adviser) -> None:
    k = adviser.knowledge
    protecting = [c for c in k.instances("lw:Caution") if k.text(c, "lw:protects") == "people"]

    assert protecting
    for caution in protecting:
        text = k.text(caution, "skos:definition").lower()
        assert "licensed practice" in text or "licensed" in text, caution


def test_messages_hold_no_placeholder_that_nobody_fills(adviser: Adviser) -> None:
    import re  # noqa: PLC0415

    known = {
        "agent",
        "material",
        "part",
        "via",
        "work",
        "technique",
        "damage",
        "condition",
        "test",
        "equipment",
        "failed",
        "object",
        "open",
    }
    for rule in adviser.rules.rules.values():
        names = {name.lower() for name in re.findall(r"\{(\w+)\}", rule.message)}
        assert names <= known, rule.id
