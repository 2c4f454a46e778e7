"""Typed conditions: three-valued, read from the record, and what they make of an effect."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from leastwise.graph import Adviser, Case
from leastwise.graph.case.record import Tri
from leastwise.graph.weighing.candidates import find_candidates, find_set_aside
from leastwise.graph.weighing.conditions import About, ConditionReader
from leastwise.graph.weighing.readings import any_of, opposite
from tests.conftest import option

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
    one = option(adviser.weigh(case), "s", "local-solvent-hydrocarbon")

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
