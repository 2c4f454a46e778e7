"""What to find out first: value of information, held against weighing the case by hand."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from leastwise.graph import Adviser, Case, load_adviser
from leastwise.graph.questions.information import evpi, evsi
from leastwise.graph.questions.tests_first import NOTHING, FindOutFirst, find_out_first
from tests.conftest import changed

pytestmark = pytest.mark.slow  # seconds of work in nearly every test


@st.composite
def decisions(draw: st.DrawFn) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    states, acts, results = (
        draw(st.integers(1, 4)),
        draw(st.integers(1, 4)),
        draw(st.integers(1, 3)),
    )

    def table(rows: int, low: int) -> np.ndarray:
        cells = st.integers(low, 20)
        row = st.lists(cells, min_size=states, max_size=states)
        return np.array(draw(st.lists(row, min_size=rows, max_size=rows)), dtype=float)

    prior, chance = table(1, 1)[0], table(results, 1)
    return prior / prior.sum(), table(acts, -20), chance / chance.sum(axis=0)


@given(decisions())
def test_no_test_is_worth_more_than_perfect_information_or_less_than_nothing(
    decision: tuple[np.ndarray, np.ndarray, np.ndarray],
) -> None:
    prior, utility, chance = decision

    assert 0 <= evsi(prior, utility, chance) <= evpi(prior, utility) + 1e-6


@given(decisions())
def test_a_test_that_tells_the_states_apart_is_worth_perfect_information(
    decision: tuple[np.ndarray, np.ndarray, np.ndarray],
) -> None:
    prior, utility, _ = decision

    assert evsi(prior, utility, np.eye(len(prior))) == pytest.approx(evpi(prior, utility), abs=1e-6)


@pytest.mark.parametrize(
    ("prior", "utility"),
    [([0.5, 0.6], [[1, 2]]), ([1.0], [[1, 2]]), ([1.5, -0.5], [[1, 2]]), ([0.5, 0.5], [1, 2])],
)
def test_a_prior_that_is_no_distribution_is_told(prior: list[float], utility: list) -> None:
    with pytest.raises(ValueError, match="prior: expected"):
        evpi(prior, utility)


def test_a_likelihood_whose_columns_do_not_sum_to_one_is_told() -> None:
    with pytest.raises(ValueError, match="likelihood: expected columns"):
        evsi([0.5, 0.5], [[1, 2]], [[0.5, 0.5], [0.4, 0.5]])


def only_damage(adviser: Adviser, case: Case, *damages: str) -> Case:
    def keep(data: dict) -> None:
        data["damages"] = [d for d in data["damages"] if d["id"] in damages]

    return changed(case, adviser, keep)


@pytest.fixture(scope="module")
def banner_case(adviser: Adviser, demo: Callable[[str], Case]) -> Case:
    return only_damage(adviser, demo("guild-banner"), "splits", "dust")


@pytest.fixture(scope="module")
def banner(adviser: Adviser, banner_case: Case) -> FindOutFirst:
    return find_out_first(adviser, banner_case)


def chosen(adviser: Adviser, case: Case) -> dict[str, str]:
    return {
        d.id: next(o.id for o in d.options if o.verdict == "accepted")
        for d in adviser.weigh(case).damages
    }


def test_the_first_step_changes_the_choice_as_it_says(
    adviser: Adviser, banner_case: Case, banner: FindOutFirst
) -> None:
    """The test is entered by hand with either result, and the case weighed."""
    case, step = banner_case, banner.steps[0]
    (test,) = step.tests
    now = chosen(adviser, case)
    differs = []
    for result in ("good", "bad"):
        entry = {
            "test": test.what,
            "part": test.part,
            "material": test.material or None,
            "agent": test.agent or None,
            "result": result,
        }
        after = changed(case, adviser, lambda data, e=entry: data["tests"].append(e))
        differs.append(chosen(adviser, after) != now)

    assert banner.choice_now == now
    assert step.expected_change == sum(differs) / 2
    assert len(step.then) == sum(differs)
    assert step.minutes == test.minutes


def test_steps_stand_in_order_of_worth_and_none_is_worth_nothing(banner: FindOutFirst) -> None:
    worth = [step.worth for step in banner.steps]

    assert worth == sorted(worth, reverse=True)
    assert all(w > 0 for w in worth)
    assert all(0 < step.expected_change <= 1 for step in banner.steps)
    assert all(step.gain >= 0 for step in banner.steps)
    assert "0.5 for every test, out of ignorance" in banner.prior_in_words


def test_a_bundle_takes_the_chance_that_all_its_tests_come_out_well(banner: FindOutFirst) -> None:
    bundles = [step for step in banner.steps if len(step.tests) > 1]

    assert bundles
    for step in bundles:
        assert step.expected_change == 0.5 ** len(step.tests)
        minutes = sum(t.minutes * 0.5**i for i, t in enumerate(step.tests))
        assert step.minutes == pytest.approx(minutes, abs=0.06)


def test_no_test_is_worth_doing_when_none_changes_the_choice(
    adviser: Adviser, demo: Callable[[str], Case]
) -> None:
    case = demo("furnishing-panel")
    plain = find_out_first(adviser, case)
    # only a bad result would change the choice
    step = next(s for s in plain.steps if "comes out badly" in s.then[0])
    others = {t.what: 0.0 for s in plain.steps for t in s.tests}
    bad = {t.what: 1.0 for s in plain.steps for t in s.tests if "comes out badly" in s.then[0]}

    sure = find_out_first(adviser, case, priors=others | bad)

    assert sure.steps == ()
    assert sure.sentence == NOTHING
    assert step.tests[0] in sure.changes_nothing


def test_a_case_without_damage_needs_no_test(
    adviser: Adviser, make_case: Callable[..., Case]
) -> None:
    assert find_out_first(adviser, make_case(damages=[])).sentence == NOTHING


def test_a_prior_changes_the_chance_and_is_named(
    adviser: Adviser, demo: Callable[[str], Case]
) -> None:
    case = only_damage(adviser, demo("guild-banner"), "dust")
    found = find_out_first(adviser, case, priors={"test:sponge-trial": 0.9})
    rubbed = next(s for s in found.steps if "test:sponge-trial" in {t.what for t in s.tests})
    others = [t for t in rubbed.tests if t.what != "test:sponge-trial"]

    assert rubbed.expected_change == pytest.approx(
        0.9 ** (len(rubbed.tests) - len(others)) * 0.5 ** len(others)
    )
    assert "test:sponge-trial 0.9" in found.prior_in_words


def test_a_prior_may_come_from_the_knowledge(
    tmp_path: Path, adviser: Adviser, demo: Callable[[str], Case], cache: Path
) -> None:
    (tmp_path / "priors.ttl").write_text(
        """@prefix lw: <https://w3id.org/leastwise/ns#> .
@prefix test: <https://w3id.org/leastwise/test/> .
test:sponge-trial lw:shareGood 0.8 .
""",
        "utf-8",
    )
    case = only_damage(adviser, demo("guild-banner"), "dust")

    found = find_out_first(load_adviser([tmp_path], cache=cache), case)

    assert "test:sponge-trial 0.8" in found.prior_in_words
    assert any(0.8 in step.priors for step in found.steps)


def test_a_prior_out_of_range_is_told(adviser: Adviser, demo: Callable[[str], Case]) -> None:
    with pytest.raises(ValueError, match="expected 0 to 1"):
        find_out_first(adviser, demo("guild-banner"), priors={"test:heat-trial": 1.2})


def test_an_option_that_needs_barriers_only_is_named_as_needing_no_test(
    adviser: Adviser, demo: Callable[[str], Case]
) -> None:
    found = find_out_first(adviser, only_damage(adviser, demo("festival-dancer"), "crushed-tiers"))

    assert any("membrane" in line and "barrier" in line for line in found.without_tests)
    assert all(test.kind == "test" for step in found.steps for test in step.tests)
