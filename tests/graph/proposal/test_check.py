"""The check of a proposal: each fault that is put in is found, and what is mended is gone."""

from __future__ import annotations

import json
from typing import Any

import pytest

from leastwise.graph import Adviser
from leastwise.graph.proposal.check import Review, ReviewFinding, review
from leastwise.graph.proposal.received import demo_proposal, parse_proposal, read_proposal

RECORD = {
    "purpose": "proposal", "recorder": "A", "date": "2026-11-21", "identification": "B 1",
    "methods": "eye and lens", "observation": "splits", "interpretation": "light damage",
    "present_condition": "split", "past_treatment": "none evident", "significance": "the last",
    "images_before": "12 views", "materials": ["crepeline"], "hours": 60, "contractual": "no",
    "benefits": "can be shown", "risks": "sheen", "options_considered": ["leave and monitor"],
    "approval": {"written": "yes", "by": "the guild", "date": "2026-11-22"},
}  # fmt: skip


def checked(adviser: Adviser, steps: list[dict[str, Any]], **more: Any) -> Review:
    data = {
        "leastwise_proposal": 1, "id": "p", "title": "P", "demo": True,
        "case": "demo:guild-banner", "steps": steps, "record": RECORD,
    } | more  # fmt: skip
    return review(*parse_proposal(json.dumps(data), adviser.knowledge), adviser)


def of(found: Review, kind: str, level: str = "") -> list[ReviewFinding]:
    return [f for f in found.findings if f.kind == kind and level in ("", f.level)]


def step(damage: str, technique: str, **more: Any) -> dict[str, Any]:
    return {"damage": damage, "technique": technique, "reason": "because"} | more


GOOD = [
    step("dust", "leave-and-monitor"),
    step("splits", "encapsulation"),
    step("shattering", "encapsulation"),
]


def test_a_careful_proposal_leaves_nothing_that_must_be_mended(adviser: Adviser) -> None:
    found = checked(adviser, GOOD)

    assert of(found, "record") == []
    assert [f for f in found.findings if f.level == "must"] == []
    assert of(found, "gentler") == []


def test_a_defeated_option_is_found_with_its_rule_and_claims(adviser: Adviser) -> None:
    found = checked(adviser, [*GOOD[:1], step("splits", "fusible-web"), *GOOD[2:]])

    defeats = of(found, "option", "must")
    assert defeats
    assert {f.about for f in defeats} == {"step 2"}
    assert any(f.rule and f.claims for f in defeats)
    assert set(found.claims) >= {c for f in defeats for c in f.claims}


def test_missing_tests_are_named_with_what_would_settle_them(adviser: Adviser) -> None:
    found = checked(adviser, [step("dust", "screened-vacuum"), *GOOD[1:]])

    tests = of(found, "test", "must")
    assert tests
    assert all(f.would_settle for f in tests)


def test_gentler_options_that_were_not_considered_are_named(adviser: Adviser) -> None:
    data = json.loads(adviser.weigh(read_demo_case(adviser)).as_json())
    splits = next(d for d in data["damages"] if d["id"] == "splits")
    best, chosen = splits["options"][0], "adhesive-patch-heat"
    assert best["verdict"] == "accepted"

    silent = checked(adviser, [GOOD[0], step("splits", chosen), GOOD[2]])
    weighed = checked(
        adviser, [GOOD[0], step("splits", chosen, considered=[best["technique"]]), GOOD[2]]
    )

    assert any(best["label"][1:] in f.message for f in of(silent, "gentler"))
    assert not any(best["label"][1:] in f.message for f in of(weighed, "gentler"))


def read_demo_case(adviser: Adviser) -> Any:
    text = json.dumps(
        {"leastwise_proposal": 1, "id": "p", "title": "P", "case": "demo:guild-banner"}
    )
    return parse_proposal(text, adviser.knowledge)[1]


def test_a_wrong_order_is_found_and_the_right_one_is_not(adviser: Adviser) -> None:
    wrong = checked(adviser, [GOOD[1], GOOD[2], step("dust", "screened-vacuum")])
    right = checked(adviser, [step("dust", "screened-vacuum"), GOOD[1], GOOD[2]])

    told = [*of(wrong, "order"), *of(wrong, "conflict")]
    assert told
    assert all(f.because and f.claims and f.rule.startswith("precedence:") for f in told)
    assert [*of(right, "order"), *of(right, "conflict")] == []


