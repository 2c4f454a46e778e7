"""Why one option and not another, and what would change it: held against the weighing itself."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from itertools import chain, combinations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from leastwise.graph import Adviser, Case
from leastwise.graph.answer import OptionAnswer
from leastwise.graph.questions.change import MaterialIdentified, applied
from leastwise.graph.questions.changes import open_changes
from leastwise.graph.questions.rerun import Rerun
from leastwise.graph.questions.what_if import what_would_change
from leastwise.graph.questions.why import DifferentDamages, fewest, why
from tests.conftest import DEMOS, changed
from tests.graph.questions.made import Makeable
from tests.graph.weighing.collar import collar_with_sequins

pytestmark = pytest.mark.slow  # seconds of work in nearly every test

differences = st.dictionaries(
    st.text("abcdefg", min_size=1, max_size=1), st.integers(-40, 40).map(lambda n: n / 100)
)


@given(differences)
def test_the_fewest_reasons_are_the_smallest_set_that_outweighs_the_rest(
    found: dict[str, float],
) -> None:
    """All subsets of what speaks for it are tried."""
    against = -sum(d for d in found.values() if d < 0)
    positive = [n for n, d in found.items() if d > 0]
    subsets = chain.from_iterable(combinations(positive, r) for r in range(len(positive) + 1))
    enough = [s for s in subsets if s and sum(found[n] for n in s) > against + 1e-9]

    chosen = fewest(found)

    assert bool(chosen) == bool(enough)
    if enough:
        assert sum(found[n] for n in chosen) > against
        assert len(chosen) == min(len(s) for s in enough)


def judged(adviser: Adviser, case: Case, option: str) -> OptionAnswer:
    return next(o for o in adviser.weigh(case).options() if o.id == option)


@pytest.mark.parametrize("name", DEMOS)
def test_neighbours_in_the_order_are_told_apart_by_what_the_order_goes_by(
    adviser: Adviser, demo: Callable[[str], Case], name: str
) -> None:
    case = demo(name)
    damage = adviser.weigh(case).damages[0]
    for upper, lower in list(zip(damage.options, damage.options[1:], strict=False))[:6]:
        found = why(adviser, case, lower.id, upper.id)

        assert (found.above, found.below, found.as_asked) == (upper.id, lower.id, False)
        assert found.reasons
        assert found.decided_by == _key_of(upper, lower)
        if found.decided_by == "burden":
            gained = sum(g.weighted for g in found.reasons)
            lost = -sum(g.weighted for g in found.although)
            assert gained > lost >= 0
            for g in found.reasons:
                assert gained - g.weighted <= lost + 1e-9  # none can be left out
        assert upper.label in found.sentence
        assert lower.label in found.sentence


def _key_of(a: OptionAnswer, b: OptionAnswer) -> str:
    """Say by what two neighbours differ first, straight from the rule of the order."""
    if (a.verdict == "defeated") != (b.verdict == "defeated"):
        return "verdict"
    if a.meets_aim != b.meets_aim:
        return "aim"
    if not a.meets_aim and a.residual != b.residual:
        return "hindrance"
    if round(a.burden + a.waiting, 6) != round(b.burden + b.waiting, 6):
        return "burden"
    return "hours" if a.hours != b.hours else "hindrance" if a.residual != b.residual else "name"


def test_a_verdict_is_explained_by_a_finding_and_its_claims(
    adviser: Adviser, demo: Callable[[str], Case]
) -> None:
    found = why(
        adviser,
        demo("festival-dancer"),
        "crushed-tiers/membrane-pack-suspended",
        "crushed-tiers/steam",
    )

    assert found.as_asked
    assert found.decided_by == "verdict"
    assert len(found.reasons) == 1
    assert found.reasons[0].claims
    assert found.ahead_share == 1.0


def test_leaving_alone_is_explained_like_any_other_with_what_it_risks(
    adviser: Adviser, demo: Callable[[str], Case]
) -> None:
    found = why(adviser, demo("guild-banner"), "splits/leave-and-monitor", "splits/encapsulation")

    assert not found.as_asked
    assert "The damage is active and will go on" in found.left_alone
    assert found.although[0].what == "burden"


def test_options_of_different_damages_are_not_ranked_against_each_other(
    adviser: Adviser, demo: Callable[[str], Case]
) -> None:
    with pytest.raises(DifferentDamages, match="two options of one damage"):
        why(adviser, demo("guild-banner"), "splits/encapsulation", "dust/screened-vacuum")
    with pytest.raises(DifferentDamages):
        why(adviser, demo("guild-banner"), "dust/screened-vacuum", "dust/screened-vacuum")


@pytest.mark.parametrize("name", DEMOS)
def test_looking_at_one_option_alone_gives_the_verdict_and_score_of_the_whole(
    adviser: Adviser, demo: Callable[[str], Case], name: str
) -> None:
    case = demo(name)
    for option in adviser.weigh(case).options():
        steps = adviser.steps(case, option.id)

        assert Rerun(adviser, case, option.id).verdict([]) == option.verdict
        assert steps.scores[option.id].burden == option.burden


def test_a_single_test_that_would_change_it_does_so_when_entered_by_hand(
    adviser: Adviser, demo: Callable[[str], Case]
) -> None:
    case = demo("furnishing-panel")
    found = what_would_change(adviser, case, "loose-floats/net-overlay")
    (way,) = found.ways
    (change,) = way.changes

    def enter(result: str) -> Case:
        test = {
            "test": change.what,
            "part": change.part,
            "material": change.material,
            "agent": change.agent,
            "result": result,
        }
        return changed(case, adviser, lambda data: data["tests"].append(test))

    assert way.smallest
    assert judged(adviser, enter("good"), found.option).verdict == "accepted" == way.verdict
    assert judged(adviser, enter("good"), found.option).rank == way.rank_then
    assert judged(adviser, enter("bad"), found.option).verdict != "accepted"


def test_a_barrier_that_would_change_it_does_so_when_entered_by_hand(
    adviser: Adviser, demo: Callable[[str], Case]
) -> None:
    case = demo("festival-dancer")
    found = what_would_change(adviser, case, "crushed-tiers/membrane-pack-suspended")
    barriers = [way for way in found.ways if {c.kind for c in way.changes} == {"barrier"}]
    assert barriers

    def put(pairs: list[set[str]]) -> Case:
        def change(data: dict) -> None:
            for contact in data["contacts"]:
                if set(contact["between"]) in pairs:
                    contact["barrier"] = "in-place"

        return changed(case, adviser, change)

    assert judged(adviser, case, found.option).verdict != "accepted"
    for way in barriers:
        pairs = [set(c.what.split(" and ")) for c in way.changes]
        assert judged(adviser, put(pairs), found.option).verdict == "accepted"


@pytest.mark.parametrize(
    ("name", "option"),
    [
        ("furnishing-panel", "loose-floats/brick-couching"),
        ("furnishing-panel", "loose-floats/adhesive-patch-heat"),
        ("festival-dancer", "crushed-tiers/ultrasonic-mist"),
        ("guild-banner", "splits/loose-laid-patch"),
    ],
)
def test_no_part_of_a_way_is_enough(
    adviser: Adviser, demo: Callable[[str], Case], name: str, option: str
) -> None:
    case = demo(name)
    found = what_would_change(adviser, case, option)
    rank = {"accepted": 0, "undecided": 1, "defeated": 2}

    assert found.ways
    makeable = Makeable(adviser, case, [option])
    for way in found.ways:
        changes = makeable.of(way.changes)
        after = judged(adviser, applied(case, changes), option)
        assert after.verdict == way.verdict
        assert rank[way.verdict] < rank[found.verdict]
        for change in changes:
            less = [c for c in changes if c is not change]
            assert rank[judged(adviser, applied(case, less), option).verdict] > rank[way.verdict]


def test_what_only_another_record_would_change_says_so(
    adviser: Adviser, demo: Callable[[str], Case]
) -> None:
    case = demo("guild-banner")
    found = what_would_change(adviser, case, "splits/hand-realignment")

    assert found.verdict == "defeated"
    assert all(way.against_record for way in found.ways)
    assert "only if the record were otherwise" in found.sentence
    assert found.still_against


def test_what_nothing_would_change_says_so(adviser: Adviser, demo: Callable[[str], Case]) -> None:
    found = what_would_change(adviser, demo("guild-banner"), "dust/immersion-washing")

    assert found.ways == ()
    assert "nothing that could be changed alters that" in found.sentence
    assert found.still_against


def test_an_accepted_option_needs_no_change(adviser: Adviser, demo: Callable[[str], Case]) -> None:
    found = what_would_change(adviser, demo("guild-banner"), "dust/leave-and-monitor")

    assert found.ways == ()
    assert "nothing has to change" in found.sentence
    assert "Untreated" in found.left_alone


def test_the_bound_is_kept_and_said(adviser: Adviser, demo: Callable[[str], Case]) -> None:
    told: list[int] = []

    found = what_would_change(
        adviser,
        demo("festival-dancer"),
        "crushed-tiers/ultrasonic-mist",
        most_runs=2,
        progress=told.append,
    )

    assert not found.all_pairs_tried
    assert found.bound == 2
    assert told == list(range(1, found.runs + 1))
    assert found.ways
    assert not any(way.smallest for way in found.ways)


def test_means_that_are_lacking_are_among_the_changes(
    adviser: Adviser, demo: Callable[[str], Case]
) -> None:
    case = changed(
        demo("guild-banner"), adviser, lambda data: data["means"].update(skill="assistant", hours=0)
    )
    found = open_changes(adviser, case, "splits/pressure-mount")
    means = [c for c in found if c.kind == "means"]

    assert {c.what for c in means} == {"lw:beyondSkill", "lw:beyondHours"}
    after = applied(case, means)
    assert after.means.hours != 0
    assert after.means.skill != "assistant"


def test_an_unknown_material_may_turn_out_to_be_one_of_its_own_kind_only(
    adviser: Adviser, make_case: Callable[..., Case]
) -> None:
    def part(name: str, material: str) -> dict:
        materials = [{"material": material, "identified": "unknown"}]
        return {"id": name, "name": name, "lies_flat": "yes", "materials": materials}

    case = make_case(
        parts=[part("collar", "silk"), part("trim", "sequins-unidentified")],
        contacts=[{"between": ["collar", "trim"], "kind": "lies-on", "barrier": "impossible"}],
    )
    k = adviser.knowledge
    shown = {
        change.found
        for option in adviser.weigh(case).options()
        for change in open_changes(adviser, case, option.id)
        if isinstance(change, MaterialIdentified) and change.part == "trim"
    }

    assert shown
    assert all("material:sequins" in k.broader(material) for material in shown)
    found = what_would_change(adviser, case, "crushed/membrane-pack-suspended")
    assert found.ways
    for way in found.ways:  # of materials that exclude each other no more than one is supposed
        slots = [change.key[:-1] for change in way.changes]
        assert len(slots) == len(set(slots))


def test_what_goes_the_same_way_is_told_by_what_decides_between_them(
    adviser: Adviser, demo: Callable[[str], Case]
) -> None:
    case, damage = demo("festival-dancer"), "crushed-tiers"
    pack, blotter = f"{damage}/membrane-pack-suspended", f"{damage}/damp-blotter"

    assert "membrane" in why(adviser, case, pack, blotter).same_way
    assert why(adviser, case, pack, f"{damage}/reshape-dry").same_way == ""


def test_a_burden_that_an_act_brings_names_the_act(
    adviser: Adviser, make_case: Callable[..., Case]
) -> None:
    sewn = collar_with_sequins("certain", kind="stitched", parting="possible", barrier="impossible")
    pack, weights = "crushed/membrane-pack-flat", "crushed/passive-weights"
    case = make_case(**sewn)
    answer = adviser.weigh(case)
    only_evidence = {axis: float(axis == "axis:evidence-lost") for axis in answer.policy.weights}
    counted = replace(answer, policy=replace(answer.policy, weights=only_evidence))

    found = why(adviser, case, pack, weights, answer=counted)

    assert found.above == weights
    (ground,) = found.reasons
    assert ground.text.startswith("evidence lost 1 against 2 from open a join and take the part")
