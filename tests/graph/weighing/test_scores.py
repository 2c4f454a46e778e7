"""Scores as intervals: they hold the grade of the answer, and widen where claims are weak."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import pytest

from leastwise.graph import Adviser, Case
from leastwise.graph.weighing.scores import BENEFIT, OptionScores, score_intervals, slack
from tests.conftest import DEMOS
from tests.graph.weighing.collar import collar_with_sequins


def scored(adviser: Adviser, case: Case) -> dict[str, OptionScores]:
    steps = adviser.steps(case)
    return {
        c.id: score_intervals(
            c, steps.data.exposures[c.id], steps.scores[c.id], adviser.catalogue, adviser.policy
        )
        for c in steps.candidates
    }


def a_claim(adviser: Adviser, basis: str, confidence: str) -> str:
    k = adviser.knowledge
    return next(
        c
        for c in k.instances("lw:Claim")
        if (k.object(c, "lw:basis"), k.object(c, "lw:confidence"))
        == (f"lw:{basis}", f"lw:{confidence}")
    )


@pytest.mark.parametrize("name", DEMOS)
def test_every_interval_holds_the_grade_of_the_answer(
    adviser: Adviser, demo: Callable[[str], Case], name: str
) -> None:
    case = demo(name)
    answer = {o.id: o for o in adviser.weigh(case).options()}

    for option, found in scored(adviser, case).items():
        assert {a: g.value for a, g in found.burdens.items()} == answer[option].burdens
        assert found.benefit.value == answer[option].hindrance - answer[option].residual
        for graded in (*found.burdens.values(), found.benefit):
            assert 0 <= graded.low <= graded.value <= graded.high <= 4
            assert f"{graded.value:g} because" in graded.because
            assert all(claim in adviser.knowledge for claim in graded.claims)


@pytest.mark.parametrize(
    ("claims", "expected"),
    [
        ([("memory", "low")], 1.0),
        ([("read", "low")], 1.0),
        ([("memory", "low"), ("read", "low")], 1.0),
        ([("read", "moderate"), ("read", "low")], 0.5),
        ([("practice", "moderate")], 0.5),
        ([("read", "high"), ("memory", "low")], 0.0),
        ([], 1.0),
    ],
)
def test_the_best_claim_says_how_far_a_grade_may_be_off(
    adviser: Adviser, claims: list[tuple[str, str]], expected: float
) -> None:
    names = [a_claim(adviser, *claim) for claim in claims]

    assert slack(names, adviser.catalogue) == expected


def test_leaving_alone_burdens_nothing_for_certain(
    adviser: Adviser, demo: Callable[[str], Case]
) -> None:
    found = scored(adviser, demo("guild-banner"))["splits/leave-and-monitor"]

    assert {(g.low, g.high) for g in found.burdens.values()} == {(0.0, 0.0)}


def test_an_exposure_names_claim_grade_and_dose(
    adviser: Adviser, demo: Callable[[str], Case]
) -> None:
    k = adviser.knowledge
    found = scored(adviser, demo("guild-banner"))["splits/pressure-mount"]
    exposure = found.burdens["axis:exposure"]
    severity = k.number(exposure.claims[0], "lw:severity")

    assert exposure.claims[0] in exposure.because
    assert f" {severity:g} for pressure and dose 2 lowers it by one" in exposure.because
    assert severity is not None
    assert exposure.value == severity - 1


def test_claims_that_disagree_widen_the_interval(
    adviser: Adviser, demo: Callable[[str], Case]
) -> None:
    k = adviser.knowledge
    found = scored(adviser, demo("guild-banner"))
    exposure = next(
        burden
        for one in found.values()
        if "so both stand" in (burden := one.burdens["axis:exposure"]).because
    )
    severities = {k.number(c, "lw:severity") for c in exposure.claims}

    assert len(severities) > 1
    assert exposure.low < exposure.value


def test_an_unknown_reaches_from_the_grade_of_the_policy_to_the_worst(
    adviser: Adviser, make_case: Callable[..., Case]
) -> None:
    part: dict[str, Any] = {
        "id": "collar",
        "name": "collar",
        "lies_flat": "yes",
        "materials": [{"material": "finish-unidentified", "identified": "unknown"}],
    }
    case = make_case(parts=[part])
    unknown = [
        found.burdens["axis:exposure"]
        for found in scored(adviser, case).values()
        if "nothing grades" in found.burdens["axis:exposure"].because
    ]

    assert unknown
    for exposure in unknown:
        assert (exposure.low, exposure.value, exposure.high) == (3.0, 3.0, 4.0)


def test_benefit_reaches_down_to_the_low_efficacy_and_never_up(
    adviser: Adviser, demo: Callable[[str], Case]
) -> None:
    case = demo("furnishing-panel")
    steps = adviser.steps(case)
    found = scored(adviser, case)

    for c in steps.candidates:
        if c.effect is not None and steps.scores[c.id].efficacy:
            low, value, high = found[c.id].efficacy
            assert low <= c.effect.low
            assert value == high == c.effect.efficacy
            assert low == 0 or not c.open


def test_every_axis_has_a_scale_from_none_to_worst(adviser: Adviser) -> None:
    k = adviser.knowledge
    for axis in (*adviser.catalogue.axes, BENEFIT):
        grades = [k.number(node, "lw:grade") for node in k.objects(axis, "lw:scaleStep")]
        meanings = {k.text(node, "lw:meaning") for node in k.objects(axis, "lw:scaleStep")}
        assert grades == [0, 1, 2, 3, 4]
        assert len(meanings) == 5


def test_what_is_not_identified_for_certain_may_not_be_there(
    adviser: Adviser, make_case: Callable[..., Case]
) -> None:
    axis, pack = "axis:exposure", "crushed/membrane-pack-flat"
    certain, presumed = (
        scored(adviser, make_case(**collar_with_sequins(identified)))[pack].burdens[axis]
        for identified in ("certain", "presumed")
    )

    assert (certain.value, certain.high) == (presumed.value, presumed.high)
    assert presumed.low < certain.low
    assert "that it is gelatin sequins is not certain" in presumed.because
    assert "is not certain" not in certain.because


def test_a_grade_that_an_act_brings_names_the_act(
    adviser: Adviser, make_case: Callable[..., Case]
) -> None:
    sewn = collar_with_sequins("certain", kind="stitched", parting="possible", barrier="impossible")
    case = make_case(**sewn)
    pack = next(c for c in adviser.steps(case).candidates if c.id == "crushed/membrane-pack-flat")
    graded = scored(adviser, case)[pack.id].burdens["axis:evidence-lost"]

    assert [act.technique.id for act in pack.acts] == ["technique:unpick-join"]
    assert graded.value == dict(pack.acts[0].technique.burdens)["axis:evidence-lost"]
    assert graded.value > dict(pack.technique.burdens)["axis:evidence-lost"]
    assert f"{pack.acts[0].technique.label}, which comes with it," in graded.because
