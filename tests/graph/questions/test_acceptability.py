"""Rank shares: against exact areas, and what has to hold of them whatever the options are."""

from __future__ import annotations

from collections.abc import Callable
from itertools import pairwise
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from leastwise.graph import Adviser, Case, KnowledgeError, load_adviser
from leastwise.graph.ids import OptionId
from leastwise.graph.questions.acceptability import (
    Uncertain,
    ahead,
    case_shares,
    rank_shares,
    seed_of,
)
from leastwise.graph.questions.weights import draw_weights, weight_order
from leastwise.graph.weighing.ranking import UnknownPolicy, policy_named
from leastwise.graph.weighing.ways import ways_of
from tests.conftest import DEMOS

pytestmark = pytest.mark.slow  # seconds of work in nearly every test

AXES = 3
DRAWS = 256
grades = st.lists(st.integers(0, 4), min_size=3, max_size=3).map(
    lambda g: tuple(map(float, sorted(g)))
)
corners = st.tuples(grades, grades, grades)
options = st.lists(
    st.tuples(corners, st.booleans(), grades, st.integers(0, 4)), min_size=1, max_size=6
).map(
    lambda rows: [
        Uncertain(f"o{i}", burdens, out, efficacy, hindrance, 1)
        for i, (burdens, out, efficacy, hindrance) in enumerate(rows)
    ]
)


def weights(draws: int = DRAWS, seed: int = 1) -> np.ndarray:
    return draw_weights(AXES, draws, np.random.default_rng(seed))


def point(name: str, *burdens: float) -> Uncertain:
    return Uncertain(name, tuple((b, b, b) for b in burdens))


@given(options, st.integers(0, 5))
def test_shares_add_up_to_one_for_each_option_and_each_rank(
    found: list[Uncertain], seed: int
) -> None:
    shares = rank_shares(found, weights(), seed).shares

    assert np.allclose(shares.sum(axis=0), 1.0)
    assert np.allclose(shares.sum(axis=1), 1.0)
    assert (shares >= -1e-12).all()


@given(options, st.data())
def test_less_burden_on_one_axis_never_lowers_the_share_of_first_ranks(
    found: list[Uncertain], data: st.DataObject
) -> None:
    i = data.draw(st.integers(0, len(found) - 1))
    axis = data.draw(st.integers(0, AXES - 1))
    less = data.draw(st.floats(0, 4))
    old = found[i]
    burdens = [list(corner) for corner in old.grades]
    burdens[axis] = [max(0.0, g - less) for g in burdens[axis]]
    better = Uncertain(
        old.name, tuple(tuple(b) for b in burdens), old.out, old.efficacy, old.hindrance, 1
    )

    before = rank_shares(found, weights(), 3).shares[i, 0]
    after = rank_shares([*found[:i], better, *found[i + 1 :]], weights(), 3).shares[i, 0]

    assert after >= before - 1e-12


@given(options, st.randoms(use_true_random=False))
def test_permuting_the_options_permutes_the_shares(found: list[Uncertain], random: object) -> None:
    order = list(range(len(found)))
    random.shuffle(order)  # type: ignore[attr-defined]

    plain = rank_shares(found, weights(), 5)
    mixed = rank_shares([found[i] for i in order], weights(), 5)

    assert np.allclose(mixed.shares, plain.shares[order])
    for place, i in enumerate(order):
        one, other = mixed.central[place], plain.central[i]
        assert (one is None) == (other is None)
        if one is not None and other is not None:
            assert np.allclose(one, other)


@given(options)
def test_an_option_that_is_never_first_has_no_central_weights(found: list[Uncertain]) -> None:
    ranked = rank_shares(found, weights(), 7)

    for share, central, sure in zip(
        ranked.shares[:, 0], ranked.central, ranked.confidence, strict=True
    ):
        assert (share == 0) == (central is None) == (sure is None)
        if central is not None:
            assert central.sum() == pytest.approx(1.0)


def test_options_that_tie_share_the_ranks_they_take() -> None:
    found = [point("a", 1, 1, 1), point("b", 1, 1, 1), point("c", 2, 2, 2)]

    shares = rank_shares(found, weights(), 0).shares

    assert shares.tolist() == [[0.5, 0.5, 0.0], [0.5, 0.5, 0.0], [0.0, 0.0, 1.0]]


def first_area(me: Uncertain, found: list[Uncertain]) -> float:
    """Return the exact share of the weight triangle in which *me* burdens least, by clipping."""
    polygon = [np.array(c, dtype=float) for c in ((1, 0, 0), (0, 1, 0), (0, 0, 1))]
    mine = np.array([g[1] for g in me.grades])
    whole = _area(polygon)
    for other in found:
        if other is not me:
            polygon = _clip(polygon, np.array([g[1] for g in other.grades]) - mine)
    return _area(polygon) / whole


