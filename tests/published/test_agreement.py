"""Krippendorff's alpha against its published example, and its laws."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from leastwise.graph.reviewing.agreement import agreement

# Four raters over twelve units, one rating each, "-" left out. Source: Krippendorff, Computing
# Krippendorff's Alpha-Reliability; the same matrix stands in the manual of KrippAlpha in
# DescTools (search.r-project.org), citing Krippendorff 1980.
ROWS = {
    "A": "1 2 3 3 2 1 4 1 2 - - -",
    "B": "1 2 3 3 2 2 4 1 2 5 - 3",
    "C": "- 3 3 3 2 3 4 2 2 5 1 -",
    "D": "1 2 3 3 2 4 4 1 2 5 1 -",
}


def _published() -> dict[str, dict[str, int]]:
    units: dict[str, dict[str, int]] = {}
    for rater, row in ROWS.items():
        for number, value in enumerate(row.split()):
            if value != "-":
                units.setdefault(str(number), {})[rater] = int(value)
    return units


def test_the_published_example_gives_the_published_values() -> None:
    # nominal 0.743, ordinal 0.815: Krippendorff, as above
    assert agreement(_published()).alpha == pytest.approx(0.743, abs=5e-4)
    assert agreement(_published(), order=[1, 2, 3, 4, 5]).alpha == pytest.approx(0.815, abs=5e-4)


def test_units_that_one_rater_alone_saw_count_for_nothing() -> None:
    with_single = _published() | {"single": {"A": 5}}
    assert agreement(with_single).alpha == agreement(_published()).alpha


def test_all_the_same_leaves_alpha_undefined_and_says_so() -> None:
    found = agreement({"a": {"x": "accepted", "y": "accepted"}})
    assert found.alpha is None
    assert found.raw == 1.0
    assert "not defined" in found.in_words


def test_nothing_rated_twice_is_no_agreement() -> None:
    found = agreement({"a": {"x": "accepted"}})
    assert (found.alpha, found.raw, found.units) == (None, None, 0)


def test_a_value_outside_the_order_is_named() -> None:
    with pytest.raises(ValueError, match="maybe"):
        agreement({"a": {"x": "maybe", "y": "accepted"}}, order=["defeated", "accepted"])


RATINGS = st.dictionaries(
    st.text("abc", min_size=1, max_size=2),
    st.dictionaries(st.sampled_from("xyz"), st.sampled_from([0, 1, 2]), min_size=1),
    max_size=8,
)


@given(RATINGS)
def test_alpha_is_one_only_where_all_agree_and_never_above(
    ratings: dict[str, dict[str, int]],
) -> None:
    for order in ([], [0, 1, 2]):
        found = agreement(ratings, order=order)
        if found.alpha is not None:
            assert found.alpha <= 1.0 + 1e-12
            assert (found.alpha > 1.0 - 1e-12) == (found.raw == 1.0)


@given(RATINGS)
def test_the_names_of_raters_do_not_matter(ratings: dict[str, dict[str, int]]) -> None:
    renamed = {
        u: {{"x": "z", "y": "x", "z": "y"}[r]: v for r, v in by.items()}
        for u, by in ratings.items()
    }
    one, other = agreement(ratings).alpha, agreement(renamed).alpha
    assert one == other if one is None else one == pytest.approx(other)