def test_a_damage_that_nobody_decided_is_named(adviser: Adviser) -> None:
    found = checked(adviser, GOOD[1:])

    decisions = [f.about for f in of(found, "decision")]
    assert [one for one in decisions if not one.startswith("need-")] == ["dust"]
    assert "need-carried-slanted" in decisions  # a proposal for display names its mount


@pytest.mark.parametrize(
    ("field", "level", "claim"),
    [
        ("observation", "must", "claim:E-267"),
        ("methods", "must", "claim:E-267"),
        ("images_before", "must", "claim:E-272"),
        ("materials", "must", "claim:E-269"),
        ("hours", "must", "claim:E-269"),
        ("approval", "must", "claim:E-270"),
        ("benefits", "should", "claim:E-271"),
        ("risks", "should", "claim:E-271"),
        ("options_considered", "should", "claim:E-261"),
    ],
)
def test_a_missing_element_is_named_with_the_claim_that_asks_for_it(
    adviser: Adviser, field: str, level: str, claim: str
) -> None:
    found = checked(adviser, GOOD, record={k: v for k, v in RECORD.items() if k != field})

    (missing,) = of(found, "record")
    assert (missing.about, missing.level) == (field, level)
    assert claim in missing.claims
    assert found.claims[claim].statement == missing.because


@pytest.mark.parametrize("field", ["purpose", "recorder", "date", "identification"])
def test_what_the_case_says_need_not_be_said_again(adviser: Adviser, field: str) -> None:
    found = checked(adviser, GOOD, record={k: v for k, v in RECORD.items() if k != field})

    assert of(found, "record") == []


def test_a_cost_is_due_only_where_the_work_is_contractual(adviser: Adviser) -> None:
    def level(contractual: str) -> list[str]:
        found = checked(adviser, GOOD, record=RECORD | {"contractual": contractual})
        return [f.level for f in of(found, "record")]

    assert (level("yes"), level("no"), level("unknown")) == (["must"], [], ["note"])


def test_approval_by_nobody_is_no_approval(adviser: Adviser) -> None:
    found = checked(adviser, GOOD, record=RECORD | {"approval": {"written": "yes"}})

    assert [f.about for f in of(found, "record")] == ["approval"]


def test_a_report_has_to_hold_more_than_a_plan(adviser: Adviser) -> None:
    found = checked(adviser, GOOD, stage="report")

    assert {f.about for f in of(found, "record")} >= {
        "actions",
        "images_after",
        "variations",
        "added_or_removed",
        "final_state",
        "future_care",
    }


def test_compensation_is_due_only_where_there_is_some(adviser: Adviser) -> None:
    filled = checked(adviser, [*GOOD, step("splits", "dyed-fill")])

    assert "compensation" in {f.about for f in of(filled, "record")}
    assert "compensation" not in {f.about for f in of(checked(adviser, GOOD), "record")}


def test_a_step_without_a_reason_or_a_known_effect_is_named(adviser: Adviser) -> None:
    found = checked(adviser, [step("dust", "padded-hanger", reason=" "), *GOOD[1:]])

    assert [f.about for f in of(found, "record")] == ["step 1"]
    assert any("holds nothing" in f.message for f in of(found, "option"))


def test_a_low_estimate_and_too_few_hours_are_told(adviser: Adviser) -> None:
    found = checked(adviser, GOOD, record=RECORD | {"hours": 1})

    assert any("below the" in f.message for f in of(found, "means", "note"))


def test_the_same_proposal_gives_the_same_bytes(adviser: Adviser) -> None:
    proposal, case = read_proposal(demo_proposal("hasty-dancer"), adviser.knowledge)

    first = review(proposal, case, adviser)

    assert review(proposal, case, adviser).as_json() == first.as_json()
    assert {"option", "test", "order", "gentler", "decision", "record"} <= {
        f.kind for f in first.findings
    }
    levels = [("must", "should", "note").index(f.level) for f in first.findings]
    assert levels == sorted(levels)
    assert all(f.because for f in first.findings)