def _clip(polygon: list[np.ndarray], normal: np.ndarray) -> list[np.ndarray]:
    """Keep the side on which the other burdens at least as much."""
    kept = []
    for a, b in zip(polygon, polygon[1:] + polygon[:1], strict=True):
        at_a, at_b = float(normal @ a), float(normal @ b)
        if at_a >= 0:
            kept.append(a)
        if at_a * at_b < 0:
            kept.append(a + (b - a) * at_a / (at_a - at_b))
    return kept


def _area(polygon: list[np.ndarray]) -> float:
    if len(polygon) < 3:
        return 0.0
    fan = pairwise(polygon[1:])
    return sum(float(np.linalg.norm(np.cross(b - polygon[0], c - polygon[0]))) / 2 for b, c in fan)


@settings(max_examples=25, deadline=None)
@given(
    st.lists(st.tuples(*[st.integers(0, 40)] * 3), min_size=2, max_size=5, unique=True).map(
        lambda rows: [point(f"o{i}", *(g / 10 for g in row)) for i, row in enumerate(rows)]
    )
)
def test_shares_of_the_first_rank_are_the_areas_of_the_weight_triangle(
    found: list[Uncertain],
) -> None:
    draws = 40_000
    shares = rank_shares(found, weights(draws), 0).shares[:, 0]

    for i, one in enumerate(found):
        assert shares[i] == pytest.approx(first_area(one, found), abs=5 * 0.5 / draws**0.5)


@pytest.mark.parametrize(
    "order", [{(0, 1)}, {(0, 1), (0, 2)}, {(0, 2), (1, 2)}, {(0, 1), (2, 3)}, {(3, 1), (1, 0)}]
)
def test_weights_under_a_partial_order_are_those_that_throwing_away_would_leave(
    order: set[tuple[int, int]],
) -> None:
    drawn = draw_weights(4, 60_000, np.random.default_rng(2), frozenset(order))
    free = draw_weights(4, 600_000, np.random.default_rng(3))
    left = free[np.all([free[:, i] >= free[:, j] for i, j in order], axis=0)]

    assert all((drawn[:, i] >= drawn[:, j]).all() for i, j in order)
    assert drawn.sum(axis=1) == pytest.approx(1.0)
    assert drawn.mean(axis=0) == pytest.approx(left.mean(axis=0), abs=0.004)
    assert np.cov(drawn.T) == pytest.approx(np.cov(left.T), abs=0.002)


@pytest.mark.parametrize("policy", ["policy:conservative", "policy:display-driven"])
def test_the_weights_of_a_policy_keep_to_its_own_order(adviser: Adviser, policy: str) -> None:
    order = weight_order(adviser.catalogue, policy)
    chosen = list(policy_named(adviser.catalogue, policy).weights.values())

    assert order
    assert all(chosen[i] >= chosen[j] for i, j in order)
    assert sum(chosen) == pytest.approx(1.0, abs=1e-5)


@pytest.mark.parametrize("name", DEMOS)
def test_with_the_weights_of_the_policy_and_certain_scores_it_is_the_order_of_the_answer(
    adviser: Adviser, demo: Callable[[str], Case], name: str
) -> None:
    answer = adviser.weigh(demo(name))
    exact = np.array([list(answer.policy.weights.values())])
    for damage in answer.damages:
        found = [
            Uncertain(
                o.id,
                tuple((float(g),) * 3 for g in o.burdens.values()),
                o.verdict == "defeated",
                (float(o.efficacy),) * 3,
                o.hindrance,
                answer.policy.residual_allowed,
                o.waiting,
                o.is_baseline,
            )
            for o in damage.options
        ]
        mean = rank_shares(found, exact, 0).shares @ np.arange(len(found))
        assert (np.diff(mean) >= -1e-9).all()


def test_the_same_case_gives_the_same_shares_and_another_seed_others(
    adviser: Adviser, demo: Callable[[str], Case]
) -> None:
    case = demo("guild-banner")

    first, again = case_shares(adviser, case), case_shares(adviser, case)
    other = case_shares(adviser, case, seed=1)

    assert first == again
    assert first.damages != other.damages
    assert first.standard_error == pytest.approx(0.0078, abs=1e-4)
    assert first.digest == seed_of(case)[1]


def test_two_seeds_agree_within_the_stated_error(
    adviser: Adviser, demo: Callable[[str], Case]
) -> None:
    case = demo("guild-banner")
    runs = [case_shares(adviser, case, seed=s) for s in (0, 1)]
    shares = [{o.option: o.shares for d in run.damages for o in d.options} for run in runs]

    for option, found in shares[0].items():
        assert found == pytest.approx(shares[1][option], abs=5 * 2**0.5 * runs[0].standard_error)


