"""Needs: what the object needs for its aim, derived or recorded, and answered like damage."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import pytest

from leastwise.graph import Adviser, Case
from leastwise.graph.planning.make import make_plan
from leastwise.graph.weighing.needs import derive_needs, problems

Make = Callable[..., Case]
SOUND: dict[str, Any] = {
    "lies_flat": "yes", "bears_handling": "yes", "bears_needle": "yes",
    "sound_surroundings": "yes", "reverse_reachable": "yes",
}  # fmt: skip
MOUNTS = {
    "on-figure": ("need:carried-on-figure", "technique:padded-figure"),
    "hung": ("need:carried-hung", "technique:hook-and-loop-heading"),
    "slanted": ("need:carried-slanted", "technique:slant-board"),
    "flat": ("need:carried-flat", "technique:handling-board"),
    "pressure-mounted": ("need:carried-under-sheet", "technique:pressure-mount"),
}


def shown(make_case: Make, mounting: str, purpose: str = "display", **fields: Any) -> Case:
    made = [{"material": one, "identified": "certain"} for one in ("wool", "plain-weave", "undyed")]
    aim: dict[str, Any] = {"purpose": purpose, "mounting": mounting, "rh_controlled": "yes"}
    if mounting == "slanted":
        aim["degrees_from_vertical"] = 60
    return make_case(
        object={"name": "thing", "kind": "costume" if mounting == "on-figure" else "flat-textile"},
        parts=[{"id": "cloth", "name": "cloth", "materials": made, **SOUND}],
        damages=[],
        aim=aim,
        **fields,
    )


@pytest.mark.parametrize("mounting", MOUNTS)
def test_what_is_shown_needs_its_mount_and_the_mount_answers_it(
    adviser: Adviser, make_case: Make, mounting: str
) -> None:
    kind, mount = MOUNTS[mounting]
    answer = adviser.weigh(shown(make_case, mounting))
    (need,) = [d for d in answer.damages if d.damage.startswith("need:carried")]

    assert need.damage == kind
    assert (need.kind, need.derived) == ("need", True)
    offered = [o for o in need.options if o.meets_aim and o.verdict != "defeated"]
    assert mount in [o.technique for o in offered]
    baseline = next(o for o in need.options if o.is_baseline)
    assert not baseline.meets_aim
    assert "which rules out display" in baseline.reasons.reasons[0].text


@pytest.mark.parametrize("mounting", MOUNTS)
def test_a_mount_for_another_way_of_showing_is_no_option(
    adviser: Adviser, make_case: Make, mounting: str
) -> None:
    answer = adviser.weigh(shown(make_case, mounting))
    (need,) = [d for d in answer.damages if d.damage.startswith("need:carried")]
    others = {mount for kind, mount in MOUNTS.values() if kind != need.damage}
    if mounting == "flat":
        others.discard("technique:pressure-mount")  # lies flat too

    assert not others & {o.technique for o in need.options}
    costume_only = {"technique:padded-figure"}
    assert others - costume_only <= {s.technique for s in need.set_aside}


@pytest.mark.parametrize("mounting", MOUNTS)
@pytest.mark.parametrize("purpose", ["display", "loan"])
def test_a_plan_for_display_has_mount_light_and_handling(
    adviser: Adviser, make_case: Make, mounting: str, purpose: str
) -> None:
    case = shown(make_case, mounting, purpose)
    plan = make_plan(case, adviser)
    answered = {d for step in plan.steps for d in step.damages}
    carried = MOUNTS[mounting][0].replace(":", "-")

    assert {carried, "need-light-limited", "need-moved"} <= answered
    assert plan.meets_aim
    assert ("need-packed" in answered) == (purpose == "loan")


@pytest.mark.parametrize("name", ["festival-dancer", "furnishing-panel", "guild-banner"])
def test_the_plans_of_the_demo_cases_end_with_mount_light_and_handling(
    adviser: Adviser, demo: Callable[[str], Case], name: str
) -> None:
    case = demo(name)
    answered = {d for step in make_plan(case, adviser).steps for d in step.damages}

    assert any(one.startswith("need-carried") for one in answered)
    assert {"need-light-limited", "need-moved"} <= answered


def test_in_store_it_needs_a_house_and_no_mount(adviser: Adviser, make_case: Make) -> None:
    case = shown(make_case, "unknown", "storage")
    kinds = {need.damage for need in derive_needs(case, adviser.catalogue)}

    assert {"need:housed", "need:dust-kept-off", "need:pests-kept-out"} <= kinds
    assert not [one for one in kinds if one.startswith("need:carried")]
    assert "need:light-limited" not in kinds


def test_an_object_that_lies_on_the_table_for_study_needs_a_board_and_its_box(
    adviser: Adviser, make_case: Make
) -> None:
    needs = derive_needs(shown(make_case, "flat", "study"), adviser.catalogue)
    assert [one.damage for one in needs] == ["need:carried-flat", "need:housed"]


def test_a_way_of_showing_that_nobody_settled_is_a_need_that_waits(
    adviser: Adviser, make_case: Make
) -> None:
    answer = adviser.weigh(shown(make_case, "unknown"))
    (need,) = [d for d in answer.damages if d.damage == "need:carried"]
    mounts = [o for o in need.options if not o.is_baseline]

    assert mounts
    assert {o.verdict for o in mounts} <= {"undecided", "defeated"}


def test_living_insects_make_a_need_until_a_watch_finds_none(
    adviser: Adviser, make_case: Make
) -> None:
    def kinds(tests: list[dict[str, Any]], activity: str = "unknown") -> set[str]:
        found = {"id": "f", "damage": "frass", "parts": ["collar"], "activity": activity}
        case = make_case(damages=[found], tests=tests)
        return {one.damage for one in derive_needs(case, adviser.catalogue)}

    watch = {"test": "pest-watch", "part": "collar"}
    assert "need:pest-free" in kinds([])
    assert "need:pest-free" in kinds([watch | {"result": "bad"}], "active")
    assert "need:pest-free" not in kinds([watch | {"result": "good"}])
    assert "need:pest-free" not in kinds([], "stable")


def test_a_need_that_is_recorded_is_not_derived_again(adviser: Adviser, make_case: Make) -> None:
    recorded = {"id": "stand", "need": "carried on a figure", "parts": ["cloth"]}
    case = shown(make_case, "on-figure", needs=[recorded])
    found = [one for one in problems(case, adviser.catalogue) if "carried" in one.damage]

    assert [one.id for one in found] == ["stand"]


def test_every_need_is_answered_by_something(adviser: Adviser) -> None:
    k = adviser.knowledge
    unanswered = [
        need
        for need in adviser.catalogue.needs
        if not any(adviser.catalogue.effects.get(up) for up in k.broader(need))
        and need not in ("need:people-safe", "need:opened-out")
    ]
    assert unanswered == []


@pytest.mark.parametrize(
    ("form", "mount"),
    [
        ("headwear", "technique:hat-form"),
        ("footwear", "technique:shoe-form"),
        ("gloves", "technique:glove-insert"),
        ("fan", "technique:fan-parasol-mount"),
    ],
)
def test_an_accessory_gets_the_form_of_its_own_kind(
    adviser: Adviser, make_case: Make, form: str, mount: str
) -> None:
    forms = {"technique:hat-form", "technique:shoe-form", "technique:glove-insert"}
    case = shown(make_case, "on-figure")
    thing = case.object.model_copy(update={"kind": "accessory", "form": form})
    answer = adviser.weigh(case.model_copy(update={"object": thing}))
    (need,) = [d for d in answer.damages if d.damage.startswith("need:carried")]
    offered = {o.technique for o in need.options}

    assert need.damage == "need:carried-on-form"
    assert mount in offered
    assert not (forms - {mount}) & offered


def test_what_is_on_a_figure_and_of_no_kind_yet_still_needs_one(
    adviser: Adviser, make_case: Make
) -> None:
    case = shown(make_case, "on-figure")
    thing = case.object.model_copy(update={"kind": "unknown"})
    found = derive_needs(case.model_copy(update={"object": thing}), adviser.catalogue)

    assert "need:carried-on-figure" in {one.damage for one in found}