def test_ahead_of_each_other_adds_up_to_one(adviser: Adviser, demo: Callable[[str], Case]) -> None:
    case, pair = demo("guild-banner"), ("splits/encapsulation", "splits/slant-board")

    there, back = ahead(adviser, case, *pair), ahead(adviser, case, *reversed(pair))

    assert there + back == pytest.approx(1.0, abs=1e-3)
    assert 0.5 < there < 1.0


def test_another_policy_changes_the_order_but_no_verdict(
    adviser: Adviser, demo: Callable[[str], Case]
) -> None:
    case = demo("festival-dancer")
    plain, shown = adviser.weigh(case), adviser.under("policy:display-driven").weigh(case)

    assert {o.id: o.verdict for o in plain.options()} == {o.id: o.verdict for o in shown.options()}
    assert [o.id for o in plain.options()] != [o.id for o in shown.options()]
    assert shown.policy.id == "policy:display-driven"


def test_an_unknown_policy_is_an_error_that_lists_those_there_are(adviser: Adviser) -> None:
    with pytest.raises(UnknownPolicy, match="policy:conservative, policy:display-driven"):
        adviser.under("policy:none-such")


def own_policy(folder: Path, order: str, cache: Path) -> Adviser:
    weighed = ", ".join(
        f"[ lw:axis axis:{axis} ; lw:weight 0.1 ]"
        for axis in (
            "irreversibility",
            "exposure",
            "penetration",
            "material-added",
            "evidence-lost",
            "future-treatment-hindered",
            "visual-change",
        )
    )
    (folder / "policy.ttl").write_text(
        f"""@prefix lw: <https://w3id.org/leastwise/ns#> .
@prefix axis: <https://w3id.org/leastwise/axis/> .
@prefix policy: <https://w3id.org/leastwise/policy/> .
@prefix skos: <http://www.w3.org/2004/02/skos/core#> .
policy:ours a skos:Concept, lw:Policy ;
    skos:inScheme lw:policies ; skos:prefLabel "ours"@en ;
    skos:definition "All axes alike."@en ;
    lw:weighs {weighed} ;
    {order}
    lw:unknownCountsAs 4 ; lw:residualAllowed 2 ; lw:basis lw:practice .
""",
        "utf-8",
    )
    return load_adviser([folder], cache=cache).under("policy:ours")


def test_an_institution_writes_its_own_policy(
    tmp_path: Path, demo: Callable[[str], Case], cache: Path
) -> None:
    ours = own_policy(tmp_path, "", cache)

    assert ours.policy.unknown_counts_as == 4
    assert set(ours.policy.weights.values()) == {round(1 / 7, 6)}
    assert weight_order(ours.catalogue, "policy:ours") == frozenset()
    assert case_shares(ours, demo("furnishing-panel")).policy == "policy:ours"


def test_an_order_that_runs_in_a_circle_is_told(
    tmp_path: Path, demo: Callable[[str], Case], cache: Path
) -> None:
    circle = (
        "lw:prefersOrder [ lw:axis axis:exposure ; lw:atLeastAsImportantAs axis:penetration ] , "
        "[ lw:axis axis:penetration ; lw:atLeastAsImportantAs axis:exposure ] ;"
    )
    ours = own_policy(tmp_path, circle, cache)

    with pytest.raises(KnowledgeError, match="circle"):
        case_shares(ours, demo("furnishing-panel"))


@pytest.mark.parametrize(("draws", "seed"), [(0, 0), (99, 0), (100_001, 0), (4096, -1)])
def test_draws_and_seeds_out_of_range_are_told(
    adviser: Adviser, demo: Callable[[str], Case], draws: int, seed: int
) -> None:
    with pytest.raises(ValueError, match="expected 100 to 100000 draws"):
        case_shares(adviser, demo("furnishing-panel"), draws=draws, seed=seed)


@pytest.mark.parametrize("name", DEMOS)
def test_ways_hold_what_stands_once_and_add_up_to_the_first_place(
    adviser: Adviser, demo: Callable[[str], Case], name: str
) -> None:
    going = ways_of(adviser.knowledge)
    for damage in case_shares(adviser, demo(name), draws=200).damages:
        first = {one.option: one.shares[0] for one in damage.options}
        standing = [one.option for one in damage.options if one.verdict != "defeated"]

        assert sorted(o for way in damage.ways for o in way.options) == sorted(standing)
        assert sum(way.first for way in damage.ways) == pytest.approx(1.0, abs=0.002)
        for way in damage.ways:
            assert way.first == pytest.approx(sum(first[o] for o in way.options), abs=0.001)
            assert bool(way.way) == (len(way.options) > 1)
            if way.way:
                assert all(way.way in going[OptionId(o).technique] for o in way.options)
